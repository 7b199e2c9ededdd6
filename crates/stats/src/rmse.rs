//! The size of the differences, large ones above all.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "rmse",
    name: "Root mean square error",
    meaning: "The size of the differences, in which large ones count for more.",
    formula: "sqrt(sum of d^2 / n)",
    range: "0 and up, in the unit of the measure",
    undefined: "there is no difference",
    caution: "One bad night can make all of it.",
    source: "common practice, no source",
};

/// Returns the root of the mean square of differences, in their unit.
///
/// ```
/// # use counterpane_stats::rmse;
/// // sqrt((9 + 16) / 2) = sqrt(12.5).
/// assert_eq!(rmse(&[3.0, -4.0]), Ok(12.5_f64.sqrt()));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn rmse(differences: &[f64]) -> Figure {
    if differences.is_empty() {
        return Err(Undefined::NoPairs);
    }
    Ok((differences.iter().map(|d| d * d).sum::<f64>() / differences.len() as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_bad_night_counts_for_more_than_in_the_mean() {
        assert_eq!(rmse(&[0.0, 0.0, 0.0, 60.0]), Ok(30.0));
        assert_eq!(rmse(&[]), Err(Undefined::NoPairs));
    }
}
