//! One night: every device beside one reference.

use crate::device_night::{Base, device_night, without};
use crate::measures::measures;
use crate::window::{Frame, frame};
use crate::{LeftOut, NightComparison, NothingToCompare, Protocol};
use counterpane_model::{Decided, Night, Recording, ScoredBy, Source, grid};

/// Lays every recording of a night on the reference's epochs and compares it with the reference.
///
/// `others` are devices and further scorers; the reference itself, should it be among them, is left
/// out. Recordings that hold claims only are carried along without a matrix.
///
/// `decided` is heeded: clocks are corrected first, and each device is compared on its own clock too;
/// epochs of which at least half lies in a stretch that is left out enter no figure; a recording that
/// is left out is listed and not compared.
///
/// # Errors
/// When nothing at all can be compared with this reference, or it is left out.
pub fn compare_night(
    night: &Night,
    reference: &Recording,
    others: &[&Recording],
    decided: &Decided,
    protocol: &Protocol,
) -> Result<NightComparison, NothingToCompare> {
    same_night(night, reference)?;
    others.iter().try_for_each(|other| same_night(night, other))?;
    not_excluded(night, reference, decided)?;
    let corrected = decided.on_corrected_clock(reference);
    let reference = corrected.as_ref().unwrap_or(reference);
    let Frame { grid, name, lights } = frame(night, reference, protocol.window)?;
    let cells = grid::project(&reference.spans, grid);
    let excluded = decided.stretches_of(&reference.source);
    let counted = without(&cells, grid, &excluded);
    if counted.iter().all(|c| c.stage().is_none()) {
        return Err(NothingToCompare::NothingScored {
            key: reference.key.clone(),
            from: grid.start,
            until: grid.at(grid.n),
        });
    }
    let mut others: Vec<&Recording> = others.iter().copied().filter(|other| other.key != reference.key).collect();
    others.sort_by(|a, b| (a.source.name(), &a.key).cmp(&(b.source.name(), &b.key)));
    let left_out = others.iter().filter_map(|other| {
        let exclusion = decided.excludes(&other.source)?.clone();
        Some(LeftOut { key: other.key.clone(), source: other.source.clone(), exclusion })
    });
    let (scorer, scored_by) = scorer_of(reference);
    let base = Base { reference, cells: &counted, raw: &cells, excluded: &excluded, grid, scheme: protocol.scheme };
    Ok(NightComparison {
        participant: night.participant.clone(),
        night: night.label.clone(),
        kind: night.kind,
        zone: night.zone.clone(),
        reference_key: reference.key.clone(),
        scorer,
        scored_by,
        reference_file: reference.file.clone(),
        chosen: None,
        consensus: None,
        lights,
        window_name: name,
        start: grid.start,
        measures: measures(&counted),
        notes: reference.notes.clone(),
        exclusions: decided.exclusions.iter().filter(|e| e.stretch.is_some()).cloned().collect(),
        left_out: left_out.collect(),
        devices: others
            .iter()
            .filter(|other| decided.excludes(&other.source).is_none())
            .map(|other| device_night(&base, other, decided))
            .collect(),
        excluded,
        remarks: decided.notes.clone(),
        reference_clock: decided.clock_of(&reference.source).cloned(),
        reference: cells,
    })
}

pub(crate) fn not_excluded(night: &Night, reference: &Recording, decided: &Decided) -> Result<(), NothingToCompare> {
    let Some(exclusion) = decided.excludes(&reference.source) else { return Ok(()) };
    let what = match exclusion.source {
        Some(_) => format!("the reference `{}`", reference.key),
        None => format!("the night `{}/{}`", night.participant, night.label),
    };
    Err(NothingToCompare::Excluded { what, decision: exclusion.decision, reason: exclusion.reason.clone() })
}

pub(crate) fn same_night(night: &Night, recording: &Recording) -> Result<(), NothingToCompare> {
    if recording.participant == night.participant && recording.night == night.label {
        return Ok(());
    }
    Err(NothingToCompare::OtherNight {
        key: recording.key.clone(),
        found: format!("{}/{}", recording.participant, recording.night),
        wanted: format!("{}/{}", night.participant, night.label),
    })
}

/// A device may serve as the reference for months; it is a program then, under its own name.
fn scorer_of(reference: &Recording) -> (String, ScoredBy) {
    match &reference.source {
        Source::Reference { scorer, scored_by } => (scorer.clone(), *scored_by),
        Source::Device { unit, .. } => (unit.clone(), ScoredBy::Algorithm),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Measures;
    use crate::Window;
    use crate::testing::{START, at, letters, night, psg, recording, ring};
    use Stage::{Light, N1, N2, N3, R, W};
    use counterpane_model::Scheme;
    use counterpane_model::{Claim, Instant, Lights, Locator, Note, NoteKind, Quantity, Stage};
    use counterpane_stats::Undefined;
    use proptest::prelude::*;

    const AUTO: Protocol = Protocol { scheme: None, window: Window::Scored };

    fn four(letters: &str) -> Recording {
        ring(&[W, Light, N3, R], letters)
    }

    fn compared(reference: &Recording, device: &Recording, protocol: &Protocol) -> NightComparison {
        compare_night(&night(), reference, &[device], &Decided::default(), protocol).unwrap()
    }

    fn note(kind: NoteKind, epoch: i64) -> Note {
        Note { at: at(epoch), until: None, precision_ms: 0, kind, text: String::new(), locator: None }
    }

    #[test]
    fn a_device_is_laid_on_the_reference_epochs_and_counted_in_pairs() {
        let found = compared(&psg("WW1122?33RRW"), &four("WLLL.LLL3RWW"), &AUTO);
        let device = &found.devices[0];
        assert_eq!((letters(&found.reference), letters(&device.cells)), ("WW1122?33RRW".into(), "WLLL.LLL3RWW".into()));
        let agreement = device.agreement.as_ref().unwrap();
        assert_eq!(agreement.scheme, Scheme::Four);
        assert_eq!(agreement.matrix, [[2, 1, 0, 0], [0, 3, 0, 0], [0, 1, 1, 0], [1, 0, 0, 1]]);
        assert_eq!((device.reference_scored, agreement.n), (11, 10));
        assert_eq!(device.coverage, Ok(10.0 / 11.0));
        assert_eq!(agreement.accuracy, Ok(0.7));
        assert_eq!(device.accuracy_missing_wrong, Ok(7.0 / 11.0));
        assert_eq!((device.missed_wake, device.false_wake), (Some(0.5), Some(0.5)));
        assert_eq!(device.not_compared, None);
    }

    #[test]
    fn missed_wake_is_not_mistaken_for_false_wake() {
        let device = &compared(&psg("WWW22W"), &four("LLLLWW"), &AUTO).devices[0];
        assert_eq!((device.missed_wake, device.false_wake), (Some(1.5), Some(0.5)));
    }

    #[test]
    fn minutes_are_compared_on_the_epochs_that_both_scored() {
        let found = compared(&psg("W22?22W"), &four("WL.LLLW"), &AUTO);
        let device = &found.devices[0];
        let total = |m: &Option<Measures>| m.as_ref().map(|m| (m.total_sleep, m.recording_time));
        assert_eq!(found.measures.total_sleep, 2.0);
        assert_eq!(total(&device.measures), Some((2.0, 3.5)));
        assert_eq!(total(&device.measures_masked), Some((1.5, 3.5)));
        assert_eq!(total(&device.reference_masked), Some((1.5, 3.5)));
    }

    #[test]
    fn the_lights_are_the_window_where_they_are_known() {
        let (mut night, mut reference) = (night(), psg("?WW22RRWW?"));
        let device = four("WWWLLRRWWW");
        let lights = Protocol { scheme: None, window: Window::Lights };
        let window = |night: &Night, reference: &Recording| {
            let found = compare_night(night, reference, &[&device], &Decided::default(), &lights).unwrap();
            (found.window_name, letters(&found.reference))
        };
        assert_eq!(window(&night, &reference), ("scored", "WW22RRWW".into()));
        reference.notes = vec![note(NoteKind::LightsOff, 2)];
        assert_eq!(window(&night, &reference), ("scored", "WW22RRWW".into()));
        reference.notes.push(note(NoteKind::LightsOn, 8));
        assert_eq!(window(&night, &reference), ("lights", "W22RRW".into()));
        night.lights = Lights { off: Some(at(-2)), on: None };
        assert_eq!(window(&night, &reference), ("lights", "..?WW22RRW".into()));
    }

    #[test]
    fn an_epoch_that_lies_half_inside_the_lights_counts() {
        let mut night = night();
        let half = |epoch: i64| Instant(START.0 + epoch * 15_000);
        night.lights = Lights { off: Some(half(3)), on: Some(half(8)) };
        let protocol = Protocol { scheme: None, window: Window::Lights };
        let found = compare_night(&night, &psg("WW22RR"), &[], &Decided::default(), &protocol).unwrap();
        assert_eq!((letters(&found.reference), found.start), ("W22".into(), at(1)));
    }

    #[test]
    fn a_span_is_a_window_too() {
        let protocol = Protocol { scheme: None, window: Window::Between(at(1), at(4)) };
        let found = compared(&psg("WW22RR"), &four("WWLLRR"), &protocol);
        assert_eq!((found.window_name, letters(&found.reference)), ("span", "W22".into()));
    }

    #[test]
    fn what_a_device_cannot_say_is_not_compared_and_sleep_and_wake_still_are() {
        let protocol = Protocol { scheme: Some(Scheme::Five), window: Window::Scored };
        let device = &compared(&psg("WW22RR"), &four("WWLLRR"), &protocol).devices[0];
        assert_eq!(device.agreement, None);
        assert_eq!(
            device.not_compared.as_deref(),
            Some("not comparable in the scheme `five`: `ring-a-1` says `Light`, which is too coarse for it")
        );
        assert_eq!(device.accuracy_missing_wrong, Err(Undefined::NoPairs));
        assert_eq!(device.sleep_wake.as_ref().map(|s| s.accuracy), Some(Ok(1.0)));
    }

    #[test]
    fn totals_alone_are_carried_along_without_a_matrix() {
        let mut device = four("");
        let locator = Locator::Text { line: 3, column: 1 };
        device.claims = vec![Claim { quantity: Quantity::TotalSleep, value: 401.0, rounding: 1.0, locator }];
        let device = &compared(&psg("WW22RR"), &device, &AUTO).devices[0];
        assert_eq!((device.cells.len(), device.measures.is_none(), device.claims.len()), (0, true, 1));
        assert_eq!(
            device.not_compared.as_deref(),
            Some("`ring-a-1` gives totals and no stages over time, so it enters the tables of minutes only")
        );
    }

    #[test]
    fn a_device_that_was_off_all_night_has_no_pair() {
        let device = &compared(&psg("WW22RR"), &four("oooooo"), &AUTO).devices[0];
        assert_eq!((device.coverage, device.accuracy_missing_wrong), (Ok(0.0), Ok(0.0)));
        assert_eq!(
            device.not_compared.as_deref(),
            Some("`ring-a-1` gives no stage in any epoch of the window that the reference scored")
        );
    }

    #[test]
    fn a_second_scorer_is_compared_like_a_device_and_the_reference_not_with_itself() {
        let source = Source::Reference { scorer: "B".into(), scored_by: ScoredBy::Human };
        let second = recording("P01/2026-04-04/psg-B", source, &[W, N1, N2, N3, R], "WW12RR");
        let (first, ring) = (psg("WW22RR"), four("WWLLRR"));
        let found = compare_night(&night(), &first, &[&ring, &first, &second], &Decided::default(), &AUTO).unwrap();
        assert_eq!(found.devices.iter().map(|d| d.source.name()).collect::<Vec<_>>(), ["B", "ring-a"]);
        assert_eq!(found.devices[0].agreement.as_ref().map(|a| a.scheme), Some(Scheme::Five));
    }

    fn refused(night: &Night, reference: &Recording, protocol: Protocol) -> String {
        compare_night(night, reference, &[], &Decided::default(), &protocol).map(|_| ()).unwrap_err().to_string()
    }

    #[test]
    fn what_cannot_be_compared_says_what_to_do() {
        let other = Night { label: "2026-04-05".into(), ..night() };
        assert_eq!(
            refused(&other, &psg("W2"), AUTO),
            "`P01/2026-04-04/psg-A` belongs to night `P01/2026-04-04` and the night compared is `P01/2026-04-05`; \
             compare it with its own night"
        );
        assert_eq!(
            refused(&night(), &psg(""), AUTO),
            "the reference `P01/2026-04-04/psg-A` gives no stages over time; import its scored epochs"
        );
        assert_eq!(
            refused(&night(), &psg("????"), AUTO),
            "the reference `P01/2026-04-04/psg-A` gives no stage between 2026-04-04T12:00:00Z and 2026-04-04T12:02:00Z; \
             correct its times or the window"
        );
        let span = |from, until| Protocol { scheme: None, window: Window::Between(at(from), at(until)) };
        assert_eq!(
            refused(&night(), &psg("W2"), span(2, 0)),
            "the window of night `P01/2026-04-04` runs from 2026-04-04T12:01:00Z to 2026-04-04T12:00:00Z and holds no \
             epoch; correct lights off and on, or the span"
        );
        assert_eq!(
            refused(&night(), &psg("W2"), span(0, 30_000)),
            "the window of night `P01/2026-04-04` runs from 2026-04-04T12:00:00Z to 2026-04-14T22:00:00Z, longer than 7 \
             days; correct lights off and on, or the span"
        );
        assert!(refused(&night(), &psg("W2"), span(10, 12)).contains("gives no stage between"));
    }

    fn any_letters() -> impl Strategy<Value = String> {
        proptest::collection::vec(proptest::sample::select("W123R?o.".chars().collect::<Vec<_>>()), 1..80)
            .prop_map(|letters| letters.into_iter().collect())
    }

    fn shifted(mut recording: Recording, epochs: i64) -> Recording {
        for span in &mut recording.spans {
            span.start = Instant(span.start.0 + epochs * counterpane_model::EPOCH_MS);
            span.end = Instant(span.end.0 + epochs * counterpane_model::EPOCH_MS);
        }
        recording
    }

    /// The whole of the night, so that swapping the roles keeps the window.
    const ALL: Protocol =
        Protocol { scheme: None, window: Window::Between(Instant(START.0), Instant(START.0 + 80 * 30_000)) };

    proptest! {
        #[test]
        fn every_epoch_of_the_window_is_counted_once(reference in any_letters(), device in any_letters()) {
            let reference = psg(&reference);
            let Ok(found) = compare_night(&night(), &reference, &[&ring(&[W, N1, N2, N3, R], &device)], &Decided::default(), &ALL) else {
                return Ok(());
            };
            let device = &found.devices[0];
            let unscored = found.reference.iter().filter(|c| c.stage().is_none()).count() as u64;
            // A recording without a span has no cells: it says nothing of any epoch.
            let said = |i: usize| device.cells.get(i).and_then(|c| c.stage()).is_some();
            let scored = (0..80).filter(|i| found.reference[*i].stage().is_some());
            let missing = scored.filter(|i| !said(*i)).count() as u64;
            let pairs = device.agreement.as_ref().map_or(0, |a| a.matrix.iter().flatten().sum());
            prop_assert_eq!(found.reference.len(), 80);
            prop_assert_eq!(pairs + unscored + missing, 80);
            prop_assert_eq!(device.reference_scored + unscored, 80);
        }

        #[test]
        fn swapping_the_roles_transposes_the_matrix(first in any_letters(), second in any_letters()) {
            let device = |letters: &str| {
                let source = Source::Device { device: "mat-a".into(), unit: "mat-a-1".into() };
                recording("P01/2026-04-04/mat-a-1", source, &[W, N1, N2, N3, R], letters)
            };
            // Both are on the grid of the same anchor: an unscored first epoch.
            let both = [format!("?{first}"), format!("?{second}")];
            let one = compare_night(&night(), &psg(&both[0]), &[&device(&both[1])], &Decided::default(), &ALL);
            let two = compare_night(&night(), &psg(&both[1]), &[&device(&both[0])], &Decided::default(), &ALL);
            if let (Ok(one), Ok(two)) = (one, two) {
                let matrix = |n: &NightComparison| n.devices[0].agreement.as_ref().map(|a| a.matrix.clone());
                let flipped = matrix(&two).map(|m| (0..5).map(|i| (0..5).map(|j| m[j][i]).collect()).collect::<Vec<Vec<u64>>>());
                prop_assert_eq!(matrix(&one), flipped);
            }
        }

        #[test]
        fn shifting_both_by_whole_epochs_changes_nothing_but_the_times(
            reference in any_letters(), device in any_letters(), epochs in -500_i64..500,
        ) {
            let (reference, device) = (psg(&reference), ring(&[W, N1, N2, N3, R], &device));
            let before = compare_night(&night(), &reference, &[&device], &Decided::default(), &AUTO);
            let after = compare_night(&night(), &shifted(reference, epochs), &[&shifted(device, epochs)], &Decided::default(), &AUTO);
            match (before, after) {
                (Ok(before), Ok(after)) => {
                    prop_assert_eq!(after.start, Instant(before.start.0 + epochs * 30_000));
                    prop_assert_eq!(NightComparison { start: before.start, ..after }, before);
                }
                (before, after) => prop_assert_eq!(before.is_err(), after.is_err()),
            }
        }
    }
}
