//! Kappa in which some disagreements weigh more than others.

use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "weighted_kappa",
    name: "Weighted kappa",
    meaning: "Cohen's kappa with a weight for each kind of disagreement: taking deep sleep for wake can count more than taking it \
              for light sleep.",
    formula: "1 - sum of w_ij n_ij / n divided by sum of w_ij r_i c_j / n^2, w_ij the weight of the disagreement, w_ii = 0",
    range: "at most 1",
    undefined: "there is no pair; or the weighted disagreement by chance is 0",
    caution: "The weights are a choice and must be stated before looking at the data. Sleep stages have no agreed order.",
    source: "Cohen 1968, Psychological Bulletin 70(4), 213-220",
};

/// Returns weighted kappa for disagreement weights: `weight(i, j)` for reference class `i` and other
/// class `j`, 0 where they agree and never negative.
///
/// Weights of agreement `a` in 0..=1 become weights of disagreement as `1 - a`. Undefined when there
/// is no pair, or the weighted disagreement by chance is 0. Source: Cohen 1968, Psychological
/// Bulletin 70(4), 213-220.
///
/// ```
/// # use counterpane_stats::{weighted_kappa, Table};
/// // Weight 1 for missing class 0 and 2 for the other error: seen 5*1 + 10*2 = 25 of 50 = 0.5;
/// // by chance (25*20*1 + 25*30*2) / 50^2 = 0.8; 1 - 0.5 / 0.8 = 0.375.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// let weights = [[0.0, 1.0], [2.0, 0.0]];
/// assert_eq!(weighted_kappa(&table, |i, j| weights[i][j]), Ok(0.375));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn weighted_kappa(table: &Table, weight: impl Fn(usize, usize) -> f64) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    let (mut seen, mut by_chance) = (0.0, 0.0);
    for i in 0..table.classes() {
        for j in 0..table.classes() {
            seen += weight(i, j) * table.count(i, j) as f64;
            by_chance += weight(i, j) * table.row_sum(i) as f64 * table.column_sum(j) as f64;
        }
    }
    if by_chance == 0.0 {
        return Err(Undefined::ExpectedAgreement1);
    }
    Ok(1.0 - seen * table.n() as f64 / by_chance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohen_kappa;
    use crate::testing::{equals, prints, table};

    #[test]
    fn published_tables_give_their_printed_value() {
        // Cohen 1968, as quoted in the R package psych.
        let weights = [[0.0, 1.0, 3.0], [1.0, 0.0, 6.0], [3.0, 6.0, 0.0]];
        prints(weighted_kappa(&table([[88, 14, 18], [10, 40, 10], [2, 6, 12]]), |i, j| weights[i][j]), "0.348");
        // Fleiss, Cohen and Everitt 1969, with weights of agreement; table as quoted in psych.
        let agreement = [[1.0, 0.0, 0.4444], [0.0, 1.0, 0.6667], [0.4444, 0.6667, 1.0]];
        let example = table([[106, 10, 4], [22, 28, 10], [2, 12, 6]]);
        prints(weighted_kappa(&example, |i, j| 1.0 - agreement[i][j]), "0.507");
    }

    #[test]
    fn equal_weights_give_cohens_kappa() {
        let example = table([[88, 14, 18], [10, 40, 10], [2, 6, 12]]);
        equals(weighted_kappa(&example, |i, j| f64::from(u8::from(i != j))), cohen_kappa(&example).unwrap());
    }

    #[test]
    fn no_disagreement_by_chance_leaves_it_undefined() {
        let one = table([[34, 0], [0, 0]]);
        assert_eq!(weighted_kappa(&one, |i, j| f64::from(u8::from(i != j))), Err(Undefined::ExpectedAgreement1));
        assert_eq!(weighted_kappa(&table([[0, 0], [0, 0]]), |_, _| 1.0), Err(Undefined::NoPairs));
    }
}
