//! All nights together, device by device.

use crate::agreement::{agreement, fold};
use crate::{Agreement, Comparison, DeviceNight, DeviceSummary, NightComparison, Protocol, Scorers};
use counterpane_model::{Scheme, ScoredBy, Source};
use counterpane_stats::{Figure, Resampling, Scale, Table, Undefined, participant_interval};
use std::collections::BTreeMap;

/// Puts nights together and sums them up for each device.
///
/// **What counts once.** A unit's night enters a summary once: against the first reference of the
/// night (a person before a program, then by the scorer's code), and with its first recording that
/// holds stages, since a newer export of the same night stands beside the older and does not replace
/// it. What a rule of the protocol leaves out counts in no summary. The night comparisons themselves are all kept.
///
/// **Scheme.** A device is summed up in the finest scheme that all its nights share; finer nights are
/// folded down to it. A night that could not be compared enters no figure.
#[must_use]
pub fn compare(mut nights: Vec<NightComparison>, protocol: Protocol) -> Comparison {
    nights.sort_by(|a, b| order(a).cmp(&order(b)));
    let devices = by_device(&nights);
    let devices =
        devices.into_iter().map(|((_, name), nights)| summary(name, nights.into_values().collect())).collect();
    Comparison { protocol, devices, nights, scorers: Scorers::default() }
}

/// Returns the nights that a device is summed up over, each with what the device said, in the order of
/// participant, label and unit. What counts once in [`compare`] stands here once.
#[must_use]
pub fn nights_of_device<'a>(comparison: &'a Comparison, name: &str) -> Vec<(&'a NightComparison, &'a DeviceNight)> {
    let of_name = |((_, own), nights): ((bool, &str), NightsOfDevice<'a>)| (own == name).then_some(nights);
    by_device(&comparison.nights).into_iter().filter_map(of_name).flat_map(BTreeMap::into_values).collect()
}

/// The nights must be in the order of [`order`].
fn by_device(nights: &[NightComparison]) -> BTreeMap<(bool, &str), NightsOfDevice<'_>> {
    let mut devices: BTreeMap<(bool, &str), NightsOfDevice<'_>> = BTreeMap::new();
    for night in nights {
        for device in &night.devices {
            let of_device = devices.entry((device.source.is_reference(), device.source.name())).or_default();
            if !device.cells.is_empty() && !device.is_ruled_out() {
                // The nights are in order of their references and a unit's recordings in order of their keys.
                let own = (night.participant.as_str(), night.night.as_str(), &device.source);
                of_device.entry(own).or_insert((night, device));
            }
        }
    }
    devices
}

/// What one device gave, by participant, label of the night, and unit.
type NightsOfDevice<'a> = BTreeMap<(&'a str, &'a str, &'a Source), (&'a NightComparison, &'a DeviceNight)>;

fn order(night: &NightComparison) -> (&str, &str, ScoredBy, &str, &str) {
    (&night.participant, &night.night, night.scored_by, &night.scorer, &night.reference_key)
}

fn summary(name: &str, nights: Vec<(&NightComparison, &DeviceNight)>) -> DeviceSummary {
    let compared = |of: fn(&DeviceNight) -> Option<&Agreement>| {
        let own =
            |(night, device): &(&NightComparison, &DeviceNight)| Some((night.participant.clone(), of(device)?.clone()));
        nights.iter().filter_map(own).collect::<Vec<_>>()
    };
    let fine = compared(|device| device.agreement.as_ref());
    let scheme = fine.iter().map(|(_, agreement)| agreement.scheme).min();
    let folded = scheme.map(|scheme| in_scheme(&fine, scheme)).unwrap_or_default();
    let figures = |of: fn(&Agreement) -> Figure| folded.iter().map(|(p, a)| (p.as_str(), of(a))).collect::<Vec<_>>();
    let kappas = figures(|agreement| agreement.kappa);
    DeviceSummary {
        name: name.to_owned(),
        scheme,
        nights: folded.len(),
        participants: folded
            .iter()
            .map(|(participant, _)| participant)
            .collect::<std::collections::BTreeSet<_>>()
            .len(),
        pooled: scheme.and_then(|scheme| pooled(&folded, scheme)),
        pooled_sleep_wake: pooled(&compared(|device| device.sleep_wake.as_ref()), Scheme::SleepWake),
        mean_accuracy: mean_over_participants(&figures(|agreement| agreement.accuracy)),
        mean_kappa: mean_over_participants(&kappas),
        kappa_skipped: kappas.iter().filter(|(_, kappa)| kappa.is_err()).count(),
    }
}

pub(crate) fn in_scheme(nights: &[(String, Agreement)], scheme: Scheme) -> Vec<(String, Agreement)> {
    let fold =
        |(participant, a): &(String, Agreement)| Some((participant.clone(), agreement(scheme, &fold(a, scheme)?)));
    nights.iter().filter_map(fold).collect()
}

/// Returns the epochs of all nights in one matrix; `None` when there is no night.
pub(crate) fn pooled(nights: &[(String, Agreement)], scheme: Scheme) -> Option<Agreement> {
    let k = scheme.classes().len();
    let mut counts = vec![vec![0_u64; k]; k];
    for (into, from) in nights.iter().flat_map(|(_, a)| counts_of(a)).map(|(i, j, n)| ((i, j), n)) {
        let cell = counts.get_mut(into.0)?.get_mut(into.1)?;
        *cell = cell.checked_add(from)?;
    }
    (!nights.is_empty()).then(|| Table::from_counts(counts).ok()).flatten().map(|table| agreement(scheme, &table))
}

fn counts_of(agreement: &Agreement) -> impl Iterator<Item = (usize, usize, u64)> + '_ {
    agreement.matrix.iter().enumerate().flat_map(|(i, row)| row.iter().enumerate().map(move |(j, n)| (i, j, *n)))
}

/// Returns the mean over participants of the mean over their nights, so that each person weighs the
/// same; nights without a value are left out.
///
/// # Errors
/// The reason of the first night when no night has a value; [`Undefined::NoPairs`] without a night.
pub fn mean_over_participants(nights: &[(&str, Figure)]) -> Figure {
    let people = mean_of_people(nights);
    if people.is_empty() {
        return Err(nights.iter().find_map(|(_, figure)| figure.err()).unwrap_or(Undefined::NoPairs));
    }
    Ok(people.iter().sum::<f64>() / people.len() as f64)
}

/// Returns the 95 % interval of a mean over people; undefined where all of them have the same value, because a spread of nothing is
/// no knowledge.
pub(crate) fn interval_of_people(values: &[f64], scale: Scale, drawn: Resampling) -> Result<(f64, f64), Undefined> {
    let interval = participant_interval(values, scale, drawn)?.interval;
    let alike = values.windows(2).all(|two| two[0].to_bits() == two[1].to_bits());
    if alike { Err(Undefined::ZeroVariance) } else { Ok(interval) }
}

/// Returns the mean over the nights of each participant, by code; nights without a value are left out.
pub(crate) fn mean_of_people(nights: &[(&str, Figure)]) -> Vec<f64> {
    people(nights).values().map(|(sum, n)| sum / *n as f64).collect()
}

/// Returns the sum and number of the values of each person who has one.
pub(crate) fn people<'a>(nights: &[(&'a str, Figure)]) -> BTreeMap<&'a str, (f64, usize)> {
    let mut people: BTreeMap<&str, (f64, usize)> = BTreeMap::new();
    for (participant, figure) in nights {
        if let Ok(value) = figure {
            let (sum, n) = people.entry(participant).or_default();
            *sum += value;
            *n += 1;
        }
    }
    people
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, recording};
    use crate::{Window, compare_night};
    use Stage::{Asleep, Light, N1, N2, N3, R, W};
    use counterpane_model::{Night, Recording, Stage};

    const AUTO: Protocol = Protocol { scheme: None, window: Window::Scored };
    const FOUR: [Stage; 4] = [W, Light, N3, R];

    fn moved(mut recording: Recording, participant: &str, label: &str) -> Recording {
        (recording.participant, recording.night) = (participant.into(), label.into());
        recording
    }

    fn unit(unit: &str, suffix: &str, can: &[Stage], letters: &str) -> Recording {
        let source = Source::Device { device: "ring-a".into(), unit: unit.into() };
        recording(&format!("P01/2026-04-04/{unit}{suffix}"), source, can, letters)
    }

    fn scorer(code: &str, scored_by: ScoredBy, letters: &str) -> Recording {
        let source = Source::Reference { scorer: code.into(), scored_by };
        recording(&format!("P01/2026-04-04/psg-{code}"), source, &[W, N1, N2, N3, R], letters)
    }

    fn one(participant: &str, label: &str, reference: Recording, devices: Vec<Recording>) -> NightComparison {
        let own = Night { participant: participant.into(), label: label.into(), ..night() };
        let devices: Vec<Recording> = devices.into_iter().map(|d| moved(d, participant, label)).collect();
        compare_night(
            &own,
            &moved(reference, participant, label),
            &devices.iter().collect::<Vec<_>>(),
            &counterpane_model::Decided::default(),
            &AUTO,
        )
        .unwrap()
    }

    #[test]
    fn every_person_weighs_the_same_in_the_mean_and_every_epoch_in_the_pool() {
        let ring = |letters| vec![unit("ring-a-1", "", &FOUR, letters)];
        let found = compare(
            vec![
                one("P02", "2026-04-04", psg("W2"), ring("WL")),
                one("P01", "2026-04-05", psg("WW22"), ring("WLLL")),
                one("P01", "2026-04-04", psg("WW22"), ring("WWWL")),
            ],
            AUTO,
        );
        let labels: Vec<_> = found.nights.iter().map(|n| (n.participant.as_str(), n.night.as_str())).collect();
        assert_eq!(labels, [("P01", "2026-04-04"), ("P01", "2026-04-05"), ("P02", "2026-04-04")]);
        let ring = &found.devices[0];
        assert_eq!((ring.name.as_str(), ring.nights, ring.participants), ("ring-a", 3, 2));
        assert_eq!(ring.mean_accuracy, Ok((0.75 + 1.0) / 2.0));
        assert_eq!(ring.mean_kappa, Ok((0.5 + 1.0) / 2.0));
        assert_eq!(ring.pooled.as_ref().map(|a| (a.n, a.accuracy)), Some((10, Ok(0.8))));
        assert_eq!(ring.pooled_sleep_wake.as_ref().map(|a| a.matrix.clone()), Some(vec![vec![4, 1], vec![1, 4]]));
    }

    #[test]
    fn a_night_without_kappa_is_skipped_and_counted() {
        let ring = |letters| vec![unit("ring-a-1", "", &FOUR, letters)];
        let nights = vec![
            one("P01", "2026-04-04", psg("2222"), ring("LLLL")),
            one("P01", "2026-04-05", psg("WW22"), ring("WWLL")),
        ];
        let ring = &compare(nights.clone(), AUTO).devices[0];
        assert_eq!((ring.mean_kappa, ring.kappa_skipped, ring.mean_accuracy), (Ok(1.0), 1, Ok(1.0)));
        let ring = &compare(nights[..1].to_vec(), AUTO).devices[0];
        assert_eq!((ring.mean_kappa, ring.kappa_skipped), (Err(Undefined::ExpectedAgreement1), 1));
    }

    #[test]
    fn nights_in_different_schemes_are_summed_up_in_the_coarser_one() {
        let nights = vec![
            one("P01", "2026-04-04", psg("W123R"), vec![unit("ring-a-1", "", &FOUR, "WLL3R")]),
            one("P01", "2026-04-05", psg("W123R"), vec![unit("ring-a-1", "", &[W, Asleep], "WAAAW")]),
        ];
        let ring = &compare(nights, AUTO).devices[0];
        assert_eq!((ring.scheme, ring.nights), (Some(Scheme::SleepWake), 2));
        assert_eq!(ring.pooled.as_ref().map(|a| a.matrix.clone()), Some(vec![vec![2, 0], vec![1, 7]]));
        assert_eq!(ring.mean_accuracy, Ok(0.9));
    }

    #[test]
    fn a_night_counts_once_against_the_first_person_and_with_the_first_export() {
        let devices = || vec![unit("ring-a-1", "#2", &FOUR, "WWWW"), unit("ring-a-1", "", &FOUR, "WWLL")];
        let nights = vec![
            one("P01", "2026-04-04", scorer("auto", ScoredBy::Algorithm, "2222"), devices()),
            one("P01", "2026-04-04", scorer("B", ScoredBy::Human, "2222"), devices()),
            one("P01", "2026-04-04", scorer("A", ScoredBy::Human, "WW22"), devices()),
        ];
        let found = compare(nights, AUTO);
        assert_eq!(found.nights.iter().map(|n| n.scorer.as_str()).collect::<Vec<_>>(), ["A", "B", "auto"]);
        assert_eq!((found.devices[0].nights, found.devices[0].mean_accuracy), (1, Ok(1.0)));
    }

    #[test]
    fn two_units_of_a_device_on_one_night_count_both() {
        let both = vec![unit("ring-a-1", "", &FOUR, "WWLL"), unit("ring-a-2", "", &FOUR, "WWWW")];
        let found = compare(vec![one("P01", "2026-04-04", psg("WW22"), both)], AUTO);
        assert_eq!((found.devices.len(), found.devices[0].nights, found.devices[0].participants), (1, 2, 1));
        let own = nights_of_device(&found, "ring-a");
        assert_eq!(own.iter().map(|(_, d)| d.source.to_string()).collect::<Vec<_>>(), ["ring-a-1", "ring-a-2"]);
        assert!(nights_of_device(&found, "mat-a").is_empty());
        assert_eq!(found.devices[0].mean_accuracy, Ok(0.75));
    }

    #[test]
    fn a_device_that_was_never_comparable_has_a_line_without_a_number() {
        let found =
            compare(vec![one("P01", "2026-04-04", psg("WW22"), vec![unit("ring-a-1", "", &FOUR, "oooo")])], AUTO);
        let ring = &found.devices[0];
        assert_eq!((ring.scheme, ring.nights, &ring.pooled), (None, 0, &None));
        assert_eq!((ring.mean_accuracy, ring.mean_kappa), (Err(Undefined::NoPairs), Err(Undefined::NoPairs)));
    }
}
