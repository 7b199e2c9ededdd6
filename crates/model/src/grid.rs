//! The grid of 30 s epochs, and how spans are laid on it.

use crate::{Instant, Mark, Span, Stage};

/// Length of an epoch in milliseconds. Polysomnograms are scored in 30 s epochs (common practice,
/// and the rule of the AASM manual; from memory).
pub const EPOCH_MS: i64 = 30_000;

/// What a recording says of one epoch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cell {
    /// A stage.
    Stage(Stage),
    /// Looked at and not scored, or said twice in different words.
    Unscored,
    /// Said to be off the body or charging.
    Off,
    /// The source says nothing.
    Missing,
}

impl Cell {
    /// Every value, in the order of the letters of [`Cell::letter`].
    #[must_use]
    pub fn all() -> Vec<Cell> {
        Stage::ALL.map(Cell::Stage).into_iter().chain([Cell::Unscored, Cell::Off, Cell::Missing]).collect()
    }

    /// Returns the stage, if it is one.
    #[must_use]
    pub fn stage(self) -> Option<Stage> {
        match self {
            Cell::Stage(stage) => Some(stage),
            Cell::Unscored | Cell::Off | Cell::Missing => None,
        }
    }

    /// Returns the word that the store and exports use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Cell::Stage(stage) => stage.code(),
            Cell::Unscored => "unscored",
            Cell::Off => "off",
            Cell::Missing => "missing",
        }
    }

    /// Returns the one letter that stands for it in a strip of epochs.
    #[must_use]
    pub fn letter(self) -> char {
        match self {
            Cell::Stage(Stage::W) => 'W',
            Cell::Stage(Stage::N1) => '1',
            Cell::Stage(Stage::N2) => '2',
            Cell::Stage(Stage::N3) => '3',
            Cell::Stage(Stage::R) => 'R',
            Cell::Stage(Stage::Light) => 'L',
            Cell::Stage(Stage::Nrem) => 'N',
            Cell::Stage(Stage::Asleep) => 'A',
            Cell::Unscored => '?',
            Cell::Off => 'o',
            Cell::Missing => '.',
        }
    }
}

impl From<Mark> for Cell {
    fn from(mark: Mark) -> Cell {
        match mark {
            Mark::Stage(stage) => Cell::Stage(stage),
            Mark::Unscored => Cell::Unscored,
            Mark::Off => Cell::Off,
        }
    }
}

/// A row of `n` epochs, the first of which begins at `start`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grid {
    /// Start of the first epoch.
    pub start: Instant,
    /// Number of epochs.
    pub n: usize,
}

impl Grid {
    /// Returns the grid whose epochs are counted from `anchor`, in both directions, and that covers
    /// `[from, until)`; empty when `until` is not after `from`.
    #[must_use]
    pub fn covering(anchor: Instant, from: Instant, until: Instant) -> Grid {
        let first = from.ms_since(anchor).div_euclid(EPOCH_MS);
        let end = -(-until.ms_since(anchor)).div_euclid(EPOCH_MS);
        Grid {
            start: Instant(anchor.0.saturating_add(first.saturating_mul(EPOCH_MS))),
            n: usize::try_from(end.saturating_sub(first)).unwrap_or(0),
        }
    }

    /// Returns the start of epoch `index`; the end of the grid when `index` is `n`.
    #[must_use]
    pub fn at(&self, index: usize) -> Instant {
        Instant(self.start.0 + i64::try_from(index).unwrap_or(0) * EPOCH_MS)
    }

    /// Returns the range of epochs of which at least half lies inside `[from, until)`.
    #[must_use]
    pub fn within(&self, from: Instant, until: Instant) -> std::ops::Range<usize> {
        let index = |at: Instant| {
            let epochs = (at.ms_since(self.start) + EPOCH_MS / 2 - 1).div_euclid(EPOCH_MS);
            usize::try_from(epochs.max(0)).unwrap_or(0).min(self.n)
        };
        index(from)..index(until).max(index(from))
    }
}

/// A stretch in which a recording says one thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// First instant.
    pub start: Instant,
    /// First instant after it.
    pub end: Instant,
    /// What is said; never `Missing`.
    pub cell: Cell,
}

/// Returns the spans as stretches in order that do not overlap.
///
/// Where several spans cover an instant and agree, that is what is said; where they differ, the
/// stretch is unscored. Spans of no or negative length say nothing. The order of `spans` is free.
#[must_use]
pub fn flatten(spans: &[Span]) -> Vec<Stretch> {
    let mut edges: Vec<(Instant, bool, Cell)> = Vec::with_capacity(spans.len() * 2);
    for span in spans.iter().filter(|s| s.length_ms() > 0) {
        edges.push((span.start, true, span.mark.into()));
        edges.push((span.end, false, span.mark.into()));
    }
    edges.sort_unstable();
    let mut open: Vec<(Cell, usize)> = Vec::new();
    let mut out: Vec<Stretch> = Vec::with_capacity(spans.len());
    let mut since = Instant::MIN;
    for (at, opens, cell) in edges {
        if at > since
            && let Some(said) = said_by(&open)
        {
            match out.last_mut() {
                Some(last) if last.cell == said && last.end == since => last.end = at,
                _ => out.push(Stretch { start: since, end: at, cell: said }),
            }
        }
        since = at;
        match (open.iter_mut().find(|(c, _)| *c == cell), opens) {
            (Some((_, count)), true) => *count += 1,
            (Some((_, count)), false) => *count -= 1,
            (None, true) => open.push((cell, 1)),
            (None, false) => {}
        }
        open.retain(|(_, count)| *count > 0);
    }
    out
}

fn said_by(open: &[(Cell, usize)]) -> Option<Cell> {
    match open {
        [] => None,
        [(cell, _)] => Some(*cell),
        _ => Some(Cell::Unscored),
    }
}

/// Lays spans on a grid: each epoch gets what covers most of it; on a tie, what comes first in it.
///
/// Time that no span covers counts as [`Cell::Missing`] and competes like the rest, so an epoch that
/// is covered by less than half is missing. The result has `grid.n` cells.
#[must_use]
pub fn project(spans: &[Span], grid: Grid) -> Vec<Cell> {
    let stretches = flatten(spans);
    let mut next = stretches.partition_point(|s| s.end <= grid.start);
    (0..grid.n)
        .map(|index| {
            let (from, until) = (grid.at(index), grid.at(index + 1));
            while stretches.get(next).is_some_and(|s| s.end <= from) {
                next += 1;
            }
            largest(&stretches[next..], from, until)
        })
        .collect()
}

/// Returns what covers most of `[from, until)`.
fn largest(stretches: &[Stretch], from: Instant, until: Instant) -> Cell {
    let mut shares: Vec<(Cell, i64)> = Vec::new();
    let mut add = |cell: Cell, ms: i64| match shares.iter_mut().find(|(c, _)| *c == cell) {
        _ if ms <= 0 => {}
        Some((_, sum)) => *sum += ms,
        None => shares.push((cell, ms)),
    };
    let mut at = from;
    for stretch in stretches.iter().take_while(|s| s.start < until) {
        add(Cell::Missing, stretch.start.ms_since(at));
        at = at.max(stretch.start);
        let end = stretch.end.min(until);
        add(stretch.cell, end.ms_since(at));
        at = end;
    }
    add(Cell::Missing, until.ms_since(at));
    // Not `max_by_key`: on a tie that one returns the last, and the first is wanted.
    shares.into_iter().fold((Cell::Missing, 0), |best, s| if s.1 > best.1 { s } else { best }).0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Locator;
    use proptest::prelude::*;

    /// Spans from text such as `0-30W 45-60R`, in seconds.
    fn spans(text: &str) -> Vec<Span> {
        text.split_whitespace()
            .map(|word| {
                let (times, label) = word.split_at(word.find(|c: char| c.is_alphabetic()).unwrap());
                let (start, end) = times.split_once('-').unwrap();
                let second = |t: &str| Instant(t.parse::<i64>().unwrap() * 1000);
                Span {
                    start: second(start),
                    end: second(end),
                    mark: label.parse().unwrap(),
                    label: label.into(),
                    locator: Locator::Text { line: 1, column: 1 },
                }
            })
            .collect()
    }

    fn check(text: &str, n: usize) -> String {
        project(&spans(text), Grid { start: Instant(0), n }).into_iter().map(Cell::letter).collect()
    }

    #[test]
    fn an_epoch_gets_what_covers_most_of_it() {
        assert_eq!(check("0-40W 40-90R", 3), "WRR");
        assert_eq!(check("0-50W 50-90R", 3), "WWR");
    }

    #[test]
    fn on_a_tie_the_earlier_one_counts() {
        assert_eq!(check("0-45W 45-90R", 3), "WWR");
    }

    #[test]
    fn several_short_spans_of_a_stage_add_up() {
        assert_eq!(check("0-10W 10-20R 20-30W", 1), "W");
    }

    #[test]
    fn what_nobody_says_is_missing_not_wake() {
        assert_eq!(check("30-60W", 3), ".W.");
        assert_eq!(check("0-10W", 1), ".");
        assert_eq!(check("0-15W", 1), "W");
    }

    #[test]
    fn two_words_for_one_instant_are_unscored() {
        assert_eq!(check("0-60W 30-90R", 3), "W?R");
        assert_eq!(check("0-60W 30-90W", 3), "WWW");
        assert_eq!(check("0-90W 30-60off", 3), "W?W");
    }

    #[test]
    fn a_span_of_no_length_says_nothing() {
        assert_eq!(check("0-30W 30-30R 60-30R", 2), "W.");
    }

    #[test]
    fn a_grid_covers_its_window_from_any_anchor() {
        let grid = Grid::covering(Instant(100_000), Instant(0), Instant(61_000));
        assert_eq!(grid, Grid { start: Instant(-20_000), n: 3 });
        assert_eq!(Grid::covering(Instant(0), Instant(60_000), Instant(60_000)).n, 0);
        assert_eq!(Grid::covering(Instant(0), Instant(60_000), Instant(0)).n, 0);
    }

    #[test]
    fn an_epoch_is_in_the_window_when_half_of_it_is() {
        let grid = Grid { start: Instant(0), n: 10 };
        assert_eq!(grid.within(Instant(30_000), Instant(60_000)), 1..2);
        assert_eq!(grid.within(Instant(45_000), Instant(75_000)), 1..2);
        assert_eq!(grid.within(Instant(46_000), Instant(76_000)), 2..3);
        assert_eq!(grid.within(Instant(-90_000), Instant(900_000)), 0..10);
    }

    proptest! {
        #[test]
        fn stretches_never_overlap_and_the_order_of_spans_is_free(
            raw in proptest::collection::vec((0_i64..400, -5_i64..200, 0_usize..8), 0..40), seed: u64,
        ) {
            let mut spans: Vec<Span> = raw.iter().map(|(start, length, stage)| Span {
                start: Instant(*start), end: Instant(start + length), mark: Mark::Stage(Stage::ALL[*stage]),
                label: String::new(), locator: Locator::Text { line: 1, column: 1 },
            }).collect();
            let once = flatten(&spans);
            prop_assert!(once.windows(2).all(|w| w[0].end <= w[1].start));
            prop_assert!(once.iter().all(|s| s.start < s.end));
            spans.sort_by_key(|s| (s.start.0 ^ i64::from_ne_bytes(seed.to_ne_bytes()), s.end));
            prop_assert_eq!(flatten(&spans), once);
        }
    }
}
