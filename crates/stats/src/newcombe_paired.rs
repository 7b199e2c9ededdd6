//! The difference of two shares of the same trials.

use crate::{Statistic, Table, Undefined, wilson_interval};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "newcombe_paired",
    name: "Newcombe's interval of a paired difference of shares, 95 %",
    meaning: "How much more often one of two sides says the first class than the other side does of the same trials, with its interval.",
    formula: "r_1/n - c_1/n; the interval squares and adds Wilson's limits of both shares, with the correlation of the two sides, whose \
              numerator is reduced by n/2 towards 0 (method 10)",
    range: "-1 to 1",
    undefined: "there is no pair, or the table has not two classes",
    caution: "For independent trials. Epochs of a night are not: descriptive only.",
    source: "Newcombe 1998, Statistics in Medicine 17(22), 2635-2650, method 10",
};

/// A paired difference of shares with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairedShares {
    /// Share of the first class on the reference's side minus that on the other side.
    pub difference: f64,
    /// Lower and upper limit, 95 %.
    pub interval: (f64, f64),
}

/// Returns the difference of two paired shares with Newcombe's interval; rows are one side, columns the other.
///
/// Source: Newcombe 1998, Statistics in Medicine 17(22), 2635-2650, method 10.
///
/// ```
/// # use counterpane_stats::{newcombe_paired, Table};
/// // 36 trials are hits of both, 12 of the first side only, 2 of the second only: 48/50 - 38/50 = 0.2.
/// // The interval is printed in the source as 0.0569 to 0.3404.
/// let both = newcombe_paired(&Table::from_counts(vec![vec![36, 12], vec![2, 0]])?);
/// assert!(both.is_ok_and(|d| (d.interval.0 - 0.0569).abs() < 5e-5 && (d.interval.1 - 0.3404).abs() < 5e-5));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn newcombe_paired(table: &Table) -> Result<PairedShares, Undefined> {
    if table.classes() != 2 {
        return Err(Undefined::NotTwoClasses);
    }
    let n = table.n() as f64;
    let (first, second) = (table.row_sum(0), table.column_sum(0));
    let (low_1, high_1) = wilson_interval(first, table.n())?;
    let (low_2, high_2) = wilson_interval(second, table.n())?;
    let (p1, p2) = (first as f64 / n, second as f64 / n);
    let phi = correlation(table);
    let half = |a: f64, b: f64| (a * a - 2.0 * phi * a * b + b * b).max(0.0).sqrt();
    let difference = p1 - p2;
    let interval = (difference - half(p1 - low_1, high_2 - p2), difference + half(high_1 - p1, p2 - low_2));
    Ok(PairedShares { difference, interval })
}

/// Returns the correlation of the two sides, reduced where it is positive; 0 when one side never varies.
fn correlation(table: &Table) -> f64 {
    let cell = |i, j| table.count(i, j) as f64;
    let sums = [table.row_sum(0), table.row_sum(1), table.column_sum(0), table.column_sum(1)];
    let root = sums.into_iter().map(|sum| sum as f64).product::<f64>().sqrt();
    if root == 0.0 {
        return 0.0;
    }
    let crossed = cell(0, 0) * cell(1, 1) - cell(0, 1) * cell(1, 0);
    (if crossed > 0.0 { (crossed - table.n() as f64 / 2.0).max(0.0) } else { crossed }) / root
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{prints, table};

    #[test]
    fn a_published_table_gives_its_printed_interval() {
        // Fagerland, Lydersen and Laake, Statistical Analysis of Contingency Tables, chapter 8, as kept in the tests
        // of the R package contingencytables.
        let d = newcombe_paired(&table([[59, 6], [16, 80]])).unwrap();
        prints(Ok(d.difference), "-0.0621");
        prints(Ok(d.interval.0), "-0.1186");
        prints(Ok(d.interval.1), "-0.0046");
    }

    #[test]
    fn it_is_for_two_classes_and_needs_a_pair() {
        assert_eq!(newcombe_paired(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
        assert_eq!(newcombe_paired(&table([[1, 0, 0], [0, 1, 0], [0, 0, 1]])), Err(Undefined::NotTwoClasses));
    }
}
