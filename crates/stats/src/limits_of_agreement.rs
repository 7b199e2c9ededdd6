//! Between which limits most differences lie.

use crate::quantiles::{noncentral_t_quantile, t_quantile};
use crate::special::Z95;
use crate::t_interval::mean_and_sd;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "limits_of_agreement",
    name: "Limits of agreement",
    meaning: "The two limits between which about 95 of 100 differences of single nights lie, each with an approximate and an exact \
              interval.",
    formula: "mean d -+ 1.96 s; approximate interval of a limit +- t s sqrt(1/n + 1.96^2 / (2 (n - 1))); exact interval of the upper limit \
              mean d + k s with k the 2.5 % and the 97.5 % point of the noncentral t distribution (n - 1 degrees of freedom, \
              noncentrality 1.959964 sqrt(n)) divided by sqrt(n), mirrored for the lower",
    range: "any, in the unit of the measure",
    undefined: "there are fewer than three differences",
    caution: "One difference for each participant, roughly normal, with a spread that does not grow with the size. With fewer than 20 the \
              limits themselves are hardly known: read their exact intervals. Equal differences give limits that equal the bias.",
    source: "Bland and Altman 1999, Statistical Methods in Medical Research 8(2), 135-160; exact: Carkeet 2015, Optometry and Vision \
             Science 92(3), e71-e80; Shieh 2018, BMC Medical Research Methodology 18, 45",
};

/// How many standard deviations the limits lie from the bias: the rounded number of the source.
pub(crate) const LIMIT_Z: f64 = 1.96;

/// Below this number of differences the limits deserve a warning: a convention of this program.
pub const LIMITS_WANT: usize = 20;

/// One limit with its 95 % intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The limit, in the unit of the differences.
    pub value: f64,
    /// Lower and upper end of the interval by the standard error.
    pub approximate: (f64, f64),
    /// Lower and upper end of the exact interval for normal differences.
    pub exact: (f64, f64),
}

/// The two limits of agreement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Number of differences.
    pub n: usize,
    /// Mean of the differences.
    pub bias: f64,
    /// Standard deviation of the differences, divisor n - 1.
    pub sd: f64,
    /// The lower limit.
    pub lower: Limit,
    /// The upper limit.
    pub upper: Limit,
}

/// Returns the limits of agreement of differences of independent participants.
///
/// Source: Bland and Altman 1999, Statistical Methods in Medical Research 8(2), 135-160; the exact intervals Carkeet 2015,
/// Optometry and Vision Science 92(3), e71-e80.
///
/// ```
/// # use counterpane_stats::limits_of_agreement;
/// // Mean 2, s = 1: the limits are 2 -+ 1.96.
/// let of = limits_of_agreement(&[1.0, 2.0, 3.0])?;
/// assert!((of.lower.value - 0.04).abs() < 1e-12 && (of.upper.value - 3.96).abs() < 1e-12);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why they are undefined.
pub fn limits_of_agreement(differences: &[f64]) -> Result<Limits, Undefined> {
    let (bias, sd) = mean_and_sd(differences)?;
    if differences.len() < 3 {
        return Err(Undefined::NTooSmall);
    }
    let n = differences.len() as f64;
    let half = t_quantile(0.975, n - 1.0) * sd * limit_error(n);
    let (near, far) = (exact_factor(n, 0.025) * sd, exact_factor(n, 0.975) * sd);
    let limit = |value: f64, exact| Limit { value, approximate: (value - half, value + half), exact };
    Ok(Limits {
        n: differences.len(),
        bias,
        sd,
        lower: limit(bias - LIMIT_Z * sd, (bias - far, bias - near)),
        upper: limit(bias + LIMIT_Z * sd, (bias + near, bias + far)),
    })
}

/// Returns the standard error of a limit, in standard deviations of the differences.
pub(crate) fn limit_error(n: f64) -> f64 {
    (1.0 / n + LIMIT_Z * LIMIT_Z / (2.0 * (n - 1.0))).sqrt()
}

/// Returns the factor k of the exact interval at the probability `p`.
pub(crate) fn exact_factor(n: f64, p: f64) -> f64 {
    noncentral_t_quantile(p, n - 1.0, Z95 * n.sqrt()) / n.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::differences;
    use crate::testing::{PEAK_FLOW, equals, prints};

    #[test]
    fn the_limits_of_the_peak_flows_are_those_of_the_data() {
        // The paper of 1986 prints limits of 2 rounded standard deviations, -79.7 and 75.5; these are of 1.96.
        let of = limits_of_agreement(&differences(&PEAK_FLOW.map(|[large, mini]| [mini, large]))).unwrap();
        equals(Ok(of.lower.value), -78.097_301_611_094);
        equals(Ok(of.upper.value), 73.862_007_493_446_92);
        prints(Ok(of.sd * limit_error(17.0)), "16.3951");
        prints(Ok(of.upper.exact.0), "48.859637");
        prints(Ok(of.upper.exact.1), "119.925504");
    }

    #[test]
    fn the_exact_factors_for_ten_and_for_a_hundred() {
        // Shieh 2018, BMC Medical Research Methodology 18, 45: at ten the interval runs from 1.16 s to 3.80 s.
        prints(Ok(exact_factor(10.0, 0.025)), "1.16");
        prints(Ok(exact_factor(10.0, 0.975)), "3.80");
        prints(Ok(exact_factor(100.0, 0.025)), "1.66");
        prints(Ok(exact_factor(100.0, 0.975)), "2.34");
    }

    #[test]
    fn equal_differences_have_limits_that_equal_the_bias_and_two_have_none() {
        let of = limits_of_agreement(&[5.0; 4]).unwrap();
        assert_eq!((of.bias, of.lower.value, of.upper.exact), (5.0, 5.0, (5.0, 5.0)));
        assert_eq!(limits_of_agreement(&[1.0, 2.0]), Err(Undefined::NTooSmall));
    }
}
