//! A recording reaches outside the night that it was put into.

use crate::clock::Clock;
use crate::{Check, place};
use counterpane_model::{Accepted, Finding, Kind, Night, NightFacts, Recording, Severity, Span};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "outside-window",
        severity: Severity::Error,
        title: "a recording reaches outside the night that it was put into",
        why: "The window of a night says which time belongs to it and to no other night. Rows outside it come from \
              another night, a wrong date or a wrong zone, and then every epoch of the recording may be laid beside \
              the wrong one.",
        example: "error[outside-window]: 2 of the 31 spans of ring-b-1 lie at least partly outside the night's window, \
                  2026-04-04 18:00 - 12:00: the first is `light` at 2026-04-04 12:10 - 12:40",
        help: "compare the dates in the original with the window that `counterpane nights` shows; import again with \
               the right night or zone (`counterpane import`), widen the window in `study.toml`, or give your reason \
               with `counterpane accept`",
        accepted: Accepted::Then(
            "the spans stay as they are; those in the window of a comparison count, the others take no part in it",
        ),
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        let mut outside: Vec<&Span> = recording.spans.iter().filter(|s| reaches_outside(s, night.night)).collect();
        outside.sort_by_key(|s| s.start);
        if let Some(first) = outside.first() {
            let message = message(night.night, recording, outside.len(), first, &clock);
            let finding = place::at_span(&CHECK.kind, recording, first, &clock, message);
            found.push(Finding { count: outside.len() as u64, ..finding });
        }
    }
}

/// The window is half open, so a span may end where it ends.
fn reaches_outside(span: &Span, night: &Night) -> bool {
    let (from, until) = night.window;
    span.start < from || span.end > until
}

fn message(night: &Night, recording: &Recording, n: usize, first: &Span, clock: &Clock) -> String {
    let window = clock.dated_stretch(night.window.0, night.window.1);
    let span = clock.dated_stretch(first.start, first.end);
    let which = match (n, recording.spans.len()) {
        (1, 1) => format!("the only span of {} lies", recording.source),
        (n, all) if n == all => format!("all {n} spans of {} lie", recording.source),
        (1, all) => format!("1 of the {all} spans of {} lies", recording.source),
        (n, all) => format!("{n} of the {all} spans of {} lie", recording.source),
    };
    let label = place::label(first);
    format!("{which} at least partly outside the night's window, {window}: the first is `{label}` at {span}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night};
    use expect_test::{Expect, expect};

    fn check(spans: &str, expected: Expect) {
        expected.assert_eq(&found(&CHECK, &night(), &[device(spans)]));
    }

    #[test]
    fn spans_before_or_after_the_window_are_an_error() {
        check(
            "17:30-18:00W 17:50-18:10W 18:10-13:59W 13:59-14:01R",
            expect![[r#"
                error: 3 of the 4 spans of ring-a-1 lie at least partly outside the night's window, 2026-04-04 18:00 - 14:00: the first is `w` at 2026-04-04 17:30 - 18:00
                  at ring.csv line 1:1: 2026-04-04 17:30 - 18:00 w
            "#]],
        );
    }

    #[test]
    fn a_recording_may_fill_its_window_to_the_edges() {
        check("18:00-22:00W 22:00-14:00Light", expect![""]);
    }

    #[test]
    fn the_number_of_spans_reads_right() {
        let said = |spans| found(&CHECK, &night(), &[device(spans)]);
        assert!(said("16:00-17:00W").starts_with("error: the only span of ring-a-1 lies at least"));
        assert!(said("16:00-17:00W 17:00-18:10R").starts_with("error: all 2 spans of ring-a-1 lie at least"));
        assert!(said("16:00-17:00W 18:00-18:10R").starts_with("error: 1 of the 2 spans of ring-a-1 lies at least"));
    }
}
