//! Agreement of a night at every shift, over the same epochs.

use super::{MAX_LAG, NoOffset, Shifted};
use counterpane_model::{Cell, Scheme};
use counterpane_stats::{Figure, LagCounts, Table, Undefined, accuracy, cohen_kappa, lag_counts};

/// Positions that are drawn together: 20 min, longer than most bouts of a stage (own choice).
const BLOCK: usize = 40;

/// Both sides as classes; `None` where nothing is said.
#[derive(Debug)]
pub(super) struct Classes {
    pub(super) n: usize,
    pub(super) reference: Vec<Option<usize>>,
    pub(super) device: Vec<Option<usize>>,
}

impl Classes {
    pub(super) fn of(scheme: Scheme, reference: &[Cell], device: &[Cell]) -> Classes {
        let class = |cell: &Cell| cell.stage().and_then(|stage| scheme.index(stage));
        Classes {
            n: scheme.classes().len(),
            reference: reference.iter().map(class).collect(),
            device: device.iter().map(class).collect(),
        }
    }

    /// Equal pairs of each lag, in blocks.
    pub(super) fn counts(&self, max_lag: usize) -> Result<LagCounts, Undefined> {
        lag_counts(&self.reference, &self.device, max_lag, BLOCK)
    }
}

/// The matrix of each lag from -`max_lag` to `max_lag`.
#[derive(Debug)]
pub(super) struct Lags {
    matrices: Vec<Vec<Vec<u64>>>,
}

impl Lags {
    /// # Errors
    /// [`Undefined::NTooSmall`] when no epoch keeps `max_lag` on either side.
    pub(super) fn of(classes: &Classes, max_lag: usize) -> Result<Lags, Undefined> {
        let n = classes.reference.len().min(classes.device.len());
        if n <= 2 * max_lag {
            return Err(Undefined::NTooSmall);
        }
        let inner = classes.reference.get(max_lag..n - max_lag).unwrap_or_default();
        let of_lag = |lag: usize| {
            let mut matrix = vec![vec![0_u64; classes.n]; classes.n];
            for (r, d) in inner.iter().zip(classes.device.iter().skip(lag)) {
                if let (Some(r), Some(d)) = (r, d)
                    && let Some(cell) = matrix.get_mut(*r).and_then(|row| row.get_mut(*d))
                {
                    *cell += 1;
                }
            }
            matrix
        };
        Ok(Lags { matrices: (0..=2 * max_lag).map(of_lag).collect() })
    }

    /// Equal pairs and pairs of each lag.
    fn counts(&self) -> Vec<(u64, u64)> {
        let of = |m: &Vec<Vec<u64>>| {
            let equal = m.iter().enumerate().filter_map(|(i, row)| row.get(i)).sum();
            (equal, m.iter().flatten().sum())
        };
        self.matrices.iter().map(of).collect()
    }

    /// Share of equal pairs of each lag; `None` for a lag without a pair.
    pub(super) fn shares(&self) -> Vec<Option<f64>> {
        self.counts().into_iter().map(share).collect()
    }

    /// Shares of several nights taken together.
    pub(super) fn together(nights: &[&Lags]) -> Vec<Option<f64>> {
        let mut sums = vec![(0, 0); 2 * MAX_LAG + 1];
        for night in nights {
            for (sum, own) in sums.iter_mut().zip(night.counts()) {
                *sum = (sum.0 + own.0, sum.1 + own.1);
            }
        }
        sums.into_iter().map(share).collect()
    }

    /// What the best lag gains in accuracy.
    pub(super) fn gain(&self) -> Option<f64> {
        let shares = self.shares();
        let at = |lag: i64| shares.get(usize::try_from(lag + self.max_lag()).ok()?).copied().flatten();
        Some(at(best(&shares)?)? - at(0)?)
    }

    fn max_lag(&self) -> i64 {
        (self.matrices.len() / 2) as i64
    }

    /// Returns a lag that is inside the search.
    pub(super) fn found(&self, lag: Option<i64>) -> Result<i64, NoOffset> {
        match lag {
            None => Err(NoOffset::TooShort),
            Some(lag) if lag.abs() == self.max_lag() => Err(NoOffset::AtTheEdge),
            Some(lag) => Ok(lag),
        }
    }

    /// Agreement at a lag.
    pub(super) fn shifted(&self, epochs: i64) -> Shifted {
        let table = usize::try_from(epochs + self.max_lag()).ok().and_then(|at| self.matrices.get(at));
        let table = table.and_then(|m| Table::from_counts(m.clone()).ok());
        let of = |figure: fn(&Table) -> Figure| table.as_ref().map_or(Err(Undefined::NoPairs), figure);
        Shifted { epochs, accuracy: of(accuracy), kappa: of(cohen_kappa) }
    }
}

fn share((equal, pairs): (u64, u64)) -> Option<f64> {
    (pairs > 0).then(|| equal as f64 / pairs as f64)
}

/// Returns the lag with the largest share; of equal ones the nearest to 0, then the earlier. `None` when a lag has no pair.
pub(super) fn best(shares: &[Option<f64>]) -> Option<i64> {
    let middle = (shares.len() / 2) as i64;
    let mut found: Option<(f64, i64)> = None;
    for (at, share) in shares.iter().enumerate() {
        let (share, lag) = ((*share)?, at as i64 - middle);
        let better = found.is_none_or(|(most, own)| share > most || (share == most && lag.abs() < own.abs()));
        if better {
            found = Some((share, lag));
        }
    }
    found.map(|(_, lag)| lag)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn classes(reference: &str, device: &str) -> Classes {
        let side = |s: &str| s.chars().map(|c| c.to_digit(10).map(|d| d as usize)).collect();
        Classes { n: 3, reference: side(reference), device: side(device) }
    }

    #[test]
    fn every_lag_is_counted_over_the_same_epochs() {
        let lags = Lags::of(&classes("00112200", "00011220"), 2).unwrap();
        assert_eq!(lags.counts().iter().map(|c| c.1).collect::<Vec<_>>(), [4; 5]);
        assert_eq!((best(&lags.shares()), lags.shifted(1).accuracy), (Some(1), Ok(1.0)));
        assert_eq!(lags.shifted(0).accuracy, Ok(0.5));
    }

    #[test]
    fn of_equal_lags_the_nearest_counts() {
        assert_eq!(best(&[Some(0.5); 5]), Some(0));
        assert_eq!(best(&[Some(0.5), Some(0.7), Some(0.2), Some(0.7), Some(0.7)]), Some(-1));
        assert_eq!(best(&[Some(0.5), None, Some(0.2)]), None);
    }

    #[test]
    fn the_edge_is_no_offset() {
        let lags = Lags::of(&classes("00112200", "00001122"), 2).unwrap();
        assert_eq!(lags.found(best(&lags.shares())), Err(NoOffset::AtTheEdge));
        assert!(Lags::of(&classes("0011", "0011"), 2).is_err());
    }

    #[test]
    fn it_is_the_lag_of_the_crate_of_statistics() {
        let mut x = 1_u32;
        let mut side = || -> Vec<Option<usize>> {
            let mut next = || {
                x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (x >> 24) as usize % 4
            };
            (0..300).map(|_| Some(next()).filter(|c| *c < 3)).collect()
        };
        for _ in 0..20 {
            let c = Classes { n: 3, reference: side(), device: side() };
            let theirs = counterpane_stats::clock_offset(&c.counts(10).unwrap()).unwrap();
            let ours = Lags::of(&c, 10).unwrap();
            assert_eq!(best(&ours.shares()), Some(theirs.best));
            assert_eq!(ours.shifted(theirs.best).accuracy, Ok(theirs.agreement));
        }
    }
}
