//! Correlation of two classifications.

use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "mcc",
    name: "Matthews correlation coefficient, for any number of classes",
    meaning: "The correlation of the two classifications: 1 is full agreement, 0 is none beyond chance.",
    formula: "(n sum of n_ii - sum of r_i c_i) / sqrt((n^2 - sum of c_i^2)(n^2 - sum of r_i^2))",
    range: "-1 to 1; kappa never lies further from 0, and equals it exactly where both sides use each class equally often",
    undefined: "there is no pair; or either side says one class throughout",
    caution: "scikit-learn returns 0 where it is undefined.",
    source: "Gorodkin 2004, Computational Biology and Chemistry 28, 367-374 (from memory)",
};

/// Returns the multi-class Matthews correlation coefficient, -1..=1.
///
/// Undefined when there is no pair, or either side says one class throughout. Source: Gorodkin 2004,
/// Computational Biology and Chemistry 28, 367-374 (from memory).
///
/// ```
/// # use counterpane_stats::{mcc, Table};
/// // n sum n_ii - sum r_i c_i = 50*35 - (25*30 + 25*20) = 500.
/// // n^2 - sum c_i^2 = 2500 - 1300 = 1200; n^2 - sum r_i^2 = 2500 - 1250 = 1250.
/// // 500 / sqrt(1200 * 1250) = 500 / 1224.74 = 0.408.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(mcc(&table), Ok(500.0 / (1200_f64.sqrt() * 1250_f64.sqrt())));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn mcc(table: &Table) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    let n = i128::from(table.n());
    let (mut both, mut rows, mut columns) = (0, 0, 0);
    for (row, column) in table.margins() {
        both += row * column;
        rows += row * row;
        columns += column * column;
    }
    let (row_spread, column_spread) = (n * n - rows, n * n - columns);
    if row_spread == 0 || column_spread == 0 {
        return Err(Undefined::ZeroVariance);
    }
    let covariance = n * i128::from(table.agreeing()) - both;
    if row_spread == column_spread {
        // The root of a square, so that full agreement gives 1 and not a number beside it.
        return Ok(covariance as f64 / row_spread as f64);
    }
    // Two roots, because the product of the two spreads may be too big for a whole number.
    Ok(covariance as f64 / ((column_spread as f64).sqrt() * (row_spread as f64).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{equals, prints, table};

    #[test]
    fn published_tables_give_their_value() {
        // A widely reprinted example of 12 cases (from memory).
        prints(mcc(&table([[6, 2], [1, 3]])), "0.478");
        // The example of `matthews_corrcoef` in the documentation of scikit-learn.
        let side = |labels: [usize; 4]| labels.map(Some);
        let documented = Table::from_pairs(2, &side([1, 1, 1, 0]), &side([1, 0, 1, 1])).unwrap();
        prints(mcc(&documented), "-0.33");
        equals(mcc(&documented), -1.0 / 3.0);
        // Gwet's table; Gorodkin's equation 8 on one-hot matrices gives the same number.
        equals(
            mcc(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])),
            covariance_form([[13, 0, 0], [0, 20, 7], [0, 4, 56]]),
        );
        equals(mcc(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), 0.797_898_178_541_696);
    }

    /// Gorodkin's definition: COV(X, Y) / sqrt(COV(X, X) COV(Y, Y)) of the one-hot matrices.
    fn covariance_form<const K: usize>(counts: [[u64; K]; K]) -> f64 {
        let table = table(counts);
        let n = table.n() as f64;
        let share = |c: u64| c as f64 / n;
        let cov = |joint: &dyn Fn(usize) -> f64, a: &dyn Fn(usize) -> f64, b: &dyn Fn(usize) -> f64| {
            (0..K).map(|k| joint(k) - a(k) * b(k)).sum::<f64>()
        };
        let row = |k: usize| share(table.row_sum(k));
        let column = |k: usize| share(table.column_sum(k));
        let both = |k: usize| share(table.count(k, k));
        cov(&both, &row, &column) / (cov(&row, &row, &row) * cov(&column, &column, &column)).sqrt()
    }

    #[test]
    fn a_side_that_never_varies_leaves_it_undefined_not_zero() {
        assert_eq!(mcc(&table([[0, 15], [0, 7]])), Err(Undefined::ZeroVariance));
        assert_eq!(mcc(&table([[15, 7], [0, 0]])), Err(Undefined::ZeroVariance));
        assert_eq!(mcc(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }

    #[test]
    fn full_agreement_is_one_exactly() {
        assert_eq!(mcc(&table([[105, 0, 0], [0, 65, 0], [0, 0, 34]])), Ok(1.0));
    }
}
