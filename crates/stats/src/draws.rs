//! Chance that a seed repeats, the same on every machine and on any number of threads.
//!
//! Each replicate has a generator of its own, PCG XSH RR 64/32 (O'Neill 2014), started from the seed and the number of
//! the replicate; numbers below a bound by Lemire 2019. Both are written down here or fixed by name, so that results do
//! not change with a library's way of sampling.

use crate::Figure;
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;

/// The generator of one replicate.
pub(crate) struct Draws(Pcg32);

impl Draws {
    pub(crate) fn new(seed: u64, replicate: u64) -> Draws {
        // Neighbouring replicates start far apart: the seed and the number are mixed before use.
        Draws(Pcg32::new(mixed(seed ^ mixed(replicate)), replicate))
    }

    /// Returns a number from 0 to `bound` - 1, each equally likely.
    pub(crate) fn below(&mut self, bound: u32) -> u32 {
        below(bound, || self.0.next_u32())
    }

    /// Returns a number above 0 and below 1.
    pub(crate) fn share(&mut self) -> f64 {
        (f64::from(self.0.next_u32()) + 0.5) / 4_294_967_296.0
    }
}

/// Returns a whole number of `0..bound`, each as likely as any other, from a source of 32 random bits; 0 when `bound` is 0.
///
/// Source: Lemire 2019, Fast random integer generation in an interval, ACM Transactions on Modeling and Computer
/// Simulation 29(1), article 3 (from memory).
///
/// ```
/// # use counterpane_stats::below;
/// // The upper half of the product with the bound: 6 * 2^30 / 2^32 = 1.5.
/// assert_eq!(below(6, || 1 << 30), 1);
/// ```
pub fn below(bound: u32, mut next: impl FnMut() -> u32) -> u32 {
    if bound == 0 {
        return 0;
    }
    loop {
        let product = u64::from(next()) * u64::from(bound);
        let low = product as u32;
        // The low half says whether this draw belongs to the few that would be too many; the division that settles it is
        // hardly ever needed.
        if low >= bound || low >= bound.wrapping_neg() % bound {
            return (product >> 32) as u32;
        }
    }
}

/// The finaliser of SplitMix64 (Steele, Lea and Flood 2014).
fn mixed(value: u64) -> u64 {
    let z = value.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Returns numbers above 0 and below 1, each as likely as another, one at each call: those of one replicate of a seed.
///
/// ```
/// let mut one = counterpane_stats::shares(1, 0);
/// let mut again = counterpane_stats::shares(1, 0);
/// assert_eq!([one(), one()], [again(), again()]);
/// ```
pub fn shares(seed: u64, replicate: u64) -> impl FnMut() -> f64 {
    let mut draws = Draws::new(seed, replicate);
    move || draws.share()
}

/// What resampling is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Resampling {
    /// Number of replicates.
    pub replicates: u32,
    /// The seed; the same seed gives the same replicates.
    pub seed: u64,
    /// On how many threads at once; does not change the result.
    pub threads: usize,
}

/// The values of a statistic over resamples.
#[derive(Clone, Debug, PartialEq)]
pub struct Replicates {
    /// The values that are defined, in the order of the replicates.
    pub values: Vec<f64>,
    /// How many replicates had no value.
    pub dropped: usize,
}

impl Replicates {
    /// Takes the figures of all replicates apart.
    pub(crate) fn of(figures: &[Figure]) -> Replicates {
        let values: Vec<f64> = figures.iter().copied().flatten().collect();
        Replicates { dropped: figures.len() - values.len(), values }
    }

    /// Returns whether more than 5 % of the replicates had no value: then no interval is made of the others.
    #[must_use]
    pub fn too_many_dropped(&self) -> bool {
        self.dropped * 20 > self.dropped + self.values.len()
    }
}

/// Runs the replicates on threads; `scratch` makes what each thread needs for itself.
pub(crate) fn replicates<S>(
    asked: Resampling,
    scratch: impl Fn() -> S + Sync,
    one: impl Fn(&mut S, &mut Draws) -> Figure + Sync,
) -> Replicates {
    let mut figures = replicated(asked, 1, scratch, |own, draws, row| row[0] = one(own, draws));
    Replicates::of(&figures.pop().unwrap_or_default())
}

/// Runs the replicates of `width` statistics on threads; `one` fills in what one resample gives for each. Returns the
/// figures of each statistic, in the order of the replicates.
pub(crate) fn replicated<S>(
    asked: Resampling,
    width: usize,
    scratch: impl Fn() -> S + Sync,
    one: impl Fn(&mut S, &mut Draws, &mut [Figure]) + Sync,
) -> Vec<Vec<Figure>> {
    let total = asked.replicates as usize;
    let width = width.max(1);
    let mut figures: Vec<Figure> = vec![Ok(0.0); total * width];
    let share = total.div_ceil(asked.threads.max(1)).max(1);
    let run = |part: usize, rows: &mut [Figure]| {
        let mut own = scratch();
        for (at, row) in rows.chunks_mut(width).enumerate() {
            one(&mut own, &mut Draws::new(asked.seed, (part * share + at) as u64), row);
        }
    };
    if share >= total {
        // One thread's work is done here: a caller with many nights shares them among threads itself.
        run(0, &mut figures);
    } else {
        std::thread::scope(|scope| {
            for (part, rows) in figures.chunks_mut(share * width).enumerate() {
                let run = &run;
                scope.spawn(move || run(part, rows));
            }
        });
    }
    (0..width).map(|of| figures.iter().skip(of).step_by(width).copied().collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_number_below_a_bound_is_equally_likely() {
        let mut draws = Draws::new(1, 0);
        let mut counts = [0_i32; 7];
        for _ in 0..70_000 {
            counts[draws.below(7) as usize] += 1;
        }
        // Six standard deviations of a count of 70,000 draws with share 1/7: 6 * 92.6.
        assert!(counts.iter().all(|c| (c - 10_000).abs() < 556), "{counts:?}");
    }

    #[test]
    fn neighbouring_replicates_start_apart() {
        let starts: std::collections::BTreeSet<u32> = (0..1000).map(|r| Draws::new(5, r).0.next_u32() >> 12).collect();
        assert!(starts.len() > 990, "{} of 1000 starts differ", starts.len());
    }

    #[test]
    fn the_number_of_threads_changes_nothing() {
        let of = |threads| {
            let asked = Resampling { replicates: 101, seed: 9, threads };
            replicates(asked, || (), |(), draws| Ok(draws.share()))
        };
        assert_eq!(of(1), of(4));
        assert_eq!(of(1), of(200));
        assert_eq!(of(0).values.len(), 101);
    }
}
