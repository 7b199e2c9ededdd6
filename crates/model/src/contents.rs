//! What a recording holds, apart from when: for finding copies of it.

use crate::Span;
use crate::grid::{Stretch, flatten};
use std::fmt::Write as _;

/// Recordings with fewer runs than this may agree by chance, as two devices do that each say "asleep from 23:00 to
/// 07:00" (own choice). A night that is staged has dozens.
const FEWEST_RUNS: usize = 10;

/// Returns the stages of spans in order of time with their lengths, as a text that is the same for two recordings when
/// they say the same: whatever the day, the order of rows, the words of the source, and however it cuts a stage into
/// rows. `None` when there are too few changes of stage to tell a copy from chance.
///
/// ```
/// # use counterpane_model::contents::contents;
/// assert_eq!(contents(&[]), None);
/// ```
#[must_use]
pub fn contents(spans: &[Span]) -> Option<String> {
    let runs = flatten(spans);
    let first = runs.first()?.start;
    if runs.len() < FEWEST_RUNS {
        return None;
    }
    let mut text = String::new();
    for Stretch { start, end, cell } in runs {
        let _ = write!(text, "{}+{}{} ", start.ms_since(first), end.ms_since(start), cell.code());
    }
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Instant, Locator};

    /// Spans of 30 s each from letters, `.` a gap, begun at `start` seconds.
    fn spans(letters: &str, start: i64) -> Vec<Span> {
        let stage = |l: char| match l {
            'W' => "W",
            'R' => "R",
            _ => "Light",
        };
        let span = |(i, l): (usize, char)| Span {
            start: Instant((start + 30 * i64::try_from(i).unwrap()) * 1000),
            end: Instant((start + 30 * i64::try_from(i + 1).unwrap()) * 1000),
            mark: stage(l).parse().unwrap(),
            label: l.to_string(),
            locator: Locator::Text { line: i as u64 + 1, column: 1 },
        };
        letters.chars().enumerate().filter(|(_, l)| *l != '.').map(span).collect()
    }

    const NIGHT: &str = "WWLLRRLLWWLLRRLLWWLLRRLL";

    #[test]
    fn another_day_another_order_and_other_rows_are_the_same_contents() {
        let mut shuffled = spans(NIGHT, 86_400);
        shuffled.reverse();
        assert_eq!(contents(&shuffled), contents(&spans(NIGHT, 0)));
        let mut joined = spans(NIGHT, 0);
        joined.remove(1);
        joined[0].end = joined[1].start;
        assert_eq!(contents(&joined), contents(&spans(NIGHT, 0)));
    }

    #[test]
    fn one_epoch_more_is_other_contents_and_so_is_a_gap() {
        assert_ne!(contents(&spans(NIGHT, 0)), contents(&spans("WWLLRRLLWWLLRRLLWWLLRRLLL", 0)));
        assert_ne!(contents(&spans(NIGHT, 0)), contents(&spans("WWLLRRLLWWLLRRLLWWLLRR.LL", 0)));
    }

    #[test]
    fn what_changes_its_stage_a_few_times_only_may_be_like_another_by_chance() {
        assert_eq!(contents(&spans("WWWWLLLLRRRR", 0)), None);
    }
}
