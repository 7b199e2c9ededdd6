//! A source says two different things of the same time.

use crate::clock::Clock;
use crate::words::length;
use crate::{Check, place, sample};
use counterpane_model::{Accepted, Finding, Instant, Kind, NightFacts, Recording, Severity, Span};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "spans-overlap",
        severity: Severity::Error,
        title: "a source says two different things of the same time",
        why: "Each epoch is paired once. Where a source says two things of one epoch, choosing either would invent \
              an answer that the source did not give. `off` against a stage counts too.",
        example: "error[spans-overlap]: ring-a-1 says both `shallow` and `deep` for 6 min, at 02:10 - 02:16",
        help: "look at both lines in the original; if a definition reads them wrongly, mend it and repeat \
               `counterpane import`; if the source is at fault, give your reason with `counterpane accept`, or leave \
               the device out with `counterpane compare --device`",
        accepted: Accepted::Then("the time that is said twice is unscored, and the rest of both spans counts"),
    },
    check,
};

struct Overlap<'a> {
    earlier: &'a Span,
    later: &'a Span,
}

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        let overlaps = overlaps(recording);
        sample::keep(&overlaps, found, |overlap| {
            let (from, until) = overlap.time();
            let message = format!(
                "{} says both {} for {}, at {}",
                recording.source,
                overlap.words(),
                length(until.ms_since(from)),
                clock.stretch(from, until)
            );
            place::at_span(&CHECK.kind, recording, overlap.later, &clock, message)
        });
    }
}

/// Returns, for each span that begins inside earlier ones of other marks, the overlap with the one of
/// them that lasts longest: a span is reported once, however many it runs into.
fn overlaps(recording: &Recording) -> Vec<Overlap<'_>> {
    let mut spans: Vec<&Span> = recording.spans.iter().filter(|s| s.length_ms() > 0).collect();
    spans.sort_by_key(|s| s.start);
    // For each mark the span with the latest end so far.
    let mut latest: Vec<&Span> = Vec::new();
    let mut out = Vec::new();
    for later in spans {
        let others = latest.iter().filter(|s| s.mark != later.mark && s.end > later.start);
        if let Some(earlier) = others.max_by_key(|s| s.end) {
            out.push(Overlap { earlier, later });
        }
        match latest.iter_mut().find(|s| s.mark == later.mark) {
            Some(same) if same.end >= later.end => {}
            Some(same) => *same = later,
            None => latest.push(later),
        }
    }
    out
}

impl Overlap<'_> {
    fn time(&self) -> (Instant, Instant) {
        (self.later.start, self.later.end.min(self.earlier.end))
    }

    /// The source's own words, with what they were read as where the words alone do not differ.
    fn words(&self) -> String {
        let (a, b) = (place::label(self.earlier), place::label(self.later));
        if a == b {
            return format!("`{a}` ({}) and `{b}` ({})", self.earlier.mark, self.later.mark);
        }
        format!("`{a}` and `{b}`")
    }
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
    fn two_stages_at_once_are_an_error_at_the_later_one() {
        check(
            "22:00-22:30W 22:24-23:00Light",
            expect![[r#"
                error: ring-a-1 says both `w` and `light` for 6 min, at 22:24 - 22:30
                  at ring.csv line 2:1: 2026-04-04 22:24 - 23:00 light
            "#]],
        );
    }

    #[test]
    fn off_and_a_stage_at_once_are_an_error_too() {
        check(
            "22:00-06:00Light 01:00-01:10off",
            expect![[r#"
                error: ring-a-1 says both `light` and `off` for 10 min, at 01:00 - 01:10
                  at ring.csv line 2:1: 2026-04-05 01:00 - 01:10 off
            "#]],
        );
    }

    #[test]
    fn neighbours_that_touch_do_not_overlap() {
        check("22:00-22:30W 22:30-23:00Light 23:00-23:00R", expect![""]);
    }

    #[test]
    fn the_same_mark_twice_is_not_this_fault() {
        check("22:00-23:00W 22:30-23:30W", expect![""]);
    }

    #[test]
    fn a_long_span_overlaps_all_that_it_covers() {
        check(
            "22:00-23:00W 22:10-22:20Light 22:30-22:40R",
            expect![[r#"
                error: ring-a-1 says both `w` and `light` for 10 min, at 22:10 - 22:20
                  at ring.csv line 2:1: 2026-04-04 22:10 - 22:20 light
                error: ring-a-1 says both `w` and `r` for 10 min, at 22:30 - 22:40
                  at ring.csv line 3:1: 2026-04-04 22:30 - 22:40 r
            "#]],
        );
    }

    #[test]
    fn one_word_read_in_two_ways_says_what_it_was_read_as() {
        let mut recording = device("22:00-22:30W 22:24-23:00Light");
        recording.spans.iter_mut().for_each(|s| s.label = "rest".into());
        let said = found(&CHECK, &night(), &[recording]);
        assert!(said.starts_with("error: ring-a-1 says both `rest` (W) and `rest` (Light) for 6 min"), "{said}");
    }
}
