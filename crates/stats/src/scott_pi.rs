//! Agreement beyond chance when both sides are taken to use the classes alike.

use crate::table::quotient;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "scott_pi",
    name: "Scott's pi",
    meaning: "Like Cohen's kappa, but chance is computed from the mean of both sides' frequencies. Fleiss' kappa of two raters is \
              this number, not Cohen's.",
    formula: "(po - pe) / (1 - pe) with pe = sum of ((r_i + c_i) / 2n)^2",
    range: "-1 to 1",
    undefined: "there is no pair; or both sides use one and the same class throughout",
    caution: "Never above Cohen's kappa; differences in how often the sides use a class count as disagreement.",
    source: "Scott 1955, Public Opinion Quarterly 19(3), 321-325 (from memory)",
};

/// Returns Scott's pi, -1..=1.
///
/// Undefined when there is no pair, or both sides use one and the same class throughout.
/// Source: Scott 1955, Public Opinion Quarterly 19(3), 321-325 (from memory).
///
/// ```
/// # use counterpane_stats::{scott_pi, Table};
/// // Mean frequencies 55/100 and 45/100: pe = 0.3025 + 0.2025 = 0.505; (0.7 - 0.505) / 0.495.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert!((scott_pi(&table).unwrap_or(f64::NAN) - 0.195 / 0.495).abs() < 1e-15);
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn scott_pi(table: &Table) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    let n = i128::from(table.n());
    let by_chance: i128 = table.margins().map(|(row, column)| (row + column) * (row + column)).sum();
    if by_chance == 4 * n * n {
        return Err(Undefined::ExpectedAgreement1);
    }
    Ok(quotient(4 * n * i128::from(table.agreeing()) - by_chance, 4 * n * n - by_chance))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{prints, table};

    #[test]
    fn published_tables_give_their_printed_value() {
        // Gwet 2002, Statistical Methods for Inter-Rater Reliability Assessment (from memory).
        prints(scott_pi(&table([[118, 5], [2, 0]])), "-0.029");
        // Gwet 2014; output in the documentation of irrCAC.
        prints(scott_pi(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), "0.7962397");
    }

    #[test]
    fn one_class_on_both_sides_is_undefined() {
        assert_eq!(scott_pi(&table([[34, 0], [0, 0]])), Err(Undefined::ExpectedAgreement1));
        assert_eq!(scott_pi(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
