//! A recording holds the same stages as another one.

use crate::Check;
use crate::clock::Clock;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "recording-repeated",
        severity: Severity::Warning,
        title: "a recording holds the same stages for the same lengths as another one",
        why: "Two nights, people or devices never give the same ten or more changes of stage at the same distances. One \
              file was imported for two of them, or the source repeats itself, so one of the two compares a night with \
              what was recorded in another. The later one of the two in the store is told.",
        example: "warning[recording-repeated]: ring-a-1 has the same stages for the same lengths as \
                  P02/2026-04-03/ring-a-2, which begins at 2026-04-03 22:41",
        help: "compare the two files; take the wrong import back with `counterpane withdraw`, or leave it out with \
               `counterpane exclude`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for twin in night.twins {
        let Some(recording) = night.recordings.iter().find(|r| r.key == twin.recording) else { continue };
        let message = format!(
            "{} has the same stages for the same lengths as {}, which begins at {}",
            recording.source,
            twin.other,
            clock.dated(twin.other_start)
        );
        found.push(CHECK.kind.finding(message).of(recording));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found_of, night, time};
    use counterpane_model::Twin;

    #[test]
    fn a_copy_names_the_other_one() {
        let (night, recordings) = (night(), [device("22:00-23:00W")]);
        let twin = |recording: &str| Twin {
            recording: recording.into(),
            other: "P02/2026-04-03/ring-a-2".into(),
            other_start: time("Asia/Tokyo", "22:41"),
        };
        let twins = [twin("P01/2026-04-04/ring-a-1"), twin("P01/2026-04-04/gone")];
        assert_eq!(
            found_of(&CHECK, &NightFacts { twins: &twins, ..NightFacts::of(&night, &recordings) }),
            "warning: ring-a-1 has the same stages for the same lengths as P02/2026-04-03/ring-a-2, which begins at \
             2026-04-04 22:41\n"
        );
        assert_eq!(found_of(&CHECK, &NightFacts::of(&night, &recordings)), "");
    }
}
