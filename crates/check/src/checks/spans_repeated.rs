//! A source says the same thing twice of the same time.

use crate::clock::Clock;
use crate::words::{counted, length};
use crate::{Check, place};
use counterpane_model::{Accepted, Finding, Kind, Mark, NightFacts, Recording, Severity, Span};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "spans-repeated",
        severity: Severity::Info,
        title: "a source says the same thing twice of the same time",
        why: "No epoch is in doubt, so nothing is held back: the time counts once. But a row that stands twice is \
              often the sign of a file joined from two exports, and then the totals that the source prints may count \
              it twice.",
        example: "info[spans-repeated]: ring-a-1 repeats itself for 12.5 min in 2 spans, the first one `deep` at \
                  02:10 - 02:16",
        help: "look at the lines in the original; if two exports were joined, import them one by one with \
               `counterpane import`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        let repeats = repeats(recording);
        let Some((first, ms)) = repeats.first() else { continue };
        let total = repeats.iter().map(|(_, ms)| ms).sum();
        let until = counterpane_model::Instant(first.start.0 + ms);
        let message = format!(
            "{} repeats itself for {} in {}, the first one `{}` at {}",
            recording.source,
            length(total),
            counted(repeats.len() as u64, "span", "spans"),
            place::label(first),
            clock.stretch(first.start, until)
        );
        let finding = place::at_span(&CHECK.kind, recording, first, &clock, message);
        found.push(Finding { count: repeats.len() as u64, ..finding });
    }
}

/// Returns the spans that begin inside an earlier one of the same mark, each with the milliseconds
/// that it repeats.
fn repeats(recording: &Recording) -> Vec<(&Span, i64)> {
    let mut spans: Vec<&Span> = recording.spans.iter().filter(|s| s.length_ms() > 0).collect();
    spans.sort_by_key(|s| s.start);
    let mut latest: Vec<(Mark, counterpane_model::Instant)> = Vec::new();
    let mut out = Vec::new();
    for span in spans {
        match latest.iter_mut().find(|(mark, _)| *mark == span.mark) {
            None => latest.push((span.mark, span.end)),
            Some((_, end)) => {
                let ms = span.end.min(*end).ms_since(span.start);
                if ms > 0 {
                    out.push((span, ms));
                }
                *end = span.end.max(*end);
            }
        }
    }
    out
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
    fn a_span_that_stands_twice_is_worth_a_look() {
        check(
            "22:00-22:30W 22:00-22:30W 22:20-22:40W",
            expect![[r#"
                info: ring-a-1 repeats itself for 40 min in 2 spans, the first one `w` at 22:00 - 22:30
                  at ring.csv line 2:1: 2026-04-04 22:00 - 22:30 w
            "#]],
        );
    }

    #[test]
    fn different_marks_and_neighbours_do_not_repeat() {
        check("22:00-22:30W 22:10-22:40Light 22:30-22:50W", expect![""]);
    }
}
