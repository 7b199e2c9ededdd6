//! More than half of the sleep is deep.

use crate::Check;
use crate::amounts::{Amounts, HOUR_MS};
use crate::words::{length, percent};
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity, Stage};

/// Shorter sleep, such as a nap, may well be deep for the most part (own choice).
const LEAST_MS: i64 = 3 * HOUR_MS;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "mostly-deep-sleep",
        severity: Severity::Info,
        title: "more than half of the sleep of a night is N3",
        why: "Adults spend about a fifth of the night in N3 (common practice, no source). More than half of at least 3 h of \
              sleep is rare, and more often two labels were taken for each other, or one word of the source means \
              more than deep sleep.",
        example: "info[mostly-deep-sleep]: ring-a-1 has 240 min of N3 in 430 min of sleep, 55.8 %",
        help: "see the night with `counterpane show`; if labels are mapped wrongly, mend the definition and repeat \
               `counterpane import`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    for recording in night.recordings {
        let amounts = Amounts::of(recording);
        let (deep, asleep) = (amounts.stage(Stage::N3), amounts.asleep());
        if asleep >= LEAST_MS && deep * 2 > asleep {
            let message = format!(
                "{} has {} of N3 in {} of sleep, {}",
                recording.source,
                length(deep),
                length(asleep),
                percent(deep.unsigned_abs(), asleep.unsigned_abs())
            );
            found.push(CHECK.kind.finding(message).of(recording));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night};

    #[test]
    fn more_than_half_is_told_and_half_is_not() {
        assert_eq!(
            found(&CHECK, &night(), &[device("22:00-01:10N3 01:10-04:00Light")]),
            "info: ring-a-1 has 190 min of N3 in 360 min of sleep, 52.8 %\n"
        );
        assert_eq!(found(&CHECK, &night(), &[device("22:00-01:00N3 01:00-04:00Light")]), "");
    }

    #[test]
    fn a_short_sleep_may_be_deep() {
        assert_eq!(found(&CHECK, &night(), &[device("22:00-00:30N3")]), "");
    }
}
