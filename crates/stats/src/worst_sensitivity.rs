//! The class that the other side recognises worst.

use crate::{Statistic, Table, Undefined, sensitivity};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "worst_sensitivity",
    name: "Worst-stage sensitivity",
    meaning: "The least sensitivity among the classes with at least 20 epochs of the reference. Print which class it is and how \
              many epochs it has. It shows the stage that a headline number hides.",
    formula: "min of n_ii / r_i over the classes with r_i >= 20",
    range: "0 to 1",
    undefined: "no class has 20 epochs of the reference",
    caution: "The minimum of noisy estimates is biased low: it needs an interval of its own. 20 epochs are ten minutes; the \
              bound is a convention of this program.",
    source: "no source: a convention of this program",
};

/// Epochs of the reference that a class needs to be considered, by convention of this program.
pub const WORST_NEEDS: u64 = 20;

/// The class with the least sensitivity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorstClass {
    /// Number of the class, from 0.
    pub class: usize,
    /// Its sensitivity, 0..=1.
    pub sensitivity: f64,
    /// How often the reference uses it.
    pub n: u64,
}

/// Returns the class with the least sensitivity among those that the reference uses at least
/// `at_least` times (usually [`WORST_NEEDS`]); of equal ones the first.
///
/// ```
/// # use counterpane_stats::{worst_sensitivity, Table};
/// // Class 0: 40/50 = 0.8. Class 1: 15/30 = 0.5. Class 2 has only 2 epochs and is not considered.
/// let table = Table::from_counts(vec![vec![40, 10, 0], vec![15, 15, 0], vec![2, 0, 0]])?;
/// let worst = worst_sensitivity(&table, 20);
/// assert_eq!(worst.map(|w| (w.class, w.sensitivity, w.n)), Ok((1, 0.5, 30)));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// [`Undefined::NoPairs`] for an empty table, [`Undefined::NTooSmall`] when no class qualifies.
pub fn worst_sensitivity(table: &Table, at_least: u64) -> Result<WorstClass, Undefined> {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    (0..table.classes())
        .filter(|class| table.row_sum(*class) >= at_least.max(1))
        .filter_map(|class| {
            Some(WorstClass { class, sensitivity: sensitivity(table, class).ok()?, n: table.row_sum(class) })
        })
        .reduce(|worst, next| if next.sensitivity < worst.sensitivity { next } else { worst })
        .ok_or(Undefined::NTooSmall)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn of_equal_classes_the_first_is_named() {
        let worst = worst_sensitivity(&table([[10, 10], [10, 10]]), WORST_NEEDS);
        assert_eq!(worst.map(|w| w.class), Ok(0));
    }

    #[test]
    fn a_rare_class_is_not_considered() {
        let rare = table([[19, 0], [0, 19]]);
        assert_eq!(worst_sensitivity(&rare, WORST_NEEDS), Err(Undefined::NTooSmall));
        assert_eq!(worst_sensitivity(&table([[0, 0], [0, 0]]), 0), Err(Undefined::NoPairs));
    }
}
