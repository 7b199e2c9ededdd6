//! A source that knows wake finds none all night.

use crate::Check;
use crate::amounts::{Amounts, HOUR_MS};
use crate::words::length;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity, Stage};

/// Shorter sleep, such as a nap, may well be without wake (own choice).
const LEAST_MS: i64 = 3 * HOUR_MS;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "no-wake",
        severity: Severity::Info,
        title: "a source that knows wake finds none in a night",
        why: "People wake up briefly several times a night without knowing it (common practice, no source). A source that has \
              a word for wake and never uses it in 3 h or more either leaves wake out of its export, so that wake is \
              a gap, or finds none: its figure for wake is 0, and its total sleep time too long.",
        example: "info[no-wake]: mat-a-1 has 455 min of sleep and no wake",
        help: "see with `counterpane show` whether wake is in gaps; if it is, say so in the definition and repeat \
               `counterpane import`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    for recording in night.recordings.iter().filter(|r| r.vocabulary.0.contains(&Stage::W)) {
        let amounts = Amounts::of(recording);
        if amounts.asleep() >= LEAST_MS && amounts.stage(Stage::W) == 0 {
            let message = format!("{} has {} of sleep and no wake", recording.source, length(amounts.asleep()));
            found.push(CHECK.kind.finding(message).of(recording));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night};

    #[test]
    fn a_night_without_wake_is_told() {
        assert_eq!(
            found(&CHECK, &night(), &[device("22:00-04:00Light 04:00-05:00R")]),
            "info: ring-a-1 has 420 min of sleep and no wake\n"
        );
    }

    #[test]
    fn a_minute_of_wake_or_a_nap_is_nothing() {
        assert_eq!(found(&CHECK, &night(), &[device("22:00-04:00Light 04:00-04:01W")]), "");
        assert_eq!(found(&CHECK, &night(), &[device("22:00-00:59Light")]), "");
    }
}
