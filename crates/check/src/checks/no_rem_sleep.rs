//! A source that knows REM sleep finds none in a long night.

use crate::Check;
use crate::amounts::{Amounts, HOUR_MS};
use crate::words::length;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity, Stage};

/// So much sleep without REM is unusual (own choice; an adult's night has four to six cycles of about 90 min that
/// end in REM, common practice, no source).
const LONG_MS: i64 = 7 * HOUR_MS;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "no-rem-sleep",
        severity: Severity::Info,
        title: "a source that knows REM sleep finds none in 7 h of sleep",
        why: "A night of 7 h without any REM sleep is possible, with some medicines for instance, and rare. More often a \
              label was mapped to another stage, or a part of the export is missing. Every figure of REM is undefined \
              or 0 on such a night.",
        example: "info[no-rem-sleep]: ring-a-1 has 432 min of sleep and no REM",
        help: "see the night with `counterpane show`, and where the labels come from with `counterpane lineage`; if a \
               label is mapped wrongly, mend the definition and repeat `counterpane import`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    for recording in night.recordings.iter().filter(|r| r.vocabulary.0.contains(&Stage::R)) {
        let amounts = Amounts::of(recording);
        if amounts.asleep() >= LONG_MS && amounts.stage(Stage::R) == 0 {
            let message = format!("{} has {} of sleep and no REM", recording.source, length(amounts.asleep()));
            found.push(CHECK.kind.finding(message).of(recording));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, reference};
    use counterpane_model::Vocabulary;

    #[test]
    fn seven_hours_without_rem_are_told() {
        assert_eq!(
            found(&CHECK, &night(), &[device("22:00-22:30W 22:30-05:30Light")]),
            "info: ring-a-1 has 420 min of sleep and no REM\n"
        );
        assert!(found(&CHECK, &night(), &[reference("22:30-06:00N2")]).contains("scorer S1 has 450 min"));
    }

    #[test]
    fn a_little_less_sleep_or_a_little_rem_is_nothing() {
        assert_eq!(found(&CHECK, &night(), &[device("22:30-05:29:30Light")]), "");
        assert_eq!(found(&CHECK, &night(), &[device("22:30-05:30Light 05:30-05:31R")]), "");
    }

    #[test]
    fn a_source_that_cannot_say_rem_is_not_blamed() {
        let ring = device("22:00-06:00Asleep");
        let ring = counterpane_model::Recording { vocabulary: Vocabulary(vec![Stage::W, Stage::Asleep]), ..ring };
        assert_eq!(found(&CHECK, &night(), &[ring]), "");
    }
}
