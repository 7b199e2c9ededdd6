//! Share of pairs that agree.

use crate::table::quotient;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "accuracy",
    name: "Accuracy (observed agreement)",
    meaning: "Of all pairs, the share in which both sides say the same class.",
    formula: "po = sum of n_ii / n",
    range: "0 to 1",
    undefined: "there is no pair",
    caution: "Dominated by the commonest class: about half of a night is light sleep, so a device that says \"light\" \
              all night scores near 50 %, and one that says \"asleep\" all night scores the sleep efficiency. \
              Say of all stages together; one stage has a sensitivity, not an accuracy.",
    source: "common practice, no source",
};

/// Returns the share of pairs that agree, 0..=1.
///
/// Undefined when there is no pair. Common practice, no source.
///
/// ```
/// # use counterpane_stats::{accuracy, Table};
/// // 35 of 50 pairs lie on the diagonal: 0.7.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(accuracy(&table), Ok(0.7));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn accuracy(table: &Table) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    Ok(quotient(table.agreeing(), table.n()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{prints, table};

    #[test]
    fn no_pair_has_no_accuracy() {
        assert_eq!(accuracy(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }

    #[test]
    fn published_tables_give_their_printed_agreement() {
        // Cohen 1960, Educational and Psychological Measurement 20:37-46, as quoted in the R package psych.
        prints(accuracy(&table([[88, 14, 18], [10, 40, 10], [2, 6, 12]])), "0.70");
        // Boyd 1982, 85 mammograms, as in Altman 1991 (from memory).
        prints(accuracy(&table([[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]])), "0.6353");
        // Gerstman, Epidemiology Kept Simple, illustrative example 10.1.
        prints(accuracy(&table([[1467, 782], [1309, 16232]])), "0.8943");
        // The example of `f1_score` in the documentation of scikit-learn: 2 of 6.
        prints(accuracy(&table([[2, 0, 0], [1, 0, 1], [0, 2, 0]])), "0.33");
    }
}
