//! A device gives a stage for too few of the epochs that the reference scored.

use crate::Check;
use crate::words::percent;
use counterpane_model::grid::project;
use counterpane_model::{Accepted, Cell, Finding, Grid, Instant, Kind, NightFacts, Recording, Severity};

/// Below this share of the reference's scored epochs a device is said to cover too little (common
/// practice, no source).
const ENOUGH_PERCENT: usize = 90;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "coverage-low",
        severity: Severity::Warning,
        title: "a device gives a stage for too few of the epochs that the reference scored",
        why: "Agreement is computed over the epochs that both sides scored. Devices drop the hard epochs, so a device \
              that covers less of the night is judged on an easier night than the others. The limit is 90 % of the \
              epochs that the reference scored from lights off to lights on, or where the lights are unknown, of all \
              that it scored (common practice, no source).",
        example: "warning[coverage-low]: ring-b-2 gives a stage for 812 of the 960 epochs that scorer S1 scored from \
                  lights off to lights on, 84.6 %",
        help: "see where the device says nothing with `counterpane show`; read the figure that counts missing epochs \
               as wrong beside the agreement; if so little is there that the night says nothing of the device, leave \
               it out with `counterpane compare --device`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let Some(reference) = night.reference() else { return };
    let Some((from, until, window)) = window(night, reference) else { return };
    let Some(anchor) = reference.spans.iter().map(|s| s.start).min() else { return };
    let grid = Grid::covering(anchor, from, until);
    let inside = grid.within(from, until);
    let scored = &project(&reference.spans, grid)[inside.clone()];
    let n_scored = scored.iter().filter(|c| c.stage().is_some()).count();
    for device in night.devices().filter(|d| !d.is_claims_only()) {
        let said = &project(&device.spans, grid)[inside.clone()];
        let n_both = both(scored, said);
        if n_both * 100 < n_scored * ENOUGH_PERCENT {
            let message = format!(
                "{} gives a stage for {n_both} of the {n_scored} epochs that {} scored {window}, {}",
                device.source,
                reference.source,
                percent(n_both as u64, n_scored as u64)
            );
            found.push(CHECK.kind.finding(message).of(device));
        }
    }
}

/// Returns the time in which devices are held against the reference, cut at the night's window, and
/// its name in words; `None` when nothing is left of it.
fn window(under: &NightFacts<'_>, reference: &Recording) -> Option<(Instant, Instant, &'static str)> {
    let (lights, night) = (under.lights(reference), under.night);
    let (from, until, words) = match lights.off.zip(lights.on) {
        Some((off, on)) if off < on => (off, on, "from lights off to lights on"),
        _ => reference.bounds().map(|(from, until)| (from, until, "in the whole recording"))?,
    };
    let (from, until) = (from.max(night.window.0), until.min(night.window.1));
    (from < until).then_some((from, until, words))
}

fn both(reference: &[Cell], device: &[Cell]) -> usize {
    reference.iter().zip(device).filter(|(r, d)| r.stage().is_some() && d.stage().is_some()).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{claim, device, found, night, reference, time};
    use counterpane_model::{Lights, Quantity};

    fn check(device_says: &str, scorer_says: &str) -> String {
        found(&CHECK, &night(), &[reference(scorer_says), device(device_says)])
    }

    #[test]
    fn a_device_that_covers_too_little_is_told_with_both_counts() {
        assert_eq!(
            check("22:00-22:53Light", "22:00-23:00N2"),
            "warning: ring-a-1 gives a stage for 106 of the 120 epochs that scorer S1 scored in the whole recording, \
             88.3 %\n"
        );
    }

    #[test]
    fn nine_tenths_are_enough() {
        assert_eq!(check("22:00-22:54Light", "22:00-23:00N2"), "");
    }

    #[test]
    fn only_epochs_that_the_reference_scored_count() {
        assert_eq!(check("22:00-22:54Light", "22:00-22:54N2 22:54-23:30unscored"), "");
    }

    #[test]
    fn off_the_body_is_not_a_stage() {
        assert!(check("22:00-22:30Light 22:30-23:00off", "22:00-23:00N2").contains("60 of the 120"));
    }

    #[test]
    fn where_the_lights_are_known_only_the_time_between_them_counts() {
        let lights = Lights { off: Some(time("Asia/Tokyo", "22:30")), on: Some(time("Asia/Tokyo", "23:30")) };
        let night = counterpane_model::Night { lights, ..night() };
        let recordings = [reference("22:00-00:00N2"), device("22:40-00:00Light")];
        assert!(found(&CHECK, &night, &recordings).contains("100 of the 120 epochs that scorer S1 scored from lights"));
    }

    #[test]
    fn claims_alone_cover_nothing_and_are_not_asked_to() {
        let mut totals = device("");
        totals.claims.push(claim(Quantity::TotalSleep, 420.0));
        assert_eq!(found(&CHECK, &night(), &[reference("22:00-23:00N2"), totals]), "");
        assert!(check("", "22:00-23:00N2").contains("0 of the 120"));
    }

    #[test]
    fn without_a_reference_there_is_nothing_to_cover() {
        assert_eq!(found(&CHECK, &night(), &[device("22:00-22:10W")]), "");
    }
}
