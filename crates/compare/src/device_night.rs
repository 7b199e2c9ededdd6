//! One device beside the reference of a night.

use crate::agreement::{agreement, table};
use crate::explained::{self, Sides};
use crate::measures::{measures, minutes};
use crate::scheme::{finest, obstacle};
use crate::{Agreement, Clocked, DeviceNight, Measures};
use counterpane_model::{Cell, Decided, Grid, Instant, Recording, Scheme, grid};
use counterpane_stats::{Figure, Undefined};

/// What the devices of a night are compared with.
pub(crate) struct Base<'a> {
    pub(crate) reference: &'a Recording,
    /// What the reference says of each epoch that is not left out.
    pub(crate) cells: &'a [Cell],
    /// What it says of each epoch, also of those that are left out.
    pub(crate) raw: &'a [Cell],
    /// What is left out of everything of the night.
    pub(crate) excluded: &'a [(Instant, Instant)],
    pub(crate) grid: Grid,
    pub(crate) scheme: Option<Scheme>,
}

/// Compares a device on its corrected clock, and on its own too where the two differ.
pub(crate) fn device_night(base: &Base<'_>, device: &Recording, decided: &Decided) -> DeviceNight {
    let excluded = decided.stretches_of(&device.source);
    let as_exported = on_the_grid(base, device, &excluded);
    let mut out = match (decided.on_corrected_clock(device), decided.clock_of(&device.source)) {
        (Some(corrected), Some(setting)) => DeviceNight {
            clock: Some(Clocked { setting: setting.clone(), as_exported: Box::new(as_exported) }),
            ..on_the_grid(base, &corrected, &excluded)
        },
        _ => as_exported,
    };
    let scheme = out.agreement.as_ref().or(out.sleep_wake.as_ref()).map(|a| a.scheme);
    out.explained = scheme.map(|scheme| {
        explained::of_night(base, &Sides { own: device, cells: &out.cells, excluded: &excluded, scheme })
    });
    out
}

fn on_the_grid(base: &Base<'_>, device: &Recording, excluded: &[(Instant, Instant)]) -> DeviceNight {
    let Base { reference, grid, .. } = *base;
    let said = if device.spans.is_empty() { Vec::new() } else { grid::project(&device.spans, grid) };
    let cells = without(&said, grid, excluded);
    let reference_cells = &without(base.cells, grid, excluded);
    let reference_scored = reference_cells.iter().filter(|c| c.stage().is_some()).count();
    let pairs = reference_cells.iter().zip(&cells).filter(|(r, d)| r.stage().is_some() && d.stage().is_some()).count();
    let scheme = base.scheme.or_else(|| finest(reference, device)).unwrap_or(Scheme::SleepWake);
    let not_compared = not_compared(reference, device, scheme, pairs);
    let compared = |scheme: Scheme| {
        let possible = pairs > 0 && reference.expresses(scheme) && device.expresses(scheme);
        possible.then(|| table(scheme, reference_cells, &cells)).flatten().map(|t| agreement(scheme, &t))
    };
    let agreement = compared(scheme);
    let sleep_wake = compared(Scheme::SleepWake);
    let masked = (pairs > 0).then(|| masks(reference_cells, &cells));
    DeviceNight {
        key: device.key.clone(),
        source: device.source.clone(),
        file: device.file.clone(),
        vocabulary: device.vocabulary.0.clone(),
        coverage: share(pairs, reference_scored),
        accuracy_missing_wrong: missing_wrong(
            agreement.as_ref(),
            not_compared.is_none() || pairs == 0,
            reference_scored,
        ),
        measures: (!cells.is_empty()).then(|| measures(&cells)),
        measures_masked: masked.as_ref().map(|(_, device)| device.clone()),
        reference_masked: masked.map(|(reference, _)| reference),
        missed_wake: sleep_wake.as_ref().map(|s| wake_errors(s, 0, 1)),
        false_wake: sleep_wake.as_ref().map(|s| wake_errors(s, 1, 0)),
        reference_scored: reference_scored as u64,
        agreement,
        sleep_wake,
        not_compared,
        cells: said,
        claims: device.claims.clone(),
        notes: device.notes.clone(),
        excluded: excluded.to_vec(),
        clock: None,
        ruled: None,
        explained: None,
    }
}

fn not_compared(reference: &Recording, device: &Recording, scheme: Scheme, pairs: usize) -> Option<String> {
    if device.is_claims_only() {
        let who = &device.source;
        return Some(format!("`{who}` gives totals and no stages over time, so it enters the tables of minutes only"));
    }
    obstacle(reference, device, scheme).or_else(|| {
        let who = &device.source;
        (pairs == 0).then(|| format!("`{who}` gives no stage in any epoch of the window that the reference scored"))
    })
}

/// Correct epochs of all that the reference scored; what the device does not give counts as wrong.
fn missing_wrong(agreement: Option<&Agreement>, comparable: bool, reference_scored: usize) -> Figure {
    match agreement {
        Some(a) => share((0..a.matrix.len()).map(|i| a.matrix[i][i] as usize).sum(), reference_scored),
        None if comparable => share(0, reference_scored),
        None => Err(Undefined::NoPairs),
    }
}

fn share(part: usize, whole: usize) -> Figure {
    if whole == 0 { Err(Undefined::NoPairs) } else { Ok(part as f64 / whole as f64) }
}

fn wake_errors(sleep_wake: &Agreement, reference: usize, device: usize) -> f64 {
    minutes(sleep_wake.matrix[reference][device] as usize)
}

/// Measures of both sides with every epoch that not both scored unscored: minutes that can be compared.
fn masks(reference: &[Cell], device: &[Cell]) -> (Measures, Measures) {
    let mask = |own: &[Cell], other: &[Cell]| {
        let of = |(a, b): (&Cell, &Cell)| if b.stage().is_some() { *a } else { Cell::Unscored };
        measures(&own.iter().zip(other).map(of).collect::<Vec<_>>())
    };
    (mask(reference, device), mask(device, reference))
}

/// Returns the cells with those of the stretches unscored.
pub(crate) fn without(cells: &[Cell], grid: Grid, stretches: &[(Instant, Instant)]) -> Vec<Cell> {
    let mut out = cells.to_vec();
    for (from, until) in stretches {
        if let Some(epochs) = out.get_mut(grid.within(*from, *until)) {
            epochs.fill(Cell::Unscored);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use crate::testing::{at, night, psg, ring};
    use crate::{NightComparison, NothingToCompare, Protocol, Window, compare_night};
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_model::{ClockPoint, ClockSetting, Decided, Exclusion, Looked};

    const SCORED: Protocol = Protocol { scheme: None, window: Window::Scored };

    fn left_out(source: Option<&str>, epochs: Option<(i64, i64)>) -> Decided {
        let exclusion = Exclusion {
            decision: 7,
            source: source.map(str::to_owned),
            stretch: epochs.map(|(from, until)| (at(from), at(until))),
            looked: Looked::Before,
            reason: "fell off".into(),
            by: "me".into(),
            at: "2026-04-06T00:00:00Z".into(),
        };
        Decided { exclusions: vec![exclusion], ..Decided::default() }
    }

    fn compared(reference: &str, device: &str, decided: &Decided) -> Result<NightComparison, NothingToCompare> {
        compare_night(&night(), &psg(reference), &[&ring(&[W, Light, N3, R], device)], decided, &SCORED)
    }

    fn matrix(found: &NightComparison) -> Vec<Vec<u64>> {
        found.devices[0].agreement.as_ref().unwrap().matrix.clone()
    }

    #[test]
    fn a_stretch_of_a_device_is_left_out_of_its_figures_and_of_no_others() {
        let found = compared("WW22RRWW", "WWLL33WW", &left_out(Some("ring-a-1"), Some((4, 6)))).unwrap();
        let device = &found.devices[0];
        assert_eq!(matrix(&found), [[4, 0, 0, 0], [0, 2, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0]]);
        assert_eq!((device.reference_scored, device.coverage), (6, Ok(1.0)));
        assert_eq!(device.measures.as_ref().unwrap().total_sleep, 1.0);
        assert_eq!(found.measures.total_sleep, 2.0, "the reference's own measures know nothing of it");
        assert_eq!(crate::testing::letters(&device.cells), "WWLL33WW", "what was said is still shown");
    }

    #[test]
    fn a_stretch_of_the_night_is_left_out_of_every_figure() {
        let found = compared("WW22RRWW", "WWLL33WW", &left_out(None, Some((4, 6)))).unwrap();
        assert_eq!(found.measures.total_sleep, 1.0);
        assert_eq!(found.devices[0].reference_scored, 6);
        assert_eq!(found.excluded, [(at(4), at(6))]);
    }

    #[test]
    fn a_device_that_is_left_out_is_listed_with_its_reason() {
        let found = compared("WW22", "WWLL", &left_out(Some("ring-a-1"), None)).unwrap();
        assert!(found.devices.is_empty());
        assert_eq!(found.left_out[0].exclusion.reason, "fell off");
    }

    #[test]
    fn a_night_or_a_reference_that_is_left_out_is_not_compared() {
        let said = |source| compared("WW22", "WWLL", &left_out(source, None)).unwrap_err().to_string();
        assert_eq!(said(None), "the night `P01/2026-04-04` is left out by decision 7: fell off");
        assert_eq!(said(Some("A")), "the reference `P01/2026-04-04/psg-A` is left out by decision 7: fell off");
    }

    #[test]
    fn a_corrected_clock_is_applied_and_the_clock_of_the_device_shown_beside_it() {
        let setting = ClockSetting {
            decision: 9,
            source: "ring-a-1".into(),
            points: vec![ClockPoint { at: at(0), shift_ms: -60_000 }],
            reason: "the phone was two epochs ahead".into(),
            by: "me".into(),
            decided_at: "2026-04-06T00:00:00Z".into(),
        };
        let decided = Decided { clocks: vec![setting], ..Decided::default() };
        let found = compared("WW22RRWW", "WWWWLLRRWW", &decided).unwrap();
        let device = &found.devices[0];
        assert_eq!(crate::testing::letters(&device.cells), "WWLLRRWW");
        assert_eq!(device.agreement.as_ref().unwrap().accuracy, Ok(1.0));
        let clocked = device.clock.as_ref().unwrap();
        assert_eq!(clocked.setting.decision, 9);
        assert_eq!(clocked.as_exported.agreement.as_ref().unwrap().accuracy, Ok(0.25));
    }
}
