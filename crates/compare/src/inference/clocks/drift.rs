//! An offset that grows over the night.
//!
//! A quartz clock drifts by a second or two in a night (common practice, no source). What drifts by more than an epoch has dropped samples,
//! or was resampled wrongly: it is told as a fault of the data, and nothing is corrected.

use super::MAX_LAG;
use super::lags::Classes;
use counterpane_stats::{Resampling, shares};

/// Drifts are tried in steps of this many epochs over the night.
const STEP: i64 = 2;
/// The largest drift that is tried, epochs over the night.
const MOST: i64 = 10;
/// Positions that are drawn together: 20 min.
const BLOCK: usize = 40;
/// Resamples for the interval.
const DRAWS: u32 = 200;
/// So much better than the best shift without a drift must it be.
const GAIN: f64 = 0.02;

/// A drift over the night.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drift {
    /// By how many epochs the device is later at the end of the night than at its start.
    pub epochs: i64,
    /// 95 % interval, from blocks of 20 min drawn anew.
    pub interval: (i64, i64),
}

/// A shift in the middle of the night, and a drift over it.
type Way = (i64, i64);

/// Returns the drift at which both sides agree best, where its interval leaves out 0 and it gains enough.
pub(super) fn drift(classes: &Classes, asked: Resampling) -> Option<Drift> {
    let n = classes.reference.len().min(classes.device.len());
    let edge = MAX_LAG + MOST as usize / 2;
    // A night of less than four blocks has no drift to speak of.
    if n < 2 * edge + 4 * BLOCK {
        return None;
    }
    let counts = counts(classes, (edge, n - edge));
    let all: Vec<usize> = (0..counts.len()).collect();
    let (best, share) = best(&counts, &all, |_| true)?;
    let (_, without) = self::best(&counts, &all, |(_, drift)| drift == 0)?;
    if best.1 == 0 || share - without < GAIN {
        return None;
    }
    let mut found: Vec<i64> = (0..u64::from(DRAWS))
        .filter_map(|r| {
            let mut share = shares(asked.seed, r);
            let drawn: Vec<usize> =
                all.iter().map(|_| ((share() * all.len() as f64) as usize).min(all.len() - 1)).collect();
            self::best(&counts, &drawn, |_| true).map(|(way, _)| way.1)
        })
        .collect();
    found.sort_unstable();
    let at = |rank: usize| found.get(rank).copied();
    let last = found.len().checked_sub(1)?;
    let interval = (at(last * 25 / 1000)?, at(last - last * 25 / 1000)?);
    (interval.0 > 0 || interval.1 < 0).then_some(Drift { epochs: best.1, interval })
}

/// Equal pairs and pairs of every way, block by block.
fn counts(classes: &Classes, (from, until): (usize, usize)) -> Vec<Vec<(Way, (u32, u32))>> {
    let positions: Vec<usize> = (from..until).collect();
    let middle = (from + until) as i64 / 2;
    let length = (until - from) as i64;
    let of_way = |block: &[usize], way: Way| {
        let mut counts = (0, 0);
        for t in block {
            // The drift is 0 in the middle, and half of itself at either end.
            let late = way.0 + (way.1 * (*t as i64 - middle)).div_euclid(length);
            let other = usize::try_from(*t as i64 + late).ok().and_then(|at| classes.device.get(at));
            if let (Some(Some(a)), Some(Some(b))) = (classes.reference.get(*t), other) {
                counts = (counts.0 + u32::from(a == b), counts.1 + 1);
            }
        }
        (way, counts)
    };
    let lag = MAX_LAG as i64;
    let ways: Vec<Way> =
        (-lag..=lag).flat_map(|shift| (-MOST..=MOST).step_by(STEP as usize).map(move |drift| (shift, drift))).collect();
    positions.chunks(BLOCK).map(|block| ways.iter().map(|way| of_way(block, *way)).collect()).collect()
}

/// The way with the largest share; of equal ones the smallest drift, then the smallest shift.
fn best(counts: &[Vec<(Way, (u32, u32))>], blocks: &[usize], wanted: fn(Way) -> bool) -> Option<(Way, f64)> {
    let ways = counts.first()?.len();
    let mut sums = vec![(0_u32, 0_u32); ways];
    for block in blocks.iter().filter_map(|b| counts.get(*b)) {
        for (sum, (_, own)) in sums.iter_mut().zip(block) {
            *sum = (sum.0 + own.0, sum.1 + own.1);
        }
    }
    let shares = counts.first()?.iter().zip(sums).filter(|((way, _), (_, pairs))| wanted(*way) && *pairs > 0);
    let shares = shares.map(|((way, _), (equal, pairs))| (*way, f64::from(equal) / f64::from(pairs)));
    shares.min_by(|a, b| b.1.total_cmp(&a.1).then((a.0.1.abs(), a.0.0.abs()).cmp(&(b.0.1.abs(), b.0.0.abs()))))
}

#[cfg(test)]
mod tests {
    use super::*;

    const ASKED: Resampling = Resampling { replicates: 200, seed: 3, threads: 1 };

    /// A night of 900 epochs of which the device says at `t` what was true `late(t)` earlier.
    fn night(late: fn(usize) -> usize) -> Classes {
        let bouts: Vec<usize> =
            (0..60).flat_map(|i: usize| std::iter::repeat_n(i * 7 % 4, 12 + i * 11 % 23)).take(900).collect();
        let device = (0..bouts.len()).map(|t| bouts.get(t.saturating_sub(late(t))).copied()).collect();
        Classes { n: 4, reference: bouts.iter().map(|c| Some(*c)).collect(), device }
    }

    #[test]
    fn a_night_that_loses_four_minutes_is_found() {
        let found = drift(&night(|t| t * 8 / 900), ASKED).unwrap();
        assert!((6..=10).contains(&found.epochs) && found.interval.0 > 0, "{found:?}");
    }

    #[test]
    fn a_steady_offset_is_no_drift() {
        assert_eq!(drift(&night(|_| 5), ASKED), None);
        assert_eq!(drift(&night(|_| 0), ASKED), None);
    }

    #[test]
    fn a_quarter_of_a_minute_is_not_told() {
        assert_eq!(drift(&night(|t| usize::from(t > 700)), ASKED), None);
    }
}
