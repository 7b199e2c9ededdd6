//! Runs of codes: neighbours that say the same are one span.
//!
//! A night in epochs of 30 s has about a thousand codes and some dozens of changes. A span for each code would take
//! ten times the memory and say nothing more: the place of a run leads to each of its codes.

use super::sink::Laid;
use counterpane_model::{Instant, Locator, Span};

/// Lengthens a run by the code that follows it and says the same; returns whether that could be done.
pub(super) fn join(run: &mut Laid, next: &Laid) -> bool {
    let (last, span) = (&mut run.span, &next.span);
    let same = run.layer == next.layer && last.end == span.start && last.mark == span.mark && last.label == span.label;
    let Locator::Item { index: next, of: there } = &span.locator else { return false };
    match &mut last.locator {
        Locator::Items { last, of, .. } if same && *last + 1 == *next && of == there => *last = *next,
        Locator::Item { index, of } if same && *index + 1 == *next && of == there => {
            last.locator = Locator::Items { first: *index, last: *next, of: of.clone() };
        }
        _ => return false,
    }
    last.end = span.end;
    true
}

/// Returns how many codes a span stands for; one for everything that is no run.
pub(super) fn codes(span: &Span) -> u64 {
    match &span.locator {
        Locator::Items { first, last, .. } => (last - first).saturating_add(1),
        _ => 1,
    }
}

/// Takes from a run what an earlier one says already, as where pages of codes overlap; returns how many codes it took.
///
/// `None` when the two are no runs of the same word, or do not overlap.
pub(super) fn take_repeated(earlier: &Span, later: &mut Span) -> Option<u64> {
    let is_code = |s: &Span| matches!(s.locator, Locator::Item { .. } | Locator::Items { .. });
    let same = earlier.mark == later.mark && earlier.label == later.label && is_code(earlier) && is_code(later);
    let until = earlier.end.min(later.end);
    let overlap = until.ms_since(later.start);
    if !same || overlap <= 0 || earlier.start > later.start {
        return None;
    }
    let n = codes(later);
    #[expect(clippy::cast_precision_loss, reason = "a run is shorter than 2^52 ms and has fewer codes")]
    let share = overlap as f64 / later.length_ms() as f64 * n as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the number of codes")]
    let taken = share.round() as u64;
    // Epochs that are not those of the earlier run are another statement, and stay for the checks to find.
    if (share - share.round()).abs() > 1e-3 || taken == 0 {
        return None;
    }
    shorten(later, until, taken);
    Some(taken)
}

fn shorten(run: &mut Span, from: Instant, taken: u64) {
    run.start = from;
    if let Locator::Items { first, last, of } = &run.locator {
        let first = first + taken;
        run.locator = match first == *last {
            true => Locator::Item { index: first, of: of.clone() },
            false => Locator::Items { first, last: *last, of: of.clone() },
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::{Mark, Stage};

    fn run(start: i64, end: i64, first: u64, last: u64, label: &str) -> Span {
        let of = Box::new(Locator::Json { path: "$.c".into() });
        let locator =
            if first == last { Locator::Item { index: first, of } } else { Locator::Items { first, last, of } };
        Span { start: Instant(start), end: Instant(end), mark: Mark::Stage(Stage::W), label: label.into(), locator }
    }

    fn joined(a: Span, b: Span) -> String {
        let mut a = Laid { layer: 0, span: a };
        let joins = join(&mut a, &Laid { layer: 0, span: b });
        format!("{joins} {}-{} {}", a.span.start.0, a.span.end.0, a.span.locator)
    }

    #[test]
    fn equal_neighbours_are_one_run() {
        assert_eq!(joined(run(0, 30, 1, 1, "w"), run(30, 60, 2, 2, "w")), "true 0-60 items 1 to 2 of $.c");
        assert_eq!(joined(run(0, 60, 1, 2, "w"), run(60, 90, 3, 3, "w")), "true 0-90 items 1 to 3 of $.c");
        assert_eq!(joined(run(0, 30, 1, 1, "w"), run(30, 60, 2, 2, "l")), "false 0-30 item 1 of $.c");
        assert_eq!(joined(run(0, 30, 1, 1, "w"), run(31, 60, 2, 2, "w")), "false 0-30 item 1 of $.c");
        assert_eq!(joined(run(0, 30, 1, 1, "w"), run(30, 60, 3, 3, "w")), "false 0-30 item 1 of $.c");
    }

    fn rest(earlier: (i64, i64), mut later: Span) -> String {
        let taken = take_repeated(&run(earlier.0, earlier.1, 1, 9, "w"), &mut later);
        format!("{taken:?} {}-{} {}", later.start.0, later.end.0, later.locator)
    }

    #[test]
    fn what_another_page_says_too_is_taken_once() {
        assert_eq!(rest((0, 90), run(30, 150, 1, 4, "w")), "Some(2) 90-150 items 3 to 4 of $.c");
        assert_eq!(rest((0, 90), run(30, 120, 1, 3, "w")), "Some(2) 90-120 item 3 of $.c");
        assert_eq!(rest((0, 90), run(30, 60, 1, 1, "w")), "Some(1) 60-60 item 1 of $.c");
        assert_eq!(rest((0, 80), run(30, 150, 1, 4, "w")), "None 30-150 items 1 to 4 of $.c");
        assert_eq!(rest((0, 90), run(30, 150, 1, 4, "l")), "None 30-150 items 1 to 4 of $.c");
    }
}
