//! By how many steps one series runs late against another, judged by how well they agree.

use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "clock_offset",
    name: "Clock offset",
    meaning: "By how many epochs the device's clock runs late (or early, when negative) against the reference, judged by the shift at which \
              they agree best.",
    formula: "the lag L in -M..=M that maximises the share of positions t in [M, n - M) with ref_t = dev_(t+L), the same positions for \
              every L; of equal shares the smallest |L|, then the earlier; interval: percentiles of the best lag when blocks of positions \
              are drawn anew with replacement",
    range: "-M to M, M = 10 epochs unless said otherwise",
    undefined: "the series are too short, a lag has no pair; at the boundary of the search no offset is found",
    caution: "The best of many lags agrees at least as well as no shift, so agreement after such a shift is optimistic. Sleep cycles \
              make false optima near 90 min: keep M small. A shift of exactly one hour is a zone read wrongly, not a clock.",
    source: "Cross-correlation over lags: common practice, no source; blocks drawn anew: Carlstein 1986, Annals of Statistics 14(3), \
             1171-1179",
};

/// Where two series agree best.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClockOffset {
    /// The lag, in steps: positive when the other side is late.
    pub best: i64,
    /// Share of equal pairs at that lag, 0 to 1.
    pub agreement: f64,
    /// Share of equal pairs without a shift, over the same positions.
    pub unshifted: f64,
    /// Whether the best lag is the outermost one that was tried: then no offset is found.
    pub at_boundary: bool,
}

/// Equal pairs and pairs of each lag from `-max_lag` to `max_lag`, in blocks of positions.
#[derive(Debug, PartialEq)]
pub struct LagCounts {
    max_lag: usize,
    /// For each block, for each lag: equal pairs, pairs.
    blocks: Vec<Vec<(u32, u32)>>,
}

/// Counts equal pairs for every lag. `None` in a series is a position that says nothing.
///
/// `reference` and `other` are of one length n; positions `[max_lag, n - max_lag)` are cut into blocks of `block`
/// positions, the last one shorter.
///
/// # Errors
/// [`Undefined::NTooSmall`] when no position is left.
pub fn lag_counts<T: PartialEq>(
    reference: &[Option<T>],
    other: &[Option<T>],
    max_lag: usize,
    block: usize,
) -> Result<LagCounts, Undefined> {
    let n = reference.len().min(other.len());
    if n <= 2 * max_lag {
        return Err(Undefined::NTooSmall);
    }
    let positions: Vec<usize> = (max_lag..n - max_lag).collect();
    let of_lag = |block: &[usize], lag: usize| {
        let mut counts = (0, 0);
        for t in block {
            // The lag counts from -max_lag, and t is at least max_lag: the sum never falls below 0.
            if let (Some(a), Some(b)) = (&reference[*t], &other[t + lag - max_lag]) {
                counts = (counts.0 + u32::from(a == b), counts.1 + 1);
            }
        }
        counts
    };
    let of_block = |block: &[usize]| (0..=2 * max_lag).map(|lag| of_lag(block, lag)).collect();
    Ok(LagCounts { max_lag, blocks: positions.chunks(block.max(1)).map(of_block).collect() })
}

impl LagCounts {
    /// Returns the counts of several nights taken together.
    ///
    /// # Errors
    /// [`Undefined::NoPairs`] without a night, [`Undefined::OutsideRange`] when they were not counted for the same lags.
    pub fn together(nights: &[&LagCounts]) -> Result<LagCounts, Undefined> {
        let max_lag = nights.first().ok_or(Undefined::NoPairs)?.max_lag;
        if nights.iter().any(|n| n.max_lag != max_lag) {
            return Err(Undefined::OutsideRange);
        }
        Ok(LagCounts { max_lag, blocks: nights.iter().flat_map(|n| n.blocks.iter().cloned()).collect() })
    }
}

/// Returns the lag at which two series agree best.
///
/// Source: see the statistic `clock_offset`.
///
/// ```
/// # use counterpane_stats::{clock_offset, lag_counts};
/// let series = |s: &str| s.chars().map(Some).collect::<Vec<_>>();
/// // The second series says everything one step late: 3 of 6 pairs agree without a shift, all with it.
/// let counts = lag_counts(&series("AABBCCDD"), &series("AAABBCCD"), 1, 40)?;
/// let offset = clock_offset(&counts)?;
/// assert_eq!((offset.best, offset.agreement), (1, 1.0));
/// assert_eq!(offset.unshifted, 3.0 / 6.0);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// [`Undefined::NoPairs`] when a lag has no pair.
pub fn clock_offset(counts: &LagCounts) -> Result<ClockOffset, Undefined> {
    let all: Vec<usize> = (0..counts.blocks.len()).collect();
    let shares = shares(counts, &all).ok_or(Undefined::NoPairs)?;
    let best = best(&shares);
    let (middle, lag) = (counts.max_lag, signed(best, counts.max_lag));
    let share = |i: usize| shares.get(i).copied().ok_or(Undefined::NoPairs);
    Ok(ClockOffset {
        best: lag,
        agreement: share(best)?,
        unshifted: share(middle)?,
        at_boundary: middle > 0 && lag.unsigned_abs() as usize == middle,
    })
}

/// Returns the 95 % interval of the best lag, lower and upper end in steps, from `draws` resamples of whole blocks.
///
/// `next` gives whole numbers below its argument: the only source of chance, so that a seed repeats the result.
///
/// # Errors
/// [`Undefined::NTooSmall`] for fewer than five blocks, [`Undefined::NoPairs`] when every resample lacks pairs.
pub fn clock_offset_interval(
    counts: &LagCounts,
    draws: usize,
    mut next: impl FnMut(usize) -> usize,
) -> Result<(i64, i64), Undefined> {
    let n = counts.blocks.len();
    if n < 5 {
        return Err(Undefined::NTooSmall);
    }
    let mut lags: Vec<i64> = (0..draws)
        .filter_map(|_| {
            let drawn: Vec<usize> = (0..n).map(|_| next(n)).collect();
            shares(counts, &drawn).map(|s| signed(best(&s), counts.max_lag))
        })
        .collect();
    lags.sort_unstable();
    // Whole steps: the values at the ranks themselves, widening outward.
    let last = lags.len().checked_sub(1).ok_or(Undefined::NoPairs)?;
    let low = last * 25 / 1000;
    lags.get(low).copied().zip(lags.get(last - low).copied()).ok_or(Undefined::NoPairs)
}

/// Returns the share of equal pairs of each lag over some blocks; `None` when a lag has no pair.
fn shares(counts: &LagCounts, blocks: &[usize]) -> Option<Vec<f64>> {
    let mut sums = vec![(0_u32, 0_u32); 2 * counts.max_lag + 1];
    for block in blocks.iter().filter_map(|b| counts.blocks.get(*b)) {
        for (sum, (equal, pairs)) in sums.iter_mut().zip(block) {
            *sum = (sum.0 + equal, sum.1 + pairs);
        }
    }
    sums.into_iter().map(|(equal, pairs)| (pairs > 0).then(|| f64::from(equal) / f64::from(pairs))).collect()
}

/// Returns the index of the largest share; of equal ones, that nearest to the middle, then the earlier.
fn best(shares: &[f64]) -> usize {
    let middle = shares.len() / 2;
    let mut best = middle;
    for i in (0..shares.len()).map(|k| if k % 2 == 1 { middle - k.div_ceil(2) } else { middle + k / 2 }) {
        if shares[i] > shares[best] {
            best = i;
        }
    }
    best
}

fn signed(index: usize, max_lag: usize) -> i64 {
    index as i64 - max_lag as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    const REF: &str = "WWWWLLLLDDDDLLRRRRLLWLLDDLLRRRRRLLWWLLLLRRWW";

    fn series(letters: &str) -> Vec<Option<char>> {
        letters.chars().map(|c| (c != '.').then_some(c)).collect()
    }

    fn check(other: &str, max_lag: usize, expected: (i64, f64, f64, bool)) {
        let counts = lag_counts(&series(REF), &series(other), max_lag, 8).unwrap();
        let o = clock_offset(&counts).unwrap();
        assert_eq!((o.best, o.agreement, o.unshifted, o.at_boundary), expected);
    }

    #[test]
    fn five_nights_worked_by_hand() {
        check(REF, 4, (0, 1.0, 1.0, false));
        check("WWWWWWWLLLLDDDDLLRRRRLLWLLDDLLRRRRRLLWWLLLLR", 5, (3, 1.0, 9.0 / 34.0, false));
        check("WWLLLLDDDDLLRRRRLLWLLDDLLRRRRRLLWWLLLLRRWWWW", 5, (-2, 1.0, 11.0 / 34.0, false));
        // One stage all night: every lag ties, and the smallest shift wins.
        check(&"L".repeat(44), 5, (0, 16.0 / 34.0, 16.0 / 34.0, false));
        // The true shift lies beyond the search.
        check("WWWWWWWWWWLLLLDDDDLLRRRRLLWLLDDLLRRRRRLLWWLL", 3, (3, 11.0 / 38.0, 9.0 / 38.0, true));
    }

    #[test]
    fn positions_that_say_nothing_are_no_pair() {
        let other = REF.replace('D', ".");
        check(&other, 4, (0, 1.0, 1.0, false));
        let silent = lag_counts(&series(REF), &series(&".".repeat(44)), 4, 8).unwrap();
        assert_eq!(clock_offset(&silent), Err(Undefined::NoPairs));
        assert!(lag_counts(&series("WWWW"), &series("WWWW"), 2, 8).is_err());
    }

    #[test]
    fn the_interval_of_a_sure_shift_is_a_point_and_needs_five_blocks() {
        let late = "WWWWWWWLLLLDDDDLLRRRRLLWLLDDLLRRRRRLLWWLLLLR";
        let mut state = 7_usize;
        let mut next = |n: usize| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % n
        };
        let counts = lag_counts(&series(&REF.repeat(20)), &series(&late.repeat(20)), 5, 40).unwrap();
        assert_eq!(clock_offset_interval(&counts, 200, &mut next), Ok((3, 3)));
        let short = lag_counts(&series(REF), &series(late), 5, 40).unwrap();
        assert_eq!(clock_offset_interval(&short, 200, next), Err(Undefined::NTooSmall));
    }

    #[test]
    fn nights_taken_together_weigh_by_their_pairs() {
        let counts = |other: &str, max_lag| {
            let side = |s: &str| s.chars().map(Some).collect::<Vec<_>>();
            lag_counts(&side("AABBCCDDAABBCCDD"), &side(other), max_lag, 40).unwrap()
        };
        let (late, early) = (counts("AAABBCCDDAABBCCD", 2), counts("ABBCCDDAABBCCDDD", 2));
        let both = clock_offset(&LagCounts::together(&[&late, &late, &early]).unwrap()).unwrap();
        assert_eq!((both.best, both.agreement > both.unshifted), (1, true));
        assert_eq!(LagCounts::together(&[&late]).map(|c| clock_offset(&c)), Ok(clock_offset(&late)));
        assert_eq!(LagCounts::together(&[]).err(), Some(Undefined::NoPairs));
        assert_eq!(LagCounts::together(&[&late, &counts("AAABBCCDDAABBCCD", 1)]).err(), Some(Undefined::OutsideRange));
    }
}
