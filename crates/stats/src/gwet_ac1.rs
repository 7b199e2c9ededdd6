//! Agreement beyond chance where chance is that of hard epochs only.

use crate::table::quotient;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "gwet_ac1",
    name: "Gwet's AC1",
    meaning: "Agreement beyond chance, with a chance agreement that is small where one class dominates.",
    formula: "(po - pe) / (1 - pe) with q_i = (r_i + c_i) / 2n and pe = sum of q_i (1 - q_i) / (K - 1)",
    range: "-1 to 1",
    undefined: "there is no pair; or only one class is declared. Defined for one class on both sides, unlike kappa",
    caution: "High whenever one class dominates (a table in print has kappa -0.02 and AC1 0.94): never alone, and never beside \
              another study's kappa. It depends on how many classes are declared.",
    source: "Gwet 2008, British Journal of Mathematical and Statistical Psychology 61, 29-48",
};

/// Returns Gwet's AC1, -1..=1.
///
/// Undefined when there is no pair, or only one class is declared. Source: Gwet 2008, British Journal
/// of Mathematical and Statistical Psychology 61, 29-48.
///
/// ```
/// # use counterpane_stats::{gwet_ac1, Table};
/// // Mean frequencies 0.55 and 0.45: pe = (0.55*0.45 + 0.45*0.55) / 1 = 0.495; (0.7 - 0.495) / 0.505.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert!((gwet_ac1(&table).unwrap_or(f64::NAN) - 0.205 / 0.505).abs() < 1e-15);
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn gwet_ac1(table: &Table) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    if table.classes() < 2 {
        return Err(Undefined::ZeroDenominator);
    }
    let n = i128::from(table.n());
    let whole = 4 * n * n * (table.classes() as i128 - 1);
    let by_chance: i128 = table.margins().map(|(row, column)| (row + column) * (2 * n - row - column)).sum();
    let observed = 4 * n * i128::from(table.agreeing()) * (table.classes() as i128 - 1);
    Ok(quotient(observed - by_chance, whole - by_chance))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{equals, prints, table};

    #[test]
    fn published_tables_give_their_printed_value() {
        // Gwet 2002, Statistical Methods for Inter-Rater Reliability Assessment (from memory).
        prints(gwet_ac1(&table([[118, 5], [2, 0]])), "0.941");
        // Gwet 2014; output in the documentation of irrCAC.
        prints(gwet_ac1(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), "0.8493305");
    }

    #[test]
    fn the_paradox_tables_of_feinstein_and_cicchetti_give_what_the_definition_says() {
        equals(gwet_ac1(&table([[40, 9], [6, 45]])), 0.700_748_129_675_810_8);
        equals(gwet_ac1(&table([[80, 10], [5, 5]])), 0.808);
        equals(gwet_ac1(&table([[45, 15], [25, 15]])), 29.0 / 109.0);
        equals(gwet_ac1(&table([[25, 35], [5, 35]])), 21.0 / 101.0);
    }

    #[test]
    fn one_class_on_both_sides_is_full_agreement_and_one_declared_class_is_undefined() {
        assert_eq!(gwet_ac1(&table([[34, 0], [0, 0]])), Ok(1.0));
        assert_eq!(gwet_ac1(&table([[34]])), Err(Undefined::ZeroDenominator));
        assert_eq!(gwet_ac1(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
