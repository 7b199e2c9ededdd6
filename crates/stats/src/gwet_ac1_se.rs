//! Large-sample standard error of Gwet's AC1.

use crate::{Figure, Statistic, Table, gwet_ac1};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "gwet_ac1_se",
    name: "Standard error of Gwet's AC1",
    meaning: "The standard error of AC1 for two raters when the pairs are independent of each other.",
    formula: "square root of [po (1 - po) - 4 (1 - g)(sum of p_ii (1 - q_i) / (K - 1) - po pe) + 4 (1 - g)^2 (sum of p_ij \
              [1 - (q_i + q_j) / 2]^2 / (K - 1)^2 - pe^2)] / (n (1 - pe)^2), g the AC1",
    range: "0 and up",
    undefined: "AC1 is undefined",
    caution: "The divisor is n, as in the paper's large-sample form; some software divides by n - 1. Epochs of one night are not \
              independent, so it is not printed as an interval about sleep.",
    source: "Gwet 2008, British Journal of Mathematical and Statistical Psychology 61, 29-48",
};

/// Returns the large-sample standard error of Gwet's AC1 for independent pairs.
///
/// Undefined where AC1 is. Source: Gwet 2008, British Journal of Mathematical and Statistical
/// Psychology 61, 29-48; here as the variance of the influence of each pair, which is the same number.
///
/// ```
/// # use counterpane_stats::{gwet_ac1_se, Table};
/// // q = 0.55 and 0.45, pe = 0.495, g = 0.405941, po (1 - po) = 0.21.
/// // sum p_ii (1 - q_i) - po pe = 0.4*0.45 + 0.3*0.55 - 0.3465 = -0.0015
/// // sum p_ij [1 - (q_i + q_j)/2]^2 - pe^2 = 0.4*0.2025 + 0.3*0.3025 + 0.3*0.25 - 0.245025 = 0.001725
/// // sqrt(0.21 + 4*0.594059*0.0015 + 4*0.352907*0.001725) / (0.505 sqrt 50) = 0.130152
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert!((gwet_ac1_se(&table).unwrap_or(f64::NAN) - 0.130_152).abs() < 5e-7);
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn gwet_ac1_se(table: &Table) -> Figure {
    let ac1 = gwet_ac1(table)?;
    let (n, others) = (table.n() as f64, (table.classes() - 1) as f64);
    let mean: Vec<f64> =
        (0..table.classes()).map(|i| (table.row_sum(i) + table.column_sum(i)) as f64 / (2.0 * n)).collect();
    let expected = mean.iter().map(|q| q * (1.0 - q)).sum::<f64>() / others;
    let influence = |i: usize, j: usize| {
        f64::from(u8::from(i == j)) - 2.0 * (1.0 - ac1) * (1.0 - (mean[i] + mean[j]) / 2.0) / others
    };
    Ok(table.variance_of(influence).sqrt() / ((1.0 - expected) * n.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Undefined;
    use crate::testing::{prints, table};

    #[test]
    fn a_published_table_gives_its_printed_standard_error() {
        // Gwet 2014; output in the documentation of irrCAC.
        prints(gwet_ac1_se(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), "0.04321747");
    }

    #[test]
    fn without_error_it_is_zero() {
        assert_eq!(gwet_ac1_se(&table([[34, 0], [0, 0]])), Ok(0.0));
        assert_eq!(gwet_ac1_se(&table([[34]])), Err(Undefined::ZeroDenominator));
    }
}
