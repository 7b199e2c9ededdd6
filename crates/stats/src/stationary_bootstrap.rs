//! A night drawn anew in blocks of random length.

use crate::draws::{Replicates, Resampling, replicates};
use crate::night_draws::NightDraws;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "stationary_bootstrap",
    name: "Stationary bootstrap of one night",
    meaning: "The values of a statistic over nights drawn anew from one night: blocks of pairs that start anywhere, have a geometric length, \
              and wrap around at the end.",
    formula: "blocks start at a uniform position, lengths geometric with the given mean, until n pairs are drawn; generator PCG XSH RR \
              64/32, one for each replicate",
    range: "those of the statistic",
    undefined: "there is no pair; replicates in which the statistic is undefined are dropped and counted",
    caution: "Says how well this night pins a number down, and nothing about other nights or people.",
    source: "Politis and Romano 1994, Journal of the American Statistical Association 89, 1303-1313",
};

/// Returns a statistic over resamples of the pairs of one night, drawn in blocks of mean length `block`.
///
/// `pairs` are `(reference, other)` classes, below `classes`, in the order of time. Two devices with pairs at the same
/// epochs are drawn alike when seed and block are the same, so their replicates may be subtracted one by one. Source:
/// Politis and Romano 1994, Journal of the American Statistical Association 89, 1303-1313.
///
/// ```
/// # use counterpane_stats::{accuracy, stationary_bootstrap, Resampling};
/// // All pairs agree, so all resamples do.
/// let asked = Resampling { replicates: 20, seed: 1, threads: 2 };
/// let all = stationary_bootstrap(2, &[(0, 0), (1, 1), (0, 0)], 2.0, asked, accuracy)?;
/// assert_eq!((all.values, all.dropped), (vec![1.0; 20], 0));
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// [`Undefined::NoPairs`] without a pair, [`Undefined::OutsideRange`] for a class that is not below `classes`, or more
/// pairs than 2^31.
pub fn stationary_bootstrap(
    classes: usize,
    pairs: &[(usize, usize)],
    block: f64,
    asked: Resampling,
    statistic: impl Fn(&Table) -> Figure + Sync,
) -> Result<Replicates, Undefined> {
    let night = NightDraws::new(classes, pairs, block)?;
    Ok(replicates(
        asked,
        || night.scratch(),
        |own, draws| {
            night.draw(draws, own);
            statistic(&own.table)
        },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::accuracy;

    fn night() -> Vec<(usize, usize)> {
        (0..960).map(|t| (t / 40 % 3, (t + t / 7 % 5) / 40 % 3)).collect()
    }

    #[test]
    fn every_resample_has_as_many_pairs_as_the_night() {
        let asked = Resampling { replicates: 50, seed: 3, threads: 1 };
        let n = stationary_bootstrap(3, &night(), 20.0, asked, |t| Ok(t.n() as f64)).unwrap();
        assert_eq!(n.values, [960.0; 50]);
    }

    #[test]
    fn a_seed_repeats_the_result_on_any_number_of_threads_and_another_one_does_not() {
        let of = |seed, threads| {
            let asked = Resampling { replicates: 60, seed, threads };
            stationary_bootstrap(3, &night(), 12.5, asked, accuracy).unwrap()
        };
        assert_eq!(of(7, 1), of(7, 3));
        assert_ne!(of(7, 1), of(8, 1));
    }

    #[test]
    fn blocks_have_the_mean_length_that_was_asked_for() {
        // With blocks of one the variance of a share is p (1 - p) / n; here p = 1/2 and n = 960.
        let halves: Vec<(usize, usize)> = (0..960).map(|t| (0, usize::from(t >= 480))).collect();
        let variance = |block| {
            let asked = Resampling { replicates: 4000, seed: 11, threads: 2 };
            let of = stationary_bootstrap(2, &halves, block, asked, accuracy).unwrap();
            of.values.iter().map(|v| (v - 0.5).powi(2)).sum::<f64>() / 4000.0
        };
        let ratio = variance(1.0) / (0.25 / 960.0);
        assert!((ratio - 1.0).abs() < 0.12, "{ratio}");
        // Geometric blocks of mean 10 within one half: E(L^2)/E(L) = 2 * 10 - 1 times as much, less at the two seams.
        let ratio = variance(10.0) / (0.25 / 960.0);
        assert!((ratio - 19.0).abs() < 3.0, "{ratio}");
    }

    #[test]
    fn a_statistic_that_is_undefined_is_dropped_and_counted() {
        let asked = Resampling { replicates: 30, seed: 1, threads: 1 };
        let of = stationary_bootstrap(1, &[(0, 0)], 1.0, asked, crate::cohen_kappa).unwrap();
        assert_eq!((of.values.len(), of.dropped, of.too_many_dropped()), (0, 30, true));
        assert_eq!(stationary_bootstrap(1, &[], 1.0, asked, accuracy), Err(Undefined::NoPairs));
        assert_eq!(stationary_bootstrap(1, &[(0, 1)], 1.0, asked, accuracy), Err(Undefined::OutsideRange));
    }
}
