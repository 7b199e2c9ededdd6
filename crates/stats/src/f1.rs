//! Sensitivity and positive predictive value of a class in one number.

use crate::table::quotient;
use crate::{Figure, Outcomes, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "f1",
    name: "F1 of a class",
    meaning: "The harmonic mean of sensitivity and positive predictive value of a class.",
    formula: "2 TP / (2 TP + FP + FN)",
    range: "0 to 1",
    undefined: "neither side uses the class",
    caution: "0, not undefined, for a class that only one side uses. Takes no account of pairs that rightly avoid the class.",
    source: "common practice, no source; the figures agree with scikit-learn's `f1_score`",
};

/// Returns F1 of a class, 0..=1.
///
/// Undefined when neither side uses the class; 0 when only one does.
///
/// ```
/// # use counterpane_stats::{f1, Table};
/// // 2 hits, 1 false alarm, no miss: 2*2 / (2*2 + 1 + 0) = 0.8.
/// let table = Table::from_counts(vec![vec![2, 0, 0], vec![1, 0, 1], vec![0, 2, 0]])?;
/// assert_eq!(f1(&table, 0), Ok(0.8));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn f1(table: &Table, class: usize) -> Figure {
    let Outcomes { true_positive, false_negative, false_positive, .. } = Outcomes::of(table, class)?;
    match 2 * true_positive + false_positive + false_negative {
        0 => Err(Undefined::ZeroDenominator),
        denominator => Ok(quotient(2 * true_positive, denominator)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn a_class_that_one_side_uses_counts_as_zero_and_one_that_neither_uses_is_undefined() {
        let table = table([[4, 3, 0], [0, 0, 0], [0, 0, 0]]);
        assert_eq!(f1(&table, 1), Ok(0.0));
        assert_eq!(f1(&table, 2), Err(Undefined::ZeroDenominator));
    }
}
