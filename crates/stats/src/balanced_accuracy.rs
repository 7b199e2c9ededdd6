//! Mean of the sensitivities of the classes that the reference has.

use crate::{Figure, Statistic, Table, Undefined, sensitivity};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "balanced_accuracy",
    name: "Balanced accuracy (mean sensitivity)",
    meaning: "The mean of the sensitivities of the classes that the reference uses: each class weighs the same, however \
              rare it is. Print over how many classes the mean is taken.",
    formula: "mean of n_ii / r_i over the classes with r_i > 0",
    range: "0 to 1; a device that always says one class scores 1 / (classes the reference uses)",
    undefined: "there is no pair",
    caution: "A night without one of the stages averages over fewer classes, so nights are comparable only where the \
              number of classes is the same.",
    source: "Brodersen, Ong, Stephan and Buhmann 2010, International Conference on Pattern Recognition (from memory); \
             the rule for absent classes is scikit-learn's `balanced_accuracy_score`",
};

/// Returns the mean of the sensitivities of the classes that the reference has, 0..=1.
///
/// Undefined when there is no pair. Source: Brodersen et al. 2010 (from memory); absent classes as
/// in scikit-learn's `balanced_accuracy_score`.
///
/// ```
/// # use counterpane_stats::{balanced_accuracy, Table};
/// // Sensitivities 20/25 = 0.8 and 15/25 = 0.6: their mean is 0.7.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(balanced_accuracy(&table), Ok(0.7));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn balanced_accuracy(table: &Table) -> Figure {
    let present: Vec<f64> = (0..table.classes()).filter_map(|class| sensitivity(table, class).ok()).collect();
    if present.is_empty() {
        return Err(Undefined::NoPairs);
    }
    Ok(present.iter().sum::<f64>() / present.len() as f64)
}

/// Returns over how many classes [`balanced_accuracy`] takes its mean: those that the reference uses.
#[must_use]
pub fn balanced_accuracy_classes(table: &Table) -> usize {
    (0..table.classes()).filter(|class| table.row_sum(*class) > 0).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{equals, table};

    #[test]
    fn the_documented_example_of_scikit_learn_gives_its_value() {
        // `balanced_accuracy_score` of [0, 1, 0, 0, 1, 0] and [0, 1, 0, 0, 0, 1]: (3/4 + 1/2) / 2.
        let side = |labels: [usize; 6]| labels.map(Some);
        let table = Table::from_pairs(2, &side([0, 1, 0, 0, 1, 0]), &side([0, 1, 0, 0, 0, 1])).unwrap();
        equals(balanced_accuracy(&table), 0.625);
    }

    #[test]
    fn a_class_that_the_reference_never_uses_is_left_out_of_the_mean() {
        let table = table([[3, 0, 1], [1, 1, 0], [0, 0, 0]]);
        equals(balanced_accuracy(&table), 0.625);
        assert_eq!(balanced_accuracy_classes(&table), 2);
    }

    #[test]
    fn no_pair_has_none() {
        assert_eq!(balanced_accuracy(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
