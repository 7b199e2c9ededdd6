//! Of what the reference calls a class, the share that the other side calls so.

use crate::table::quotient;
use crate::{Figure, Outcomes, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "sensitivity",
    name: "Sensitivity of a class (recall)",
    meaning: "Of the epochs that the reference gives the class, the share that the device gives it too: a row of the \
              matrix as shares of its sum. For sleep against wake: \"sensitivity to sleep\".",
    formula: "TP / (TP + FN) = n_ii / r_i",
    range: "0 to 1",
    undefined: "the reference never uses the class (the stage is not present on that night)",
    caution: "A device that calls everything light sleep has a sensitivity of 1 for light sleep: read it beside the \
              positive predictive value. A device that can report the stage and did not has a true 0.",
    source: "common practice, no source; the figures agree with scikit-learn's `recall_score`",
};

/// Returns the sensitivity of a class, 0..=1.
///
/// Undefined when the reference never uses the class.
///
/// ```
/// # use counterpane_stats::{sensitivity, Table, Undefined};
/// // The reference says class 0 on 25 epochs, and the device agrees on 20 of them: 20 / 25 = 0.8.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(sensitivity(&table, 0), Ok(0.8));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn sensitivity(table: &Table, class: usize) -> Figure {
    let Outcomes { true_positive, false_negative, .. } = Outcomes::of(table, class)?;
    match true_positive + false_negative {
        0 => Err(Undefined::RefClassAbsent),
        row => Ok(quotient(true_positive, row)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn a_stage_that_the_device_did_not_report_has_a_true_zero() {
        assert_eq!(sensitivity(&table([[4, 0], [3, 0]]), 1), Ok(0.0));
    }

    #[test]
    fn a_stage_that_the_reference_never_has_is_undefined() {
        assert_eq!(sensitivity(&table([[4, 3], [0, 0]]), 1), Err(Undefined::RefClassAbsent));
        assert_eq!(sensitivity(&table([[0, 0], [0, 0]]), 1), Err(Undefined::NoPairs));
    }
}
