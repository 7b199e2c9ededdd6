//! Standard error of Cohen's kappa when there is no agreement beyond chance.

use crate::cohen_kappa::expected_agreement;
use crate::{Figure, Statistic, Table, cohen_kappa};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "kappa_null_se",
    name: "Null standard error of Cohen's kappa",
    meaning: "The standard error that kappa would have if the two sides agreed by chance only: for testing whether kappa is 0.",
    formula: "sqrt(pe + pe^2 - sum of p_i. p_.i (p_i. + p_.i)) / ((1 - pe) sqrt n)",
    range: "0 and up; z = kappa divided by it",
    undefined: "kappa is undefined",
    caution: "Never for an interval around kappa: published software gets this wrong. The caution about epochs that depend on \
              each other holds here too.",
    source: "Fleiss, Cohen and Everitt 1969, Psychological Bulletin 72(5), 323-327",
};

/// Returns the standard error of Cohen's kappa under chance agreement, for independent pairs.
///
/// Undefined where kappa is. Source: Fleiss, Cohen and Everitt 1969, Psychological Bulletin 72(5),
/// 323-327; here as the variance of the influence of each pair, which is the same number.
///
/// ```
/// # use counterpane_stats::{kappa_null_se, Table};
/// // pe = 0.5; sum of p_i. p_.i (p_i. + p_.i) = 0.5*0.6*1.1 + 0.5*0.4*0.9 = 0.51.
/// // SE = sqrt(0.5 + 0.25 - 0.51) / (0.5 sqrt 50) = sqrt(0.24) / 3.5355 = 0.1386
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// let se = kappa_null_se(&table).unwrap_or(f64::NAN);
/// assert!((se - 0.24_f64.sqrt() / (0.5 * 50_f64.sqrt())).abs() < 1e-12);
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn kappa_null_se(table: &Table) -> Figure {
    cohen_kappa(table)?;
    let n = table.n() as f64;
    let k = table.classes();
    let rows: Vec<f64> = (0..k).map(|class| table.row_sum(class) as f64 / n).collect();
    let columns: Vec<f64> = (0..k).map(|class| table.column_sum(class) as f64 / n).collect();
    let expected = expected_agreement(table);
    let mut variance = 0.0;
    for i in 0..k {
        for j in 0..k {
            let influence = f64::from(u8::from(i == j)) - (columns[i] + rows[j]);
            variance += rows[i] * columns[j] * (influence + expected).powi(2);
        }
    }
    Ok(variance.sqrt() / ((1.0 - expected) * n.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::special::erfc;
    use crate::testing::{prints, table};

    fn z(table: &Table) -> Figure {
        Ok(cohen_kappa(table)? / kappa_null_se(table)?)
    }

    #[test]
    fn published_tables_give_their_printed_null_standard_error() {
        // Fleiss, Cohen and Everitt 1969; printed digits from memory.
        prints(kappa_null_se(&table([[106, 10, 4], [22, 28, 10], [2, 12, 6]])), "0.0555");
        // Output of SAS PROC FREQ, kept in the tests of statsmodels.
        let sas = table([[0, 4, 1], [0, 8, 0], [0, 1, 5]]);
        prints(kappa_null_se(&sas), "0.1484");
        prints(z(&sas), "3.2626");
        // Fleiss 1981, Statistical Methods for Rates and Proportions (from memory).
        let diagnoses = table([[75, 1, 4], [5, 4, 1], [0, 0, 10]]);
        prints(kappa_null_se(&diagnoses), "0.076");
        prints(z(&diagnoses), "8.88");
        // Boyd 1982, 85 mammograms, as in Altman 1991 (from memory).
        let mammograms = table([[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]]);
        prints(kappa_null_se(&mammograms), "0.0694");
        prints(z(&mammograms), "6.81");
        // Cohen 1960's table; value of statsmodels 0.15 `cohens_kappa`.
        prints(kappa_null_se(&table([[88, 14, 18], [10, 40, 10], [2, 6, 12]])), "0.0519789363566");
    }

    #[test]
    fn a_printed_interval_that_used_it_wrongly_is_met_with_it() {
        // Dohoo, Martin and Stryhn, Veterinary Epidemiologic Research, as worked in epiR: 0.56 to 0.79.
        let table = table([[19, 10], [6, 256]]);
        let at = |z: f64| Ok(cohen_kappa(&table)? + z * kappa_null_se(&table)?);
        prints(at(-1.959_963_984_540_054), "0.56");
        prints(at(1.959_963_984_540_054), "0.79");
        prints(z(&table), "11.53");
    }

    #[test]
    fn the_anxiety_data_of_irr_give_their_printed_z() {
        let a = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4].map(|class| Some(class - 1));
        let b = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2].map(|class| Some(class - 1));
        let z = z(&Table::from_pairs(6, &a, &b).unwrap());
        prints(z, "-0.0604067");
        prints(z.map(|z| erfc(z.abs() / 2_f64.sqrt())), "0.9518317");
    }

    #[test]
    fn a_side_that_never_varies_has_none_to_speak_of() {
        assert!(kappa_null_se(&table([[0, 15, 0], [0, 7, 0], [0, 16, 0]])).unwrap() < 1e-15);
    }
}
