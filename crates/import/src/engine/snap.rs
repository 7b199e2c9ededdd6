//! Neighbours that do not quite meet are joined.

use counterpane_model::Span;

/// The largest seam that is rounding and not sleep, in milliseconds.
const SEAM_MS: i64 = 50;

/// Seams that were closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Closed {
    /// How many.
    pub(super) count: u64,
    /// The largest, in milliseconds.
    pub(super) largest_ms: i64,
}

/// Sets the end of each span to the start of its successor where the two are at most 50 ms apart; `spans` is
/// in order of start.
pub(super) fn snap(spans: &mut [Span]) -> Closed {
    let mut closed = Closed { count: 0, largest_ms: 0 };
    for n in 1..spans.len() {
        let (start, before) = (spans[n].start, &mut spans[n - 1]);
        let seam = start.ms_since(before.end);
        // A span shorter than the seam would vanish.
        if seam == 0 || seam.abs() > SEAM_MS || start <= before.start {
            continue;
        }
        before.end = start;
        closed = Closed { count: closed.count + 1, largest_ms: closed.largest_ms.max(seam.abs()) };
    }
    closed
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::{Instant, Locator, Mark};

    fn check(spans: &[(i64, i64)]) -> (Vec<(i64, i64)>, u64, i64) {
        let span = |(start, end): &(i64, i64)| Span {
            start: Instant(*start),
            end: Instant(*end),
            mark: Mark::Unscored,
            label: String::new(),
            locator: Locator::Text { line: 1, column: 1 },
        };
        let mut spans: Vec<Span> = spans.iter().map(span).collect();
        let closed = snap(&mut spans);
        (spans.iter().map(|s| (s.start.0, s.end.0)).collect(), closed.count, closed.largest_ms)
    }

    #[test]
    fn small_seams_are_closed_at_the_later_start() {
        assert_eq!(
            check(&[(0, 980), (1000, 2010), (2000, 3000)]),
            (vec![(0, 1000), (1000, 2000), (2000, 3000)], 2, 20)
        );
        assert_eq!(check(&[(0, 949), (1000, 2000)]), (vec![(0, 949), (1000, 2000)], 0, 0));
        assert_eq!(check(&[(0, 950), (1000, 2000)]), (vec![(0, 1000), (1000, 2000)], 1, 50));
    }

    #[test]
    fn a_span_never_vanishes() {
        assert_eq!(check(&[(0, 40), (0, 1000)]), (vec![(0, 40), (0, 1000)], 0, 0));
    }
}
