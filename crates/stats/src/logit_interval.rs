//! The interval of a share that stays between 0 and 1.

use crate::quantiles::t_quantile;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "logit_interval",
    name: "Interval of a share on the logit scale, 95 %",
    meaning: "An interval of a share, such as accuracy or sensitivity, made where it has no bounds and taken back, so that no limit lies \
              below 0 or above 1.",
    formula: "g(x) = ln(x / (1 - x)); the limits are the shares whose g is g(share) +- t sd, sd the standard deviation of g over \
              resamples, t the 97.5 % point of Student's distribution with the given degrees of freedom",
    range: "0 to 1",
    undefined: "the share is 0 or 1, or there is no degree of freedom",
    caution: "At 0 or 1 every resample says the same: use Wilson's interval with the effective number of epochs there.",
    source: "common practice, no source",
};

/// Returns the lower and upper limit of the 95 % interval of a share whose logit has the standard deviation `sd`.
///
/// `df` are the degrees of freedom of `sd`, at least 1. Undefined when the share is 0 or 1, or `df` is below 1.
///
/// ```
/// # use counterpane_stats::logit_interval;
/// // The logit of 0.8 is ln 4 = 1.3863; with 10 degrees of freedom t = 2.2281:
/// // 1.3863 -+ 2.2281 * 0.3 = 0.7179 and 2.0547, which are the shares 0.6721 and 0.8864.
/// let (low, high) = logit_interval(0.8, 0.3, 10.0).unwrap_or((f64::NAN, f64::NAN));
/// assert!((low - 0.6721).abs() < 5e-5 && (high - 0.8864).abs() < 5e-5);
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn logit_interval(share: f64, sd: f64, df: f64) -> Result<(f64, f64), Undefined> {
    if df < 1.0 {
        return Err(Undefined::NTooSmall);
    }
    logit_limits(share, t_quantile(0.975, df) * sd)
}

/// Returns the limits that lie `half` away from a share on the logit scale.
pub(crate) fn logit_limits(share: f64, half: f64) -> Result<(f64, f64), Undefined> {
    if share <= 0.0 || share >= 1.0 {
        return Err(Undefined::ZeroVariance);
    }
    Ok((share_of(logit(share) - half), share_of(logit(share) + half)))
}

/// Returns ln(x / (1 - x)).
pub(crate) fn logit(x: f64) -> f64 {
    x.ln() - (-x).ln_1p()
}

fn share_of(logit: f64) -> f64 {
    1.0 / (1.0 + (-logit).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limits_of_a_share_mirror_those_of_its_rest() {
        let (low, high) = logit_interval(0.9, 1.5, 5.0).unwrap();
        let (other_low, other_high) = logit_interval(0.1, 1.5, 5.0).unwrap();
        assert!(low > 0.0 && high < 1.0);
        assert!((low + other_high - 1.0).abs() < 1e-14 && (high + other_low - 1.0).abs() < 1e-14);
    }

    #[test]
    fn nothing_and_everything_have_no_logit() {
        assert_eq!(logit_interval(1.0, 0.3, 10.0), Err(Undefined::ZeroVariance));
        assert_eq!(logit_interval(0.0, 0.3, 10.0), Err(Undefined::ZeroVariance));
        assert_eq!(logit_interval(0.5, 0.3, 0.5), Err(Undefined::NTooSmall));
    }
}
