//! How well rows follow each other on a line of time: the evidence for units, ends and the order of day and month.

/// What the neighbours of rows say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Fit {
    /// Rows with a start and an end.
    pub(super) rows: usize,
    /// Rows that end at or before their start.
    pub(super) backwards: usize,
    /// Neighbours that were looked at: a pause of hours between nights is no evidence.
    pub(super) pairs: usize,
    /// Neighbours of which the first ends where the next begins.
    pub(super) touching: usize,
    /// Neighbours of which the first ends after the next begins.
    pub(super) overlapping: usize,
}

impl Fit {
    /// Says whether nearly every row ends where the next begins.
    pub(super) fn is_close(&self) -> bool {
        self.is_possible() && self.pairs > 0 && self.touching * 10 >= self.pairs * 9
    }

    /// Says whether so many rows end exactly where the next begins that it cannot be chance, although others have
    /// gaps between them.
    pub(super) fn often_touches(&self) -> bool {
        self.is_possible() && self.overlapping == 0 && self.touching >= 3 && self.touching * 5 >= self.pairs
    }

    /// Says whether nothing contradicts it: rows have a length and do not lie over each other.
    pub(super) fn is_possible(&self) -> bool {
        self.rows > 0 && self.backwards * 20 <= self.rows && self.overlapping * 10 <= self.pairs
    }
}

/// A pause between nights, in seconds.
const PAUSE: f64 = 3.0 * 3600.0;

/// Compares each row with the next one of its group; `slack` is by how many seconds rounding may part them.
pub(super) fn fit(groups: &[usize], starts: &[Option<f64>], ends: &[Option<f64>], slack: f64) -> Fit {
    let mut rows = sorted(groups, starts, ends);
    let mut out = Fit { rows: rows.len(), ..Fit::default() };
    // The same row twice says nothing new.
    rows.dedup();
    out.backwards = rows.iter().filter(|(_, start, end)| end <= start).count();
    rows.retain(|(_, start, end)| end > start);
    // What rounding may explain is less than what lasts: lengths of no time at all would fit anything.
    let mut lengths: Vec<f64> = rows.iter().map(|(_, start, end)| end - start).collect();
    lengths.sort_by(f64::total_cmp);
    let slack = slack.min(lengths.get(lengths.len() / 2).copied().unwrap_or(0.0) / 4.0);
    for pair in rows.windows(2) {
        let ((group, _, end), (next_group, next, _)) = (pair[0], pair[1]);
        let gap = next - end;
        if group != next_group || gap > PAUSE {
            continue;
        }
        out.pairs += 1;
        out.touching += usize::from(gap.abs() <= slack);
        out.overlapping += usize::from(gap < -slack);
    }
    out
}

fn sorted(groups: &[usize], starts: &[Option<f64>], ends: &[Option<f64>]) -> Vec<(usize, f64, f64)> {
    let mut rows: Vec<(usize, f64, f64)> =
        groups.iter().zip(starts).zip(ends).filter_map(|((g, s), e)| Some((*g, (*s)?, (*e)?))).collect();
    rows.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2)));
    rows
}

/// Returns how much of the time from each start to the next one lengths fill; pauses between nights do not count.
pub(super) fn share(groups: &[usize], starts: &[Option<f64>], lengths: &[Option<f64>]) -> f64 {
    let rows = sorted(groups, starts, lengths);
    let near = rows.windows(2).filter(|p| p[0].0 == p[1].0 && p[1].1 - p[0].1 - p[0].2 <= PAUSE);
    let (filled, all) = near.fold((0.0, 0.0), |(f, a), p| (f + p[0].2, a + p[1].1 - p[0].1));
    if all > 0.0 { filled / all } else { 0.0 }
}

/// Counts neighbours that lie on both sides of a midnight and within six hours: a wrong order of day and month
/// parts them by weeks.
pub(super) fn midnights(groups: &[usize], starts: &[Option<f64>]) -> usize {
    let rows = sorted(groups, starts, starts);
    let day = |s: f64| (s / 86_400.0).floor();
    rows.windows(2)
        .filter(|p| p[0].0 == p[1].0 && day(p[0].1) != day(p[1].1) && p[1].1 - p[0].1 <= 6.0 * 3600.0)
        .count()
}

/// Returns the step in seconds that nearly all neighbours have, and how many of how many.
pub(super) fn usual_step(groups: &[usize], starts: &[Option<f64>]) -> Option<(f64, usize, usize)> {
    let rows = sorted(groups, starts, starts);
    let mut steps: Vec<f64> = rows.windows(2).filter(|p| p[0].0 == p[1].0).map(|p| p[1].1 - p[0].1).collect();
    steps.retain(|s| *s <= PAUSE);
    steps.sort_by(f64::total_cmp);
    let middle = *steps.get(steps.len() / 2)?;
    let same = steps.iter().filter(|s| (**s - middle).abs() < 0.0005).count();
    (middle > 0.0 && steps.len() >= 8 && same * 10 >= steps.len() * 9).then_some((middle, same, steps.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some(values: &[f64]) -> Vec<Option<f64>> {
        values.iter().copied().map(Some).collect()
    }

    #[test]
    fn rows_that_touch_are_a_close_fit_in_any_order() {
        let found = fit(&[0; 3], &some(&[60.0, 0.0, 90.0]), &some(&[90.0, 60.0, 120.0]), 1.0);
        assert_eq!((found.pairs, found.touching, found.overlapping), (2, 2, 0));
        assert!(found.is_close());
    }

    #[test]
    fn rows_that_lie_over_each_other_are_impossible() {
        assert!(!fit(&[0; 3], &some(&[0.0, 10.0, 20.0]), &some(&[60.0, 70.0, 80.0]), 1.0).is_possible());
    }

    #[test]
    fn a_pause_between_nights_is_no_evidence() {
        let found = fit(&[0; 2], &some(&[0.0, 90_000.0]), &some(&[60.0, 90_060.0]), 1.0);
        assert_eq!(found.pairs, 0);
        assert!(!found.is_close() && found.is_possible());
    }

    #[test]
    fn a_midnight_tells_the_order_of_day_and_month() {
        let day = 86_400.0;
        assert_eq!(midnights(&[0; 2], &some(&[day - 600.0, day + 600.0])), 1);
        assert_eq!(midnights(&[0; 2], &some(&[day - 600.0, 31.0 * day + 600.0])), 0);
    }

    #[test]
    fn equal_steps_are_seen_although_nights_are_apart() {
        let starts: Vec<f64> = (0..12).map(|n| f64::from(n) * 30.0 + if n > 8 { 86_400.0 } else { 0.0 }).collect();
        assert_eq!(usual_step(&[0; 12], &some(&starts)), Some((30.0, 10, 10)));
    }
}
