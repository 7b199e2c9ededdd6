//! Mean of F1 weighted with how often the reference uses each class.

use crate::{Figure, Statistic, Table, Undefined, f1};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "weighted_f1",
    name: "Weighted F1",
    meaning: "The mean of F1 over the classes, each weighted with its share of the reference's epochs.",
    formula: "sum of r_i F1_i / n",
    range: "0 to 1",
    undefined: "there is no pair",
    caution: "Like accuracy, dominated by the commonest class.",
    source: "common practice, no source; the value is that of scikit-learn's `f1_score(average=\"weighted\")`",
};

/// Returns the mean of F1 weighted with the reference's use of each class, 0..=1.
///
/// Undefined when there is no pair.
///
/// ```
/// # use counterpane_stats::{weighted_f1, Table};
/// // F1 0.8, 0 and 0; each class is a third of the reference: 2 * 0.8 / 6.
/// let table = Table::from_counts(vec![vec![2, 0, 0], vec![1, 0, 1], vec![0, 2, 0]])?;
/// assert_eq!(weighted_f1(&table), Ok(1.6 / 6.0));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn weighted_f1(table: &Table) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    // A class without F1 is one that the reference never uses, so its weight is 0.
    let weighted = |class| table.row_sum(class) as f64 * f1(table, class).unwrap_or(0.0);
    Ok((0..table.classes()).map(weighted).sum::<f64>() / table.n() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{equals, prints, table};

    #[test]
    fn the_documented_example_of_scikit_learn_gives_its_value() {
        // `f1_score([0, 1, 2, 0, 1, 2], [0, 2, 1, 0, 0, 1], average="weighted")`.
        prints(weighted_f1(&table([[2, 0, 0], [1, 0, 1], [0, 2, 0]])), "0.267");
    }

    #[test]
    fn a_class_that_only_the_device_uses_has_no_weight() {
        equals(weighted_f1(&table([[3, 1], [0, 0]])), 6.0 / 7.0);
        assert_eq!(weighted_f1(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
