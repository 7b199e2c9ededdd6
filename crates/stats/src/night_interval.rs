//! The interval of a statistic within one night.

use crate::draws::Resampling;
use crate::{
    Figure, Scale, Statistic, Table, Undefined, atanh_interval, block_length, effective_n, logit_interval,
    stationary_bootstrap, wilson_interval_of_share,
};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "night_interval",
    name: "Interval within one night, 95 %, approximate",
    meaning: "How well one night pins a number down.",
    formula: "the standard deviation of the statistic over the stationary bootstrap, divided by the slope of the logit (shares) or Fisher's \
              scale (coefficients) at the estimate; estimate +- t times it on that scale, t with n/b - 1 degrees of freedom; b is twice the \
              largest block length of the agreement and of each class's hits, at most n/5. For a share of 0 or 1: Wilson with the effective \
              number of epochs",
    range: "those of the statistic",
    undefined: "there is no pair, the statistic is undefined or at the end of its range, there are fewer than ten pairs, or more than 5 % of \
                the resamples have no value",
    caution: "It says nothing about other nights or other people. A stage with fewer than five bouts in the reference should get no interval.",
    source: "Politis and Romano 1994, Journal of the American Statistical Association 89, 1303-1313; the scale, t and twice the block \
             length are a convention of this program, after simulations",
};

/// An interval within one night.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NightInterval {
    /// The statistic of the night.
    pub estimate: f64,
    /// Lower and upper limit.
    pub interval: (f64, f64),
    /// Mean block length that was used, in epochs.
    pub block: f64,
}

/// Returns a statistic of one night with its interval; `pairs` are `(reference, other)` classes in the order of time.
///
/// `scale` is [`Scale::Share`] or [`Scale::Coefficient`]; [`Scale::Plain`] makes the interval without a change of scale.
///
/// ```
/// # use counterpane_stats::{accuracy, night_interval, Resampling, Scale};
/// let pairs: Vec<(usize, usize)> = (0..300).map(|t| (t / 30 % 2, (t + t / 50) / 30 % 2)).collect();
/// let asked = Resampling { replicates: 2000, seed: 1, threads: 2 };
/// let night = night_interval(2, &pairs, Scale::Share, asked, accuracy)?;
/// assert!(night.interval.0 < night.estimate && night.estimate < night.interval.1);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn night_interval(
    classes: usize,
    pairs: &[(usize, usize)],
    scale: Scale,
    asked: Resampling,
    statistic: impl Fn(&Table) -> Figure + Sync,
) -> Result<NightInterval, Undefined> {
    let n = pairs.len() as f64;
    let block = night_block(classes, pairs)?;
    let sides = |side: fn(&(usize, usize)) -> usize| pairs.iter().map(|p| Some(side(p))).collect::<Vec<_>>();
    let table = Table::from_pairs(classes, &sides(|p| p.0), &sides(|p| p.1)).map_err(|_| Undefined::OutsideRange)?;
    let estimate = statistic(&table)?;
    if scale == Scale::Share && (estimate <= 0.0 || estimate >= 1.0) {
        // Whatever is drawn says the same: what the agreement is worth, or a fifth of the night for each block.
        let worth = effective_n(&agreement(pairs)).unwrap_or(n / block);
        return Ok(NightInterval { estimate, interval: wilson_interval_of_share(estimate, worth)?, block });
    }
    let resamples = stationary_bootstrap(classes, pairs, block, asked, statistic)?;
    if resamples.too_many_dropped() {
        return Err(Undefined::NTooSmall);
    }
    let (_, sd) = crate::t_interval::mean_and_sd(&resamples.values)?;
    let df = n / block - 1.0;
    let interval = match scale {
        Scale::Plain => {
            let half = crate::quantiles::t_quantile(0.975, df) * sd;
            (estimate - half, estimate + half)
        }
        Scale::Share => logit_interval(estimate, sd / (estimate * (1.0 - estimate)), df)?,
        Scale::Coefficient => atanh_interval(estimate, sd / (1.0 - estimate * estimate), df)?,
    };
    Ok(NightInterval { estimate, interval, block })
}

/// Returns twice the largest block length of the agreement and of the hits of each class, at most a fifth of the night.
fn night_block(classes: usize, pairs: &[(usize, usize)]) -> Figure {
    if pairs.len() < 10 {
        return Err(if pairs.is_empty() { Undefined::NoPairs } else { Undefined::NTooSmall });
    }
    let fifth = pairs.len() as f64 / 5.0;
    let hits = |class: usize| pairs.iter().map(|p| f64::from(u8::from(*p == (class, class)))).collect::<Vec<_>>();
    let series = std::iter::once(agreement(pairs)).chain((0..classes).map(hits));
    let largest = series.filter_map(|s| block_length(&s).ok()).reduce(f64::max);
    Ok(largest.map_or(fifth, |b| (2.0 * b).clamp(1.0, fifth)))
}

fn agreement(pairs: &[(usize, usize)]) -> Vec<f64> {
    pairs.iter().map(|(a, b)| f64::from(u8::from(a == b))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{accuracy, cohen_kappa};

    const ASKED: Resampling = Resampling { replicates: 2000, seed: 3, threads: 2 };

    #[test]
    fn full_agreement_has_the_interval_of_wilson_for_five_blocks() {
        let pairs: Vec<(usize, usize)> = (0..100).map(|_| (0, 0)).collect();
        let of = night_interval(1, &pairs, Scale::Share, ASKED, accuracy).unwrap();
        assert_eq!((of.estimate, of.block, of.interval.1), (1.0, 20.0, 1.0));
        assert_eq!(of.interval.0, wilson_interval_of_share(1.0, 5.0).unwrap().0);
    }

    #[test]
    fn bouts_of_error_widen_the_interval() {
        let width = |error: fn(usize) -> bool| {
            let pairs: Vec<_> = (0..960).map(|t| (t / 80 % 2, (t / 80 + usize::from(error(t))) % 2)).collect();
            let of = night_interval(2, &pairs, Scale::Coefficient, ASKED, cohen_kappa).unwrap();
            of.interval.1 - of.interval.0
        };
        assert!(width(|t| t * 7919 % 97 % 60 < 15 && t / 60 % 4 == 0) > 1.5 * width(|t| t * 7919 % 1009 % 16 == 0));
    }

    #[test]
    fn a_handful_of_pairs_has_none() {
        assert_eq!(night_interval(1, &[(0, 0); 9], Scale::Share, ASKED, accuracy), Err(Undefined::NTooSmall));
        assert_eq!(night_interval(1, &[], Scale::Share, ASKED, accuracy), Err(Undefined::NoPairs));
    }
}
