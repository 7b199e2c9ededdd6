//! Times of a source do not fall on its own step.

use crate::clock::Clock;
use crate::words::length;
use crate::{Check, place};
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Recording, Severity, Span};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "times-off-step",
        severity: Severity::Info,
        title: "times of a source do not fall on its own step",
        why: "The definition says in which step the source gives its stages. Times beside that step mean that the step is \
              another one after a change of the app, that the export rounds its times, or that rows of another kind \
              were read as stages. Counted from the first start of the recording.",
        example: "info[times-off-step]: ring-a-1 gives its stages in steps of 5 min, and 3 of its 42 boundaries lie \
                  beside them, the first at 02:17",
        help: "look at the row named; if the step has changed, mend `step` in a definition of the study and repeat \
               `counterpane import`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings.iter().filter(|r| r.step_ms > 0) {
        // A piecewise correction of the clock moves times off the step, and that is no fault of the source.
        if night.decided.clock_of(&recording.source).is_some() {
            continue;
        }
        let Some((first, _)) = recording.bounds() else { continue };
        let beside = |at: &counterpane_model::Instant| at.ms_since(first).rem_euclid(recording.step_ms) != 0;
        let boundaries = boundaries(recording);
        let off: Vec<_> = boundaries.iter().filter(|(at, _)| beside(at)).collect();
        let Some((at, span)) = off.first() else { continue };
        let message = format!(
            "{} gives its stages in steps of {}, and {} of its {} boundaries {} beside them, the first at {}",
            recording.source,
            length(recording.step_ms),
            off.len(),
            boundaries.len(),
            if off.len() == 1 { "lies" } else { "lie" },
            clock.time(*at)
        );
        let finding = place::at_span(&CHECK.kind, recording, span, &clock, message);
        found.push(Finding { count: off.len() as u64, ..finding });
    }
}

/// Returns every time at which a span begins or ends, once, in order, with the first span that has it.
fn boundaries(recording: &Recording) -> Vec<(counterpane_model::Instant, &Span)> {
    let mut all: Vec<_> = recording.spans.iter().flat_map(|s| [(s.start, s), (s.end, s)]).collect();
    all.sort_by_key(|(at, _)| *at);
    all.dedup_by_key(|(at, _)| *at);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night};
    use expect_test::expect;

    fn in_steps(ms: i64, text: &str) -> Recording {
        Recording { step_ms: ms, ..device(text) }
    }

    #[test]
    fn boundaries_beside_the_step_are_counted() {
        let ring = in_steps(300_000, "22:00-22:10W 22:10-22:17Light 22:17-22:20R 22:20-22:26W");
        expect![[r#"
            info: ring-a-1 gives its stages in steps of 5 min, and 2 of its 5 boundaries lie beside them, the first at 22:17
              at ring.csv line 2:1: 2026-04-04 22:10 - 22:17 light
        "#]]
        .assert_eq(&found(&CHECK, &night(), &[ring]));
    }

    #[test]
    fn the_step_counts_from_the_first_start_and_an_unknown_step_asks_nothing() {
        assert_eq!(found(&CHECK, &night(), &[in_steps(300_000, "22:02-22:12W 22:12-22:17R")]), "");
        assert_eq!(found(&CHECK, &night(), &[in_steps(0, "22:02-22:12:07W")]), "");
    }
}
