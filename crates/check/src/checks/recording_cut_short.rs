//! A device begins long after the sleep of the reference did, or ends long before it.

use crate::Check;
use crate::clock::Clock;
use crate::words::{length, listed};
use counterpane_model::grid::flatten;
use counterpane_model::{Accepted, Finding, Instant, Kind, NightFacts, Recording, Severity};

/// So much of the reference's sleep beyond the device's first or last row is told (own choice).
const LONG_MS: i64 = 30 * 60_000;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "recording-cut-short",
        severity: Severity::Warning,
        title: "a device begins long after the sleep of the reference began, or ends long before it ended",
        why: "Half an hour or more of the sleep that the reference scored lies before the device's first row or after its \
              last one: it was switched on late, its battery was empty, or the export was made before the night was \
              over. Minutes of sleep and of each stage are those of a part of the night, and REM sleep, which is late, \
              is lost first. What a device leaves out because it takes it for wake is not meant: only sleep counts.",
        example: "warning[recording-cut-short]: ring-a-1 ends at 04:10, 155 min before the sleep that scorer S1 scored",
        help: "ask for a newer export of the night and `counterpane import` it; if there is none, read the minutes of this \
               night with that in mind, or leave it out with `counterpane exclude`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    let Some(reference) = night.reference() else { return };
    let Some((asleep, awake)) = sleep_of(reference) else { return };
    for device in night.devices() {
        let Some((from, until)) = device.bounds() else { continue };
        let (late, early) = (from.ms_since(asleep), awake.ms_since(until));
        let mut cut = Vec::new();
        if late >= LONG_MS {
            cut.push(format!("begins at {}, {} after", clock.time(from), length(late)));
        }
        if early >= LONG_MS {
            cut.push(format!("ends at {}, {} before", clock.time(until), length(early)));
        }
        if !cut.is_empty() {
            let message = format!("{} {} the sleep that {} scored", device.source, listed(&cut), reference.source);
            found.push(CHECK.kind.finding(message).of(device));
        }
    }
}

/// Returns the first and the last instant of sleep.
fn sleep_of(reference: &Recording) -> Option<(Instant, Instant)> {
    let stretches = flatten(&reference.spans);
    let mut sleep = stretches.iter().filter(|s| s.cell.stage().is_some_and(|s| s.is_sleep()));
    let first = sleep.next()?;
    Some((first.start, sleep.next_back().unwrap_or(first).end))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, reference};

    const SCORED: &str = "22:00-22:30W 22:30-06:00N2 06:00-07:00W";

    fn check(spans: &str) -> String {
        found(&CHECK, &night(), &[reference(SCORED), device(spans)])
    }

    #[test]
    fn a_late_start_and_an_early_end_are_told() {
        assert_eq!(
            check("22:40-05:00Light"),
            "warning: ring-a-1 ends at 05:00, 60 min before the sleep that scorer S1 scored\n"
        );
        assert_eq!(
            check("23:30-05:00Light"),
            "warning: ring-a-1 begins at 23:30, 60 min after and ends at 05:00, 60 min before the sleep that scorer S1 \
             scored\n"
        );
    }

    #[test]
    fn wake_that_a_device_leaves_out_and_less_than_half_an_hour_are_nothing() {
        assert_eq!(check("22:30-06:00Light"), "");
        assert_eq!(check("22:59:30-05:30:30Light"), "");
    }

    #[test]
    fn without_sleep_in_the_reference_nothing_is_cut() {
        assert_eq!(found(&CHECK, &night(), &[reference("22:00-06:00W"), device("23:00-23:30W")]), "");
    }
}
