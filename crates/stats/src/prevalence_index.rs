//! How unequally common two classes are among the pairs that agree.

use crate::table::quotient;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "prevalence_index",
    name: "Prevalence index",
    meaning: "For two classes: how much commoner the first is than the second where both sides agree. Far from 0, kappa is low \
              even where accuracy is high.",
    formula: "(a - d) / n for the table a, b / c, d",
    range: "-1 to 1",
    undefined: "there is no pair; or there are not exactly two classes",
    caution: "Swapping the two classes changes its sign.",
    source: "Byrt, Bishop and Carlin 1993, Journal of Clinical Epidemiology 46, 423-429 (from memory)",
};

/// Returns the prevalence index of a table of two classes, -1..=1.
///
/// Undefined when there is no pair, or there are not exactly two classes. Source: Byrt, Bishop and
/// Carlin 1993, Journal of Clinical Epidemiology 46, 423-429 (from memory).
///
/// ```
/// # use counterpane_stats::{prevalence_index, Table};
/// // (20 - 15) / 50 = 0.1.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(prevalence_index(&table), Ok(0.1));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn prevalence_index(table: &Table) -> Figure {
    if table.classes() != 2 {
        return Err(Undefined::NotTwoClasses);
    }
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    Ok(quotient(i128::from(table.count(0, 0)) - i128::from(table.count(1, 1)), table.n()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{equals, prints, table};

    #[test]
    fn published_tables_give_their_value() {
        // Sim and Wright 2005, Physical Therapy 85:257-268 (from memory).
        prints(prevalence_index(&table([[22, 2], [4, 11]])), "0.28");
        // Feinstein and Cicchetti 1990's tables; the values follow from the definition.
        equals(prevalence_index(&table([[40, 9], [6, 45]])), -0.05);
        equals(prevalence_index(&table([[80, 10], [5, 5]])), 0.75);
        equals(prevalence_index(&table([[45, 15], [25, 15]])), 0.3);
        equals(prevalence_index(&table([[25, 35], [5, 35]])), -0.1);
        // Dohoo, Martin and Stryhn's table; the value follows from the definition.
        equals(prevalence_index(&table([[19, 10], [6, 256]])), -237.0 / 291.0);
    }

    #[test]
    fn three_classes_have_none() {
        assert_eq!(prevalence_index(&table([[1, 0, 0], [0, 1, 0], [0, 0, 1]])), Err(Undefined::NotTwoClasses));
        assert_eq!(prevalence_index(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
