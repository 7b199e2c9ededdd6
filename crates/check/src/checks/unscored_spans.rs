//! A source looked at some of the time and did not score it.

use crate::clock::Clock;
use crate::words::{length, percent};
use crate::{Check, place};
use counterpane_model::grid::{Stretch, flatten};
use counterpane_model::{Accepted, Finding, Kind, Mark, NightFacts, Recording, Severity, Span};

/// Above this share of what a source covers, unscored time is a warning (common practice, no source).
const WARNING_PERCENT: i64 = 5;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "unscored-spans",
        severity: Severity::Warning,
        title: "a source looked at some of the time and did not score it",
        why: "Epochs that a source leaves unscored are in no matrix and in no minutes of sleep, so the night is \
              judged on the rest of it. More than 5 % of what the source covers is a warning, up to that it is \
              information only (the limit is common practice, no source).",
        example: "warning[unscored-spans]: scorer S1 leaves 31.5 min unscored, 6.4 % of what it covers, in 3 \
                  stretches, the longest at 03:12 - 03:30",
        help: "see where the unscored stretches lie with `counterpane show`; if so much is unscored that the night \
               cannot be judged, leave the device out with `counterpane compare --device`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        // Only what the source itself calls unscored; two words for one time are another finding.
        let unscored: Vec<Span> = recording.spans.iter().filter(|s| s.mark == Mark::Unscored).cloned().collect();
        let stretches = flatten(&unscored);
        let (part, whole) = (total_ms(&stretches), total_ms(&flatten(&recording.spans)));
        // Stretches are in order, and of two of one length the earlier is wanted.
        let Some(longest) = stretches.iter().rev().max_by_key(|s| s.end.ms_since(s.start)) else { continue };
        let message = message(recording, &stretches, longest, (part, whole), &clock);
        let Some(first) = unscored.iter().find(|s| s.start == longest.start) else { continue };
        let finding = place::at_span(&CHECK.kind, recording, first, &clock, message);
        found.push(Finding { severity: severity(part, whole), count: stretches.len() as u64, ..finding });
    }
}

fn total_ms(stretches: &[Stretch]) -> i64 {
    stretches.iter().map(|s| s.end.ms_since(s.start)).sum()
}

fn severity(part_ms: i64, whole_ms: i64) -> Severity {
    if part_ms * 100 > whole_ms * WARNING_PERCENT { Severity::Warning } else { Severity::Info }
}

fn message(
    recording: &Recording,
    stretches: &[Stretch],
    longest: &Stretch,
    (part, whole): (i64, i64),
    clock: &Clock,
) -> String {
    let at = clock.stretch(longest.start, longest.end);
    let share = percent(part.unsigned_abs(), whole.unsigned_abs());
    let head = format!("{} leaves {} unscored, {share} of what it covers", recording.source, length(part));
    match stretches.len() {
        1 => format!("{head}, at {at}"),
        n => format!("{head}, in {n} stretches, the longest at {at}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{found, night, reference};
    use expect_test::{Expect, expect};

    fn check(spans: &str, expected: Expect) {
        expected.assert_eq(&found(&CHECK, &night(), &[reference(spans)]));
    }

    #[test]
    fn a_little_unscored_time_is_information() {
        check(
            "22:00-06:00N2 06:00-06:10unscored",
            expect![[r#"
                info: scorer S1 leaves 10 min unscored, 2 % of what it covers, at 06:00 - 06:10
                  at S1.edf line 2:1: 2026-04-05 06:00 - 06:10 unscored
            "#]],
        );
    }

    #[test]
    fn more_than_a_twentieth_is_a_warning() {
        check(
            "22:00-23:34N2 23:34-23:37unscored 23:37-23:39unscored 23:39-23:39:30N2 23:39:30-23:40unscored",
            expect![[r#"
                warning: scorer S1 leaves 5.5 min unscored, 5.5 % of what it covers, in 2 stretches, the longest at 23:34 - 23:39
                  at S1.edf line 2:1: 2026-04-04 23:34 - 23:37 unscored
            "#]],
        );
    }

    #[test]
    fn exactly_a_twentieth_is_not() {
        assert_eq!(severity(5, 100), Severity::Info);
        assert_eq!(severity(51, 1000), Severity::Warning);
    }

    #[test]
    fn off_the_body_is_not_unscored() {
        check("22:00-23:00N2 23:00-23:30off", expect![""]);
    }
}
