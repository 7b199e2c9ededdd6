//! The size of the differences.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "mae",
    name: "Mean absolute error",
    meaning: "The mean size of the differences, whatever their sign.",
    formula: "sum of |d| / n",
    range: "0 and up, in the unit of the measure",
    undefined: "there is no difference",
    caution: "Says nothing of the direction: print the bias beside it.",
    source: "common practice, no source",
};

/// Returns the mean size of differences, in their unit.
///
/// ```
/// # use counterpane_stats::mae;
/// // (3 + 1 + 2) / 3.
/// assert_eq!(mae(&[3.0, -1.0, 2.0]), Ok(2.0));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn mae(differences: &[f64]) -> Figure {
    if differences.is_empty() {
        return Err(Undefined::NoPairs);
    }
    Ok(differences.iter().map(|d| d.abs()).sum::<f64>() / differences.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_to_both_sides_do_not_cancel_out() {
        assert_eq!(mae(&[5.0, -5.0]), Ok(5.0));
        assert_eq!(mae(&[]), Err(Undefined::NoPairs));
    }
}
