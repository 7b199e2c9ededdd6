//! Agreement beyond what chance alone would give.

use crate::table::quotient;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "cohen_kappa",
    name: "Cohen's kappa",
    meaning: "How far two sides agree beyond what their own frequencies of the classes would give by chance: 1 is full \
              agreement, 0 is what chance alone would give, below 0 is worse.",
    formula: "(po - pe) / (1 - pe) with po = sum of n_ii / n and pe = sum of r_i c_i / n^2",
    range: "-1 to 1",
    undefined: "there is no pair; or both sides use one and the same class throughout (pe = 1), which is not full agreement. \
                A side that always says one class has kappa exactly 0 when the other varies",
    caution: "Depends on the mix of stages of the night: the kappa of one night and the kappa of pooled nights are different \
              quantities. Adjectives for ranges of kappa are arbitrary and not printed.",
    source: "Cohen 1960, Educational and Psychological Measurement 20(1), 37-46",
};

/// Returns Cohen's kappa, -1..=1: how far two sides agree beyond chance.
///
/// Undefined when there is no pair, or both sides use one and the same class throughout.
/// Source: Cohen 1960, Educational and Psychological Measurement 20(1), 37-46.
///
/// ```
/// # use counterpane_stats::{cohen_kappa, Table};
/// // 35 of 50 pairs agree: po = 0.7. Rows 25 and 25, columns 30 and 20:
/// // pe = (25*30 + 25*20) / 50^2 = 0.5. Kappa = (0.7 - 0.5) / (1 - 0.5) = 0.4.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(cohen_kappa(&table), Ok(0.4));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn cohen_kappa(table: &Table) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    // In whole numbers, multiplied by n^2, so that 0, 1 and pe = 1 come out exactly.
    let n = i128::from(table.n());
    let by_chance: i128 = table.margins().map(|(row, column)| row * column).sum();
    if by_chance == n * n {
        return Err(Undefined::ExpectedAgreement1);
    }
    Ok(quotient(n * i128::from(table.agreeing()) - by_chance, n * n - by_chance))
}

/// Returns the agreement that chance alone would give, pe; the caller has made sure that there are pairs.
pub(crate) fn expected_agreement(table: &Table) -> f64 {
    let by_chance: i128 = table.margins().map(|(row, column)| row * column).sum();
    quotient(by_chance, i128::from(table.n()) * i128::from(table.n()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{prints, table};

    #[test]
    fn published_tables_give_their_printed_kappa() {
        // Cohen 1960, as quoted in the R package psych.
        prints(cohen_kappa(&table([[88, 14, 18], [10, 40, 10], [2, 6, 12]])), "0.492");
        // Fleiss, Cohen and Everitt 1969, Psychological Bulletin 72:323-327; table as quoted in psych.
        prints(cohen_kappa(&table([[106, 10, 4], [22, 28, 10], [2, 12, 6]])), "0.429");
        // Output of SAS PROC FREQ, kept in the tests of statsmodels (test_inter_rater.py).
        prints(cohen_kappa(&table([[0, 4, 1], [0, 8, 0], [0, 1, 5]])), "0.4842");
        // Fleiss 1981, Statistical Methods for Rates and Proportions, chapter on agreement (from memory).
        prints(cohen_kappa(&table([[75, 1, 4], [5, 4, 1], [0, 0, 10]])), "0.676");
        // Boyd 1982, 85 mammograms, as in Altman 1991 (from memory).
        prints(cohen_kappa(&table([[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]])), "0.4728");
        // Gerstman, Epidemiology Kept Simple, illustrative example 10.1.
        prints(cohen_kappa(&table([[1467, 782], [1309, 16232]])), "0.524");
        // Gwet 2014, Handbook of Inter-Rater Reliability; output in the documentation of irrCAC.
        prints(cohen_kappa(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), "0.7964094");
    }

    #[test]
    fn the_paradox_tables_of_feinstein_and_cicchetti_give_their_printed_kappa() {
        // Feinstein and Cicchetti 1990, Journal of Clinical Epidemiology 43:543-549; a and b as printed in
        // Gerstman's illustrative example 10.2, c and d from memory.
        prints(cohen_kappa(&table([[40, 9], [6, 45]])), "0.70");
        prints(cohen_kappa(&table([[80, 10], [5, 5]])), "0.32");
        prints(cohen_kappa(&table([[45, 15], [25, 15]])), "0.13");
        prints(cohen_kappa(&table([[25, 35], [5, 35]])), "0.26");
    }

    #[test]
    fn two_by_two_tables_from_print_give_their_kappa() {
        // Dohoo, Martin and Stryhn, Veterinary Epidemiologic Research, as worked in the R package epiR.
        prints(cohen_kappa(&table([[19, 10], [6, 256]])), "0.67");
        // Watson and Petrie 2010, Theriogenology 73:1167, as worked in epiR.
        prints(cohen_kappa(&table([[596, 61], [29, 987]])), "0.89");
        // Sim and Wright 2005, Physical Therapy 85:257-268 (from memory).
        prints(cohen_kappa(&table([[22, 2], [4, 11]])), "0.67");
        // Gwet 2002, Statistical Methods for Inter-Rater Reliability Assessment (from memory).
        prints(cohen_kappa(&table([[118, 5], [2, 0]])), "-0.023");
    }

    #[test]
    fn a_class_that_neither_side_uses_makes_no_difference() {
        // Two raters of the `anxiety` data of the R package irr; nobody uses class 5. Output of
        // `irr::kappa2`, kept in the tests of statsmodels.
        let a = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4].map(|class| Some(class - 1));
        let b = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2].map(|class| Some(class - 1));
        prints(cohen_kappa(&Table::from_pairs(6, &a, &b).unwrap()), "-0.006289308");
    }

    #[test]
    fn a_device_that_always_says_the_same_has_kappa_zero_exactly() {
        assert_eq!(cohen_kappa(&table([[0, 15, 0], [0, 7, 0], [0, 16, 0]])), Ok(0.0));
    }

    #[test]
    fn full_agreement_is_one_exactly_and_one_class_on_both_sides_is_undefined() {
        assert_eq!(cohen_kappa(&table([[105, 0, 0], [0, 65, 0], [0, 0, 34]])), Ok(1.0));
        assert_eq!(cohen_kappa(&table([[34, 0], [0, 0]])), Err(Undefined::ExpectedAgreement1));
        assert_eq!(cohen_kappa(&table([[0, 0], [0, 0]])), Err(Undefined::NoPairs));
    }
}
