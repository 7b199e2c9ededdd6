//! Of what the other side does not call a class, the share that the reference does not call so either.

use crate::table::quotient;
use crate::{Figure, Outcomes, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "npv",
    name: "Negative predictive value of a class",
    meaning: "Of the epochs that the device gives another class, the share that the reference gives another class too.",
    formula: "TN / (TN + FN)",
    range: "0 to 1",
    undefined: "the device never uses another class",
    caution: "1 for a class that neither side uses, which says nothing; high for every rare class.",
    source: "common practice, no source",
};

/// Returns the negative predictive value of a class, 0..=1.
///
/// Undefined when the other side never uses another class.
///
/// ```
/// # use counterpane_stats::{npv, Table};
/// // The device says something else than class 0 on 20 epochs; so does the reference on 15: 0.75.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(npv(&table, 0), Ok(0.75));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn npv(table: &Table, class: usize) -> Figure {
    let Outcomes { true_negative, false_negative, .. } = Outcomes::of(table, class)?;
    match true_negative + false_negative {
        0 => Err(Undefined::ZeroDenominator),
        rest => Ok(quotient(true_negative, rest)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn a_device_that_says_one_class_only_leaves_it_undefined() {
        assert_eq!(npv(&table([[4, 0], [3, 0]]), 0), Err(Undefined::ZeroDenominator));
        assert_eq!(npv(&table([[4, 0], [3, 0]]), 1), Ok(4.0 / 7.0));
    }
}
