//! The interval of a coefficient that stays between -1 and 1.

use crate::quantiles::t_quantile;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "atanh_interval",
    name: "Interval of a coefficient on Fisher's scale, 95 %",
    meaning: "An interval of a coefficient, such as kappa or MCC, made where it has no bounds and taken back, so that no limit lies below \
              -1 or above 1.",
    formula: "tanh(atanh(x) +- t sd), sd the standard deviation of atanh over resamples, t the 97.5 % point of Student's distribution \
              with the given degrees of freedom",
    range: "-1 to 1",
    undefined: "the coefficient is -1 or 1, or there is no degree of freedom",
    caution: "At full agreement every resample says the same, and there is no interval.",
    source: "Fisher 1921, Metron 1(4), 3-32 (the transformation; from memory)",
};

/// Returns the lower and upper limit of the 95 % interval of a coefficient whose atanh has the standard deviation `sd`.
///
/// `df` are the degrees of freedom of `sd`, at least 1. Undefined when the coefficient is -1 or 1, or `df` is below 1.
/// Source: Fisher 1921, Metron 1(4), 3-32 (from memory).
///
/// ```
/// # use counterpane_stats::atanh_interval;
/// // atanh(0.6) = 0.6931; with 10 degrees of freedom t = 2.2281:
/// // 0.6931 -+ 2.2281 * 0.2 = 0.2475 and 1.1388, whose tanh are 0.2426 and 0.8140.
/// let (low, high) = atanh_interval(0.6, 0.2, 10.0).unwrap_or((f64::NAN, f64::NAN));
/// assert!((low - 0.2426).abs() < 5e-5 && (high - 0.8140).abs() < 5e-5);
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn atanh_interval(coefficient: f64, sd: f64, df: f64) -> Result<(f64, f64), Undefined> {
    if df < 1.0 {
        return Err(Undefined::NTooSmall);
    }
    atanh_limits(coefficient, t_quantile(0.975, df) * sd)
}

/// Returns the limits that lie `half` away from a coefficient on Fisher's scale.
pub(crate) fn atanh_limits(coefficient: f64, half: f64) -> Result<(f64, f64), Undefined> {
    if coefficient.abs() >= 1.0 {
        return Err(Undefined::ZeroVariance);
    }
    Ok(((coefficient.atanh() - half).tanh(), (coefficient.atanh() + half).tanh()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limits_stay_within_bounds_and_mirror_each_other() {
        let (low, high) = atanh_interval(0.95, 1.0, 3.0).unwrap();
        let (other_low, other_high) = atanh_interval(-0.95, 1.0, 3.0).unwrap();
        assert!(low > -1.0 && high < 1.0);
        assert!((low + other_high).abs() < 1e-15 && (high + other_low).abs() < 1e-15);
    }

    #[test]
    fn full_agreement_has_no_interval() {
        assert_eq!(atanh_interval(1.0, 0.2, 10.0), Err(Undefined::ZeroVariance));
        assert_eq!(atanh_interval(0.2, 0.2, 0.0), Err(Undefined::NTooSmall));
    }
}
