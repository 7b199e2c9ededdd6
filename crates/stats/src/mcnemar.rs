//! McNemar's test of two classes.

use crate::special::chi_square_above;
use crate::{Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "mcnemar",
    name: "McNemar's test",
    meaning: "For two classes: whether the two sides err in both directions alike.",
    formula: "chi-square = (b - c)^2 / (b + c) with one degree of freedom, without correction; exact p = 2 P(X <= min(b, c)), \
              X binomial with b + c trials and probability 1/2, at most 1, for the table a, b / c, d",
    range: "chi-square 0 and up; p 0 to 1",
    undefined: "there are not exactly two classes; or no pair disagrees",
    caution: "For independent pairs; over epochs of a night it is a description, not a test.",
    source: "McNemar 1947, Psychometrika 12, 153-157 (from memory)",
};

/// What McNemar's test gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct McNemar {
    /// Chi-square without correction.
    pub statistic: f64,
    /// Probability of a chi-square as large or larger under symmetry.
    pub p: f64,
    /// The exact probability of a difference as large or larger, both directions.
    pub p_exact: f64,
}

/// Returns McNemar's test.
///
/// Undefined when there are not exactly two classes, or no pair disagrees. Source: McNemar 1947,
/// Psychometrika 12, 153-157 (from memory).
///
/// ```
/// # use counterpane_stats::{mcnemar, Table};
/// // b = 1, c = 3: chi-square (1 - 3)^2 / 4 = 1; exact p = 2 (1 + 4) / 2^4 = 0.625.
/// let table = Table::from_counts(vec![vec![6, 1], vec![3, 2]])?;
/// let test = mcnemar(&table).map(|m| (m.statistic, (m.p_exact * 1000.0).round()));
/// assert_eq!(test, Ok((1.0, 625.0)));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn mcnemar(table: &Table) -> Result<McNemar, Undefined> {
    if table.classes() != 2 {
        return Err(Undefined::NotTwoClasses);
    }
    let (b, c) = (table.count(0, 1), table.count(1, 0));
    if b + c == 0 {
        return Err(Undefined::ZeroDenominator);
    }
    let statistic = b.abs_diff(c).pow(2) as f64 / (b + c) as f64;
    Ok(McNemar { statistic, p: chi_square_above(statistic, 1), p_exact: two_sided(b.min(c), b + c) })
}

/// Returns twice the probability of `hits` or fewer heads in `n` throws of a coin, at most 1.
fn two_sided(hits: u64, n: u64) -> f64 {
    let n = n as f64;
    // In logarithms, since half to the power of n underflows on long nights.
    let (mut log_term, mut sum) = (-n * std::f64::consts::LN_2, 0.0);
    for k in 0..=hits {
        let k = k as f64;
        sum += log_term.exp();
        log_term += ((n - k) / (k + 1.0)).ln();
    }
    (2.0 * sum).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn errors_in_both_directions_alike_give_no_evidence() {
        let found = mcnemar(&table([[5, 4], [4, 5]])).unwrap();
        assert_eq!((found.statistic, found.p, found.p_exact), (0.0, 1.0, 1.0));
    }

    #[test]
    fn three_classes_or_no_disagreement_leave_it_undefined() {
        assert_eq!(mcnemar(&table([[3]])), Err(Undefined::NotTwoClasses));
        assert_eq!(mcnemar(&table([[3, 0], [0, 4]])), Err(Undefined::ZeroDenominator));
    }
}
