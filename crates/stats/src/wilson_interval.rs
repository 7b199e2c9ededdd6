//! Wilson's score interval of a share.

use crate::special::Z95;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "wilson_interval",
    name: "Wilson's interval of a share, 95 %",
    meaning: "The shares that a score test does not reject, given x hits in n independent trials.",
    formula: "(p + z^2/2n +- z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n), p = x/n, z = 1.959964",
    range: "0 to 1",
    undefined: "n is 0",
    caution: "For independent trials. Epochs of a night are not: an interval over epochs is far too narrow.",
    source: "Wilson 1927, Journal of the American Statistical Association 22, 209-212 (from memory)",
};

/// Returns the lower and upper limit of Wilson's 95 % interval for `hits` of `n` independent trials.
///
/// Undefined when `n` is 0. Source: Wilson 1927, Journal of the American Statistical Association 22,
/// 209-212 (from memory).
///
/// ```
/// # use counterpane_stats::wilson_interval;
/// // 0 of 10: the lower limit is 0, the upper z^2 / (n + z^2) = 3.8415 / 13.8415 = 0.2775.
/// let (low, high) = wilson_interval(0, 10).unwrap_or((f64::NAN, f64::NAN));
/// assert!(low == 0.0 && (high - 0.2775).abs() < 5e-5);
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn wilson_interval(hits: u64, n: u64) -> Result<(f64, f64), Undefined> {
    if n == 0 {
        return Err(Undefined::NoPairs);
    }
    Ok(limits(hits.min(n) as f64 / n as f64, n as f64))
}

/// Returns Wilson's 95 % interval of a share seen in `n` trials that need not be a whole number, such as the
/// effective number of epochs.
///
/// ```
/// # use counterpane_stats::wilson_interval_of_share;
/// // Nothing in what counts as 10 trials: the upper limit is 3.8415 / 13.8415 = 0.2775, as for 0 of 10.
/// let (low, high) = wilson_interval_of_share(0.0, 10.0).unwrap_or((f64::NAN, f64::NAN));
/// assert!(low == 0.0 && (high - 0.2775).abs() < 5e-5);
/// ```
///
/// # Errors
/// [`Undefined::NoPairs`] when `n` is not above 0.
pub fn wilson_interval_of_share(share: f64, n: f64) -> Result<(f64, f64), Undefined> {
    if n > 0.0 { Ok(limits(share.clamp(0.0, 1.0), n)) } else { Err(Undefined::NoPairs) }
}

fn limits(p: f64, n: f64) -> (f64, f64) {
    let square = Z95 * Z95;
    let scale = 1.0 + square / n;
    let centre = (p + square / (2.0 * n)) / scale;
    let half = Z95 / scale * (p * (1.0 - p) / n + square / (4.0 * n * n)).sqrt();
    // The limits of nothing and of everything are 0 and 1, not numbers beside them.
    let low = if p == 0.0 { 0.0 } else { centre - half };
    let high = if p == 1.0 { 1.0 } else { centre + half };
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limits_mirror_each_other() {
        let (low, high) = wilson_interval(3, 10).unwrap();
        let (other_low, other_high) = wilson_interval(7, 10).unwrap();
        assert!((low - (1.0 - other_high)).abs() < 1e-15 && (high - (1.0 - other_low)).abs() < 1e-15);
    }

    #[test]
    fn no_trial_has_no_interval() {
        assert_eq!(wilson_interval(0, 0), Err(Undefined::NoPairs));
        assert_eq!(wilson_interval(10, 10).map(|(_, high)| high), Ok(1.0));
    }
}
