//! Unweighted mean of F1 over the classes in use.

use crate::{Figure, Statistic, Table, Undefined, f1};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "macro_f1",
    name: "Macro F1",
    meaning: "The unweighted mean of F1 over the classes that either side uses; a class that only one side uses counts as 0.",
    formula: "mean of F1_i over the classes with r_i + c_i > 0",
    range: "0 to 1",
    undefined: "there is no pair",
    caution: "Not the F1 of mean sensitivity and mean predictive value: two quantities of one name are in print.",
    source: "Opitz and Burst 2019, arXiv 1911.03347, on the two definitions (from memory); the value is that of \
             scikit-learn's `f1_score(average=\"macro\")` with the labels in use",
};

/// Returns the mean of F1 over the classes that either side uses, 0..=1.
///
/// Undefined when there is no pair. Source: Opitz and Burst 2019, arXiv 1911.03347 (from memory).
///
/// ```
/// # use counterpane_stats::{macro_f1, Table};
/// // F1 of the three classes: 0.8, 0 and 0. Their mean is 0.8 / 3.
/// let table = Table::from_counts(vec![vec![2, 0, 0], vec![1, 0, 1], vec![0, 2, 0]])?;
/// assert_eq!(macro_f1(&table), Ok(0.8 / 3.0));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn macro_f1(table: &Table) -> Figure {
    let used: Vec<f64> = (0..table.classes()).filter_map(|class| f1(table, class).ok()).collect();
    if used.is_empty() {
        return Err(Undefined::NoPairs);
    }
    Ok(used.iter().sum::<f64>() / used.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{equals, prints, table};

    #[test]
    fn the_documented_example_of_scikit_learn_gives_its_value() {
        // `f1_score([0, 1, 2, 0, 1, 2], [0, 2, 1, 0, 0, 1], average="macro")`.
        prints(macro_f1(&table([[2, 0, 0], [1, 0, 1], [0, 2, 0]])), "0.267");
    }

    #[test]
    fn a_class_that_nobody_uses_does_not_pull_the_mean_down() {
        equals(macro_f1(&table([[3, 0, 0], [0, 2, 0], [0, 0, 0]])), 1.0);
        equals(macro_f1(&table([[3, 0, 0], [0, 2, 0], [1, 0, 0]])), (6.0 / 7.0 + 1.0) / 3.0);
    }

    #[test]
    fn no_pair_has_none() {
        assert_eq!(macro_f1(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
