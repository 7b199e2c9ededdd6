//! How differently two sides use two classes.

use crate::table::quotient;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "bias_index",
    name: "Bias index",
    meaning: "For two classes: how much more often the reference says the first class than the device does, as a share of all pairs.",
    formula: "(b - c) / n for the table a, b / c, d",
    range: "-1 to 1",
    undefined: "there is no pair; or there are not exactly two classes",
    caution: "Some texts print its absolute value. Swapping the two sides changes its sign.",
    source: "Byrt, Bishop and Carlin 1993, Journal of Clinical Epidemiology 46, 423-429 (from memory)",
};

/// Returns the bias index of a table of two classes, -1..=1.
///
/// Undefined when there is no pair, or there are not exactly two classes. Source: Byrt, Bishop and
/// Carlin 1993, Journal of Clinical Epidemiology 46, 423-429 (from memory).
///
/// ```
/// # use counterpane_stats::{bias_index, Table};
/// // (5 - 10) / 50 = -0.1.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(bias_index(&table), Ok(-0.1));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn bias_index(table: &Table) -> Figure {
    if table.classes() != 2 {
        return Err(Undefined::NotTwoClasses);
    }
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    Ok(quotient(i128::from(table.count(0, 1)) - i128::from(table.count(1, 0)), table.n()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{equals, prints, table};

    #[test]
    fn published_tables_give_their_value() {
        // Sim and Wright 2005, Physical Therapy 85:257-268 (from memory), print the absolute value.
        prints(bias_index(&table([[22, 2], [4, 11]])).map(f64::abs), "0.05");
        // Feinstein and Cicchetti 1990's tables; the values follow from the definition.
        equals(bias_index(&table([[40, 9], [6, 45]])), 0.03);
        equals(bias_index(&table([[80, 10], [5, 5]])), 0.05);
        equals(bias_index(&table([[45, 15], [25, 15]])), -0.1);
        equals(bias_index(&table([[25, 35], [5, 35]])), 0.3);
        // Dohoo, Martin and Stryhn's table; the value follows from the definition.
        equals(bias_index(&table([[19, 10], [6, 256]])), 4.0 / 291.0);
    }

    #[test]
    fn three_classes_have_none() {
        assert_eq!(bias_index(&table([[1, 0, 0], [0, 1, 0], [0, 0, 1]])), Err(Undefined::NotTwoClasses));
        assert_eq!(bias_index(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
