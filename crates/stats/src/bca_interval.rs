//! The percentile interval, corrected for bias and skew.

use crate::percentile_interval::{quantile, sorted};
use crate::quantiles::{normal_below, normal_quantile};
use crate::special::Z95;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "bca_interval",
    name: "BCa interval, 95 %",
    meaning: "The percentile interval with its percentages moved by what the replicates tell of bias and the jackknife of skew.",
    formula: "z0 = normal quantile of (number below the estimate + half the ties) / B; a = sum u^3 / (6 (sum u^2)^(3/2)), u = mean of the \
              leave-one-out values minus each; percentages Phi(z0 + (z0 + z) / (1 - a (z0 + z))), z = -+ 1.959964",
    range: "those of the statistic",
    undefined: "there is no replicate",
    caution: "Needs at least 5,000 replicates, and leaves out the unit that is resampled: a participant, not an epoch. Where z0 is infinite or \
              the jackknife does not vary it falls back to percentiles and says so. No better than percentiles for few participants.",
    source: "Efron 1987, Journal of the American Statistical Association 82, 171-185",
};

/// A BCa interval with its corrections.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bca {
    /// Lower and upper limit.
    pub interval: (f64, f64),
    /// The corrections z0 and a; none when it fell back to percentiles.
    pub corrections: Option<(f64, f64)>,
}

/// Returns the BCa interval of replicates about `estimate`, with the leave-one-out values `jackknife`.
///
/// Source: Efron 1987, Journal of the American Statistical Association 82, 171-185.
///
/// ```
/// # use counterpane_stats::bca_interval;
/// // Nothing lies below the estimate: the percentiles stay as they are.
/// let of = bca_interval(&[1.0, 2.0, 3.0], 0.0, &[1.0, 2.0])?;
/// assert_eq!(of.corrections, None);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn bca_interval(replicates: &[f64], estimate: f64, jackknife: &[f64]) -> Result<Bca, Undefined> {
    let sorted = sorted(replicates);
    let corrections = bias_correction(&sorted, estimate).zip(acceleration(jackknife));
    let percentage = |z: f64| match corrections {
        Some((z0, a)) => normal_below(z0 + (z0 + z) / (1.0 - a * (z0 + z))),
        None => normal_below(z),
    };
    let interval = (quantile(&sorted, percentage(-Z95))?, quantile(&sorted, percentage(Z95))?);
    Ok(Bca { interval, corrections })
}

fn bias_correction(sorted: &[f64], estimate: f64) -> Option<f64> {
    let below = sorted.iter().filter(|v| **v < estimate).count() as f64;
    let ties = sorted.iter().filter(|v| **v == estimate).count() as f64;
    let share = (below + ties / 2.0) / sorted.len() as f64;
    (share > 0.0 && share < 1.0).then(|| normal_quantile(share))
}

fn acceleration(jackknife: &[f64]) -> Option<f64> {
    let mean = jackknife.iter().sum::<f64>() / jackknife.len() as f64;
    let sum = |power: i32| jackknife.iter().map(|v| (mean - v).powi(power)).sum::<f64>();
    let squares = sum(2);
    (squares > 0.0).then(|| sum(3) / (6.0 * squares.powf(1.5)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::prints;

    #[test]
    fn the_failures_of_air_conditioning_have_their_printed_acceleration() {
        // Davison and Hinkley 1997, chapter 5: the mean of twelve times between failures, a = 0.0938.
        let times = [3.0, 5.0, 7.0, 18.0, 43.0, 85.0, 91.0, 98.0, 100.0, 130.0, 230.0, 487.0];
        let all: f64 = times.iter().sum();
        let jackknife = times.map(|t| (all - t) / 11.0);
        prints(acceleration(&jackknife).ok_or(Undefined::ZeroVariance), "0.0938");
    }

    #[test]
    fn a_jackknife_that_does_not_vary_leaves_the_percentiles() {
        let of = bca_interval(&[1.0, 2.0, 3.0], 2.0, &[1.0, 1.0]).unwrap();
        assert_eq!(of.corrections, None);
        assert_eq!(bca_interval(&[], 2.0, &[1.0, 2.0]), Err(Undefined::NoPairs));
    }
}
