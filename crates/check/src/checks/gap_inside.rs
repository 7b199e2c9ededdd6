//! A source says nothing for a while between its first and its last row.

use crate::clock::Clock;
use crate::words::{counted, length};
use crate::{Check, place};
use counterpane_model::{Accepted, EPOCH_MS, Finding, Kind, NightFacts, Recording, Severity, Span};

/// Gaps up to this length change no epoch by more than a tie and are passed over, milliseconds.
const SHORT_MS: i64 = EPOCH_MS / 2;
/// How many gaps a message names.
const NAMED: usize = 3;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "gap-inside",
        severity: Severity::Warning,
        title: "a source says nothing for a while between its first and its last row",
        why: "The epochs in a gap are missing, which is not the same as awake: they are left out of the matrix and \
              count as wrong in the figure that charges missing epochs. Sources tend to lose the hard epochs, so a \
              source with gaps looks better than it is. Gaps of at most half an epoch are passed over.",
        example: "warning[gap-inside]: watch-a-1 says nothing for 25 min between its first and its last row, at \
                  02:10 - 02:35",
        help: "look at the gap with `counterpane show` and at the file around the line named; if rows were read \
               wrongly, mend the definition and repeat `counterpane import`; if the device said nothing, the gap \
               stands, and counts as missing",
        accepted: Accepted::NotNeeded,
    },
    check,
};

struct Gap<'a> {
    after: &'a Span,
    until: &'a Span,
}

impl Gap<'_> {
    fn ms(&self) -> i64 {
        self.until.start.ms_since(self.after.end)
    }
}

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        let mut gaps = gaps(recording);
        // Stable: of two gaps of one length the earlier comes first.
        gaps.sort_by_key(|g| std::cmp::Reverse(g.ms()));
        if let Some(longest) = gaps.first() {
            let message = message(recording, &gaps, &clock);
            let finding = place::at_span(&CHECK.kind, recording, longest.after, &clock, message);
            found.push(Finding { count: gaps.len() as u64, ..finding });
        }
    }
}

fn gaps(recording: &Recording) -> Vec<Gap<'_>> {
    let mut spans: Vec<&Span> = recording.spans.iter().filter(|s| s.length_ms() > 0).collect();
    spans.sort_by_key(|s| s.start);
    let mut gaps = Vec::new();
    // The span with the latest end so far, not the neighbour: a long span can cover several later ones.
    let mut last: Option<&Span> = None;
    for span in spans {
        if let Some(after) = last {
            let gap = Gap { after, until: span };
            if gap.ms() > SHORT_MS {
                gaps.push(gap);
            }
        }
        last = Some(last.filter(|l| l.end >= span.end).unwrap_or(span));
    }
    gaps
}

fn message(recording: &Recording, longest_first: &[Gap<'_>], clock: &Clock) -> String {
    let source = &recording.source;
    let total = length(longest_first.iter().map(Gap::ms).sum());
    let at = |g: &Gap<'_>| clock.stretch(g.after.end, g.until.start);
    let head = format!("{source} says nothing for {total} between its first and its last row");
    if let [only] = longest_first {
        return format!("{head}, at {}", at(only));
    }
    let mut named: Vec<String> =
        longest_first.iter().take(NAMED).map(|g| format!("{} at {}", length(g.ms()), at(g))).collect();
    if longest_first.len() > NAMED {
        named.push(counted((longest_first.len() - NAMED) as u64, "shorter one", "shorter ones"));
    }
    format!("{head}, in {} gaps: {}", longest_first.len(), crate::words::listed(&named))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, night_in};
    use expect_test::{Expect, expect};

    fn check(spans: &str, expected: Expect) {
        expected.assert_eq(&found(&CHECK, &night(), &[device(spans)]));
    }

    #[test]
    fn a_gap_is_told_with_its_length_and_its_time() {
        check(
            "22:00-02:10Light 02:35-06:00R",
            expect![[r#"
                warning: ring-a-1 says nothing for 25 min between its first and its last row, at 02:10 - 02:35
                  at ring.csv line 1:1: 2026-04-04 22:00 - 02:10 light
            "#]],
        );
    }

    #[test]
    fn several_gaps_are_told_longest_first() {
        check(
            "22:00-23:00W 23:01-23:30R 23:32:30-23:50R 23:51-00:00W 00:04-00:05R 00:05:20-00:30R",
            expect![[r#"
                warning: ring-a-1 says nothing for 8.8 min between its first and its last row, in 5 gaps: 4 min at 00:00 - 00:04, 2.5 min at 23:30 - 23:32:30, 1 min at 23:00 - 23:01 and 2 shorter ones
                  at ring.csv line 4:1: 2026-04-04 23:51 - 00:00 w
            "#]],
        );
    }

    #[test]
    fn half_an_epoch_is_no_gap_and_a_little_more_is() {
        check("22:00-23:00W 23:00:15-23:30R", expect![""]);
        check(
            "22:00-23:00W 23:00:16-23:30R",
            expect![[r#"
                warning: ring-a-1 says nothing for 16 s between its first and its last row, at 23:00 - 23:00:16
                  at ring.csv line 1:1: 2026-04-04 22:00 - 23:00 w
            "#]],
        );
    }

    #[test]
    fn a_long_span_covers_what_lies_behind_the_next_one() {
        check("22:00-06:00W 23:00-23:10R 01:00-02:00W", expect![""]);
    }

    #[test]
    fn an_empty_span_covers_nothing_and_a_single_one_has_no_inside() {
        check("22:00-23:00W", expect![""]);
        check("", expect![""]);
        check(
            "22:00-23:00W 23:05-23:05R 23:10-23:30R",
            expect![[r#"
                warning: ring-a-1 says nothing for 10 min between its first and its last row, at 23:00 - 23:10
                  at ring.csv line 1:1: 2026-04-04 22:00 - 23:00 w
            "#]],
        );
    }

    #[test]
    fn a_gap_over_the_repeated_half_hour_lasts_as_long_as_it_lasted() {
        // In Lord Howe local time: 15:00Z is where 02:00 became 01:30, and Tokyo is at +09:00.
        let recording = device("22:00-23:50Light 00:20-04:00R");
        let said = found(&CHECK, &night_in("Australia/Lord_Howe"), &[recording]);
        assert!(said.contains("for 30 min"), "{said}");
        assert!(said.contains("at 01:50+11:00 - 01:50+10:30"), "{said}");
    }
}
