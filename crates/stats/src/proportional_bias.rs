//! Whether the difference depends on the size.

use crate::line::line;
use crate::{Line, Statistic, Undefined, differences};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "proportional_bias",
    name: "Proportional bias",
    meaning: "How the difference, device minus reference, changes with the size of the measure: the slope of the differences on the means of \
              both sides.",
    formula: "least squares of d on A = (device + reference) / 2; slope with its interval and p, n - 2 degrees of freedom",
    range: "-2 to 2",
    undefined: "there are fewer than three pairs, or all means are equal",
    caution: "The slope is 0 exactly when both sides vary equally, so a device that draws everybody towards the average has a negative one. \
              Never on the reference alone: its own error makes a negative slope. No sign of a slope in few nights is not its absence.",
    source: "Bland and Altman 1999, Statistical Methods in Medical Research 8(2), section 3.2; against the reference alone: Bland and \
             Altman 1995, Lancet 346, 1085 (from memory)",
};

/// Returns the line of the differences on the means, for pairs of `[reference, device]` of independent participants.
///
/// Source: Bland and Altman 1999, Statistical Methods in Medical Research 8(2), section 3.2.
///
/// ```
/// # use counterpane_stats::proportional_bias;
/// // The device says everything half as far from 100: d = -(r - 100) / 2, A = 100 + 3/4 (r - 100), slope -2/3.
/// let line = proportional_bias(&[[80.0, 90.0], [100.0, 100.0], [140.0, 120.0]])?;
/// assert!((line.slope + 2.0 / 3.0).abs() < 1e-12);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn proportional_bias(pairs: &[[f64; 2]]) -> Result<Line, Undefined> {
    line(&means(pairs), &differences(pairs))
}

/// Returns the mean of both sides of each pair.
pub(crate) fn means(pairs: &[[f64; 2]]) -> Vec<f64> {
    pairs.iter().map(|[reference, device]| f64::midpoint(*reference, *device)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_that_vary_equally_have_no_slope() {
        let line = proportional_bias(&[[1.0, 2.0], [2.0, 4.0], [3.0, 1.0], [4.0, 3.0]]).unwrap();
        assert!(line.slope.abs() < 1e-15 && line.slope_p > 0.999);
    }

    #[test]
    fn equal_means_have_no_line() {
        assert_eq!(proportional_bias(&[[1.0, 3.0], [2.0, 2.0], [3.0, 1.0]]), Err(Undefined::ZeroVariance));
    }
}
