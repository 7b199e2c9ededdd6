//! Bowker's test of symmetry.

use crate::special::chi_square_above;
use crate::{Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "bowker",
    name: "Bowker's test of symmetry",
    meaning: "Whether the two sides err in both directions alike: as often i for j as j for i, for every pair of classes.",
    formula: "T = sum over i < j of (n_ij - n_ji)^2 / (n_ij + n_ji), pairs without a count left out; p from chi-square with \
              K(K-1)/2 degrees of freedom",
    range: "T 0 and up; p 0 to 1",
    undefined: "there is no pair; or fewer than two classes are declared",
    caution: "For independent pairs; over epochs of a night it is a description, not a test. Empty pairs of classes keep their degree \
              of freedom here.",
    source: "Bowker 1948, Journal of the American Statistical Association 43, 572-574 (from memory)",
};

/// What Bowker's test gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bowker {
    /// The statistic T.
    pub statistic: f64,
    /// Degrees of freedom.
    pub df: u32,
    /// Probability of a T as large or larger under symmetry.
    pub p: f64,
}

/// Returns Bowker's test of symmetry.
///
/// Undefined when there is no pair, or fewer than two classes are declared. Source: Bowker 1948,
/// Journal of the American Statistical Association 43, 572-574 (from memory).
///
/// ```
/// # use counterpane_stats::{bowker, Table};
/// // (2 - 14)^2 / 16 + 0 + 0 = 9, three pairs of classes.
/// let table = Table::from_counts(vec![vec![3, 2, 0], vec![14, 19, 0], vec![0, 0, 0]])?;
/// assert_eq!(bowker(&table).map(|b| (b.statistic, b.df)), Ok((9.0, 3)));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn bowker(table: &Table) -> Result<Bowker, Undefined> {
    let k = table.classes();
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    if k < 2 {
        return Err(Undefined::ZeroDenominator);
    }
    let pairs = (0..k).flat_map(|i| (i + 1..k).map(move |j| (i, j)));
    let share = |(i, j)| {
        let (above, below) = (table.count(i, j) as f64, table.count(j, i) as f64);
        if above + below == 0.0 { 0.0 } else { (above - below).powi(2) / (above + below) }
    };
    let statistic = pairs.map(share).sum::<f64>();
    let df = u32::try_from(k * (k - 1) / 2).unwrap_or(u32::MAX);
    Ok(Bowker { statistic, df, p: chi_square_above(statistic, df) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn a_symmetric_table_has_nothing_to_reject() {
        let found = bowker(&table([[5, 3, 1], [3, 8, 2], [1, 2, 6]]));
        assert_eq!(found, Ok(Bowker { statistic: 0.0, df: 3, p: 1.0 }));
    }

    #[test]
    fn one_class_or_no_pair_leaves_it_undefined() {
        assert_eq!(bowker(&table([[3]])), Err(Undefined::ZeroDenominator));
        assert_eq!(bowker(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
