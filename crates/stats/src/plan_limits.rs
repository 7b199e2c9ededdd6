//! How well a number of participants pins down limits of agreement.

use crate::limits_of_agreement::{LIMIT_Z, exact_factor, limit_error};
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "plan_limits",
    name: "Participants for limits of agreement",
    meaning: "How wide the interval of a limit of agreement will be with n participants, in standard deviations of the differences.",
    formula: "half-width 1.96 sqrt(1/n + 1.96^2 / (2 (n - 1))), about 1.96 sqrt(2.92 / n); exact: the limit at 1.96 runs from the first to \
              the second exact factor",
    range: "above 0",
    undefined: "there are fewer than three participants",
    caution: "With ten participants the upper limit may lie anywhere from 1.16 to 3.80 standard deviations above the bias.",
    source: "Bland and Altman 1999, Statistical Methods in Medical Research 8(2), 135-160; exact: Carkeet 2015, Optometry and Vision \
             Science 92(3), e71-e80",
};

/// How well limits of agreement will be known, in standard deviations of the differences.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitPlan {
    /// Half-width of the approximate 95 % interval of a limit.
    pub half_width: f64,
    /// Where the exact 95 % interval of the upper limit starts and ends, counted from the bias.
    pub exact: (f64, f64),
}

/// Returns how well `n` participants with one difference each will pin down a limit of agreement.
///
/// ```
/// # use counterpane_stats::plan_limits;
/// // 1.96 sqrt(1/100 + 3.8416/198) = 0.336.
/// let plan = plan_limits(100)?;
/// assert!((plan.half_width - 0.336).abs() < 5e-4 && (plan.exact.0 - 1.66).abs() < 5e-3);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn plan_limits(n: u32) -> Result<LimitPlan, Undefined> {
    if n < 3 {
        return Err(Undefined::NTooSmall);
    }
    let n = f64::from(n);
    Ok(LimitPlan { half_width: LIMIT_Z * limit_error(n), exact: (exact_factor(n, 0.025), exact_factor(n, 0.975)) })
}

/// Returns the smallest number of participants whose approximate interval of a limit is no wider than `half` standard
/// deviations of the differences either way.
///
/// ```
/// # use counterpane_stats::plan_limits_for;
/// // 1.96 sqrt(1/73 + 3.8416/144) = 0.394, with 70 it is 0.402.
/// assert_eq!(plan_limits_for(0.4), Ok(71));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn plan_limits_for(half: f64) -> Result<u32, Undefined> {
    if half <= 0.0 || half.is_nan() {
        return Err(Undefined::NotPositive);
    }
    let enough = |n: &u32| LIMIT_Z * limit_error(f64::from(*n)) <= half;
    (3..=1_000_000).find(enough).ok_or(Undefined::OutsideRange)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::prints;

    #[test]
    fn a_hundred_and_two_hundred_give_their_printed_half_widths() {
        // Bland, How can I decide the sample size for a study of agreement between two methods? (from memory)
        prints(plan_limits(100).map(|plan| plan.half_width), "0.34");
        prints(plan_limits(200).map(|plan| plan.half_width), "0.24");
    }

    #[test]
    fn twenty_and_fifty_by_the_exact_factors() {
        prints(plan_limits(20).map(|plan| plan.exact.0), "1.36");
        prints(plan_limits(20).map(|plan| plan.exact.1), "3.01");
        prints(plan_limits(50).map(|plan| plan.exact.1), "2.54");
        assert_eq!(plan_limits(2), Err(Undefined::NTooSmall));
    }
}
