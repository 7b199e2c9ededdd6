//! Of what the other side calls a class, the share that the reference calls so.

use crate::table::quotient;
use crate::{Figure, Outcomes, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "ppv",
    name: "Positive predictive value of a class (precision)",
    meaning: "Of the epochs that the device gives the class, the share that the reference gives it too: a column of the \
              matrix as shares of its sum. It says how far a label of the device can be trusted.",
    formula: "TP / (TP + FP) = n_ii / c_i",
    range: "0 to 1",
    undefined: "the device never uses the class (it never said so)",
    caution: "Changes with the mix of stages of the night, as sensitivity (to first order) does not.",
    source: "common practice, no source; the figures agree with scikit-learn's `precision_score`",
};

/// Returns the positive predictive value of a class, 0..=1.
///
/// Undefined when the other side never uses the class.
///
/// ```
/// # use counterpane_stats::{ppv, Table};
/// // The device says class 1 on 20 epochs, and the reference agrees on 15 of them: 0.75.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(ppv(&table, 1), Ok(0.75));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn ppv(table: &Table, class: usize) -> Figure {
    let Outcomes { true_positive, false_positive, .. } = Outcomes::of(table, class)?;
    match true_positive + false_positive {
        0 => Err(Undefined::DevClassAbsent),
        column => Ok(quotient(true_positive, column)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn a_label_that_is_always_wrong_is_worth_zero_and_one_never_said_is_undefined() {
        assert_eq!(ppv(&table([[4, 3], [0, 0]]), 1), Ok(0.0));
        assert_eq!(ppv(&table([[4, 0], [3, 0]]), 1), Err(Undefined::DevClassAbsent));
    }
}
