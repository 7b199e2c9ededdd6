//! Of what the reference does not call a class, the share that the other side does not call so either.

use crate::table::quotient;
use crate::{Figure, Outcomes, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "specificity",
    name: "Specificity of a class",
    meaning: "Of the epochs that the reference gives another class, the share that the device gives another class too. \
              For sleep against wake, the specificity of sleep is the detection of wake.",
    formula: "TN / (TN + FP)",
    range: "0 to 1",
    undefined: "the reference never uses another class",
    caution: "1 for a class that neither side uses, which says nothing; high for every rare class.",
    source: "common practice, no source",
};

/// Returns the specificity of a class, 0..=1.
///
/// Undefined when the reference never uses another class.
///
/// ```
/// # use counterpane_stats::{specificity, Table};
/// // The reference says something else than class 0 on 25 epochs; so does the device on 15: 0.6.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(specificity(&table, 0), Ok(0.6));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn specificity(table: &Table, class: usize) -> Figure {
    let Outcomes { true_negative, false_positive, .. } = Outcomes::of(table, class)?;
    match true_negative + false_positive {
        0 => Err(Undefined::ZeroDenominator),
        rest => Ok(quotient(true_negative, rest)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn a_reference_that_knows_one_class_only_leaves_it_undefined() {
        assert_eq!(specificity(&table([[4, 3], [0, 0]]), 0), Err(Undefined::ZeroDenominator));
        assert_eq!(specificity(&table([[4, 3], [0, 0]]), 1), Ok(4.0 / 7.0));
    }
}
