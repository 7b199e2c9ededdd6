//! Limits of agreement that change with the size.

use crate::limits_of_agreement::LIMIT_Z;
use crate::proportional_bias::means;
use crate::{Statistic, Undefined, proportional_bias, spread_growth};
use std::f64::consts::FRAC_PI_2;

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "regression_limits",
    name: "Limits of agreement by regression",
    meaning: "The limits of agreement at a stated size A of the measure, where the bias, and if wished the spread, changes with the size.",
    formula: "b0 + b1 A -+ 1.96 s with s the residual standard deviation (n - 2); with a spread that grows b0 + b1 A -+ 2.46 (c0 + c1 A), \
              2.46 = 1.96 sqrt(pi / 2)",
    range: "any, in the unit of the measure",
    undefined: "there are fewer than three pairs, all means are equal, A lies outside the means that were seen, or the spread there comes \
                out as nothing or less",
    caution: "No limit beyond the sizes that were seen. For a measure that cannot fall below 0 the lower limit may still do so.",
    source: "Bland and Altman 1999, Statistical Methods in Medical Research 8(2), section 3.2",
};

/// What is held to be true of the spread of the differences.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// It is the same at every size.
    Constant,
    /// It changes with the size, along a line.
    Growing,
}

/// The limits at one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitsAt {
    /// The bias there.
    pub bias: f64,
    /// The lower limit there.
    pub lower: f64,
    /// The upper limit there.
    pub upper: f64,
}

/// Returns the limits of agreement at the size `at`, for pairs of `[reference, device]` of independent participants.
///
/// Source: Bland and Altman 1999, Statistical Methods in Medical Research 8(2), section 3.2.
///
/// ```
/// # use counterpane_stats::{regression_limits, Spread};
/// // d = 1 at A = 1.5, 2.5 and 3.5: no slope and no spread.
/// let limits = regression_limits(&[[1.0, 2.0], [2.0, 3.0], [3.0, 4.0]], 2.0, Spread::Constant)?;
/// assert_eq!((limits.bias, limits.lower, limits.upper), (1.0, 1.0, 1.0));
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why they are undefined.
pub fn regression_limits(pairs: &[[f64; 2]], at: f64, spread: Spread) -> Result<LimitsAt, Undefined> {
    let line = proportional_bias(pairs)?;
    let seen = means(pairs);
    if !(seen.iter().any(|a| *a <= at) && seen.iter().any(|a| at <= *a)) {
        return Err(Undefined::OutsideRange);
    }
    let half = match spread {
        Spread::Constant => LIMIT_Z * line.residual_sd,
        Spread::Growing => LIMIT_Z * FRAC_PI_2.sqrt() * spread_growth(pairs)?.line.at(at),
    };
    if half < 0.0 || (half == 0.0 && spread == Spread::Growing) {
        return Err(Undefined::NotPositive);
    }
    let bias = line.at(at);
    Ok(LimitsAt { bias, lower: bias - half, upper: bias + half })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_said_beyond_the_sizes_that_were_seen() {
        let pairs = [[1.0, 1.0], [1.0, 1.0], [3.5, 2.5], [2.5, 3.5]];
        assert_eq!(regression_limits(&pairs, 3.1, Spread::Constant), Err(Undefined::OutsideRange));
        assert_eq!(regression_limits(&pairs, 0.9, Spread::Constant), Err(Undefined::OutsideRange));
    }

    #[test]
    fn where_the_spread_is_nothing_there_are_no_limits() {
        let pairs = [[1.0, 1.0], [1.0, 1.0], [3.5, 2.5], [2.5, 3.5]];
        assert_eq!(regression_limits(&pairs, 1.0, Spread::Growing), Err(Undefined::NotPositive));
        // At 3 the sizes of the residuals are 1: 1.96 sqrt(pi / 2) = 2.4565.
        crate::testing::prints(regression_limits(&pairs, 3.0, Spread::Growing).map(|l| l.upper), "2.4565");
    }
}
