//! Large-sample standard error of Cohen's kappa.

use crate::cohen_kappa::expected_agreement;
use crate::{Figure, Statistic, Table, cohen_kappa};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "kappa_se",
    name: "Standard error of Cohen's kappa",
    meaning: "The standard error of kappa when the pairs are independent of each other.",
    formula: "sqrt(A + B - C) / ((1 - pe) sqrt n) with p = n_ij / n, A = sum of p_ii [1 - (p_i. + p_.i)(1 - k)]^2, \
              B = (1 - k)^2 times the sum over i != j of p_ij (p_.i + p_j.)^2, C = [k - pe (1 - k)]^2. In B the margins are \
              crossed: the column margin of i and the row margin of j",
    range: "0 and up",
    undefined: "kappa is undefined",
    caution: "Epochs of one night are not independent, so this is far too small for an interval about sleep and is not printed \
              as one. It is 0 for kappa 1 and for a side that never varies.",
    source: "Fleiss, Cohen and Everitt 1969, Psychological Bulletin 72(5), 323-327",
};

/// Returns the large-sample standard error of Cohen's kappa for independent pairs.
///
/// Undefined where kappa is. Source: Fleiss, Cohen and Everitt 1969, Psychological Bulletin 72(5),
/// 323-327; here as the variance of the influence of each pair, which is the same number.
///
/// ```
/// # use counterpane_stats::{kappa_se, Table};
/// // k = 0.4, pe = 0.5, margins 0.5, 0.5 (rows) and 0.6, 0.4 (columns).
/// // A = 0.4 (1 - 1.1*0.6)^2 + 0.3 (1 - 0.9*0.6)^2 = 0.04624 + 0.06348 = 0.10972
/// // B = 0.36 (0.1 (0.6 + 0.5)^2 + 0.2 (0.4 + 0.5)^2) = 0.36 * 0.283 = 0.10188
/// // C = (0.4 - 0.5*0.6)^2 = 0.01; SE = sqrt(0.2016) / (0.5 sqrt 50) = 0.127
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// let se = kappa_se(&table).unwrap_or(f64::NAN);
/// assert!((se - 0.2016_f64.sqrt() / (0.5 * 50_f64.sqrt())).abs() < 1e-12);
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn kappa_se(table: &Table) -> Figure {
    let kappa = cohen_kappa(table)?;
    let n = table.n() as f64;
    let expected = expected_agreement(table);
    let row = |class| table.row_sum(class) as f64 / n;
    let column = |class| table.column_sum(class) as f64 / n;
    let influence = |i: usize, j: usize| f64::from(u8::from(i == j)) - (1.0 - kappa) * (column(i) + row(j));
    Ok(table.variance_of(influence).sqrt() / ((1.0 - expected) * n.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Undefined;
    use crate::testing::{prints, table};

    #[test]
    fn published_tables_give_their_printed_standard_error() {
        // Fleiss, Cohen and Everitt 1969; printed digits from memory. Uncrossed margins would give 0.0542.
        let example = table([[106, 10, 4], [22, 28, 10], [2, 12, 6]]);
        prints(kappa_se(&example), "0.0537");
        prints(kappa_se(&example).map(|se| se * se), "0.002885");
        prints(kappa_se(&example.transposed()), "0.0537");
        // Output of SAS PROC FREQ, kept in the tests of statsmodels. Uncrossed margins would give 0.1615.
        prints(kappa_se(&table([[0, 4, 1], [0, 8, 0], [0, 1, 5]])), "0.1380");
        // Fleiss 1981, Statistical Methods for Rates and Proportions (from memory).
        prints(kappa_se(&table([[75, 1, 4], [5, 4, 1], [0, 0, 10]])), "0.088");
        // Gwet 2014; output in the documentation of irrCAC.
        prints(kappa_se(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), "0.05891072");
        // Cohen 1960's table; value of statsmodels 0.15 `cohens_kappa`.
        prints(kappa_se(&table([[88, 14, 18], [10, 40, 10], [2, 6, 12]])), "0.0510018155761");
        // Boyd 1982's table; value of statsmodels 0.15 `cohens_kappa`.
        prints(kappa_se(&table([[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]])), "0.0727153781706");
    }

    /// Kappa plus and minus 1.96 standard errors.
    fn limits(table: &Table) -> (Figure, Figure) {
        let at = |z: f64| Ok(cohen_kappa(table)? + z * kappa_se(table)?);
        (at(-1.959_963_984_540_054), at(1.959_963_984_540_054))
    }

    #[test]
    fn printed_intervals_that_used_this_standard_error_are_met() {
        // Output of SAS PROC FREQ, kept in the tests of statsmodels.
        let (low, high) = limits(&table([[0, 4, 1], [0, 8, 0], [0, 1, 5]]));
        prints(low, "0.2137");
        prints(high, "0.7547");
        // Watson and Petrie 2010, Theriogenology 73:1167, as worked in the R package epiR.
        let (low, high) = limits(&table([[596, 61], [29, 987]]));
        prints(low, "0.86");
        prints(high, "0.91");
    }

    #[test]
    fn an_interval_in_print_that_used_the_null_standard_error_is_not_met() {
        // Dohoo, Martin and Stryhn, as worked in epiR, print 0.56 to 0.79: kappa_null_se.rs meets those.
        let (low, high) = limits(&table([[19, 10], [6, 256]]));
        prints(low, "0.52418776");
        prints(high, "0.82297993");
    }

    #[test]
    fn without_error_or_without_variation_it_is_zero() {
        assert_eq!(kappa_se(&table([[105, 0, 0], [0, 65, 0], [0, 0, 34]])), Ok(0.0));
        assert!(kappa_se(&table([[0, 15, 0], [0, 7, 0], [0, 16, 0]])).unwrap() < 1e-15);
        assert_eq!(kappa_se(&table([[34, 0], [0, 0]])), Err(Undefined::ExpectedAgreement1));
    }
}
