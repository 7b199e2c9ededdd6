//! Kappa as it would be if all classes were equally common.

use crate::table::quotient;
use crate::{Figure, Statistic, Table, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "pabak",
    name: "PABAK (prevalence- and bias-adjusted kappa)",
    meaning: "Kappa with the agreement by chance set to 1/K, as if all K declared classes were equally common. The same number is \
              in print as Bennett's S and as the Brennan-Prediger coefficient.",
    formula: "(K po - 1) / (K - 1); for two classes 2 po - 1",
    range: "-1/(K-1) to 1",
    undefined: "there is no pair; or only one class is declared",
    caution: "Accuracy on another scale: it adds no information. It depends on how many classes are declared, used or not.",
    source: "Byrt, Bishop and Carlin 1993, Journal of Clinical Epidemiology 46, 423-429 (from memory)",
};

/// Returns the prevalence- and bias-adjusted kappa.
///
/// Undefined when there is no pair, or only one class is declared. Source: Byrt, Bishop and Carlin
/// 1993, Journal of Clinical Epidemiology 46, 423-429 (from memory).
///
/// ```
/// # use counterpane_stats::{pabak, Table};
/// // po = 0.7 and two classes: 2 * 0.7 - 1 = 0.4.
/// let table = Table::from_counts(vec![vec![20, 5], vec![10, 15]])?;
/// assert_eq!(pabak(&table), Ok(0.4));
/// # Ok::<(), counterpane_stats::TableError>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn pabak(table: &Table) -> Figure {
    if table.n() == 0 {
        return Err(Undefined::NoPairs);
    }
    let k = table.classes() as i128;
    if k < 2 {
        return Err(Undefined::ZeroDenominator);
    }
    let n = i128::from(table.n());
    Ok(quotient(k * i128::from(table.agreeing()) - n, (k - 1) * n))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{prints, table};

    #[test]
    fn published_tables_give_their_printed_value() {
        // Feinstein and Cicchetti 1990, Journal of Clinical Epidemiology 43:543-549; a and b as printed in
        // Gerstman's illustrative example 10.2, c and d from memory.
        prints(pabak(&table([[40, 9], [6, 45]])), "0.70");
        prints(pabak(&table([[80, 10], [5, 5]])), "0.70");
        prints(pabak(&table([[45, 15], [25, 15]])), "0.20");
        prints(pabak(&table([[25, 35], [5, 35]])), "0.20");
        // Dohoo, Martin and Stryhn, Veterinary Epidemiologic Research, as worked in the R package epiR.
        prints(pabak(&table([[19, 10], [6, 256]])), "0.89");
        // Watson and Petrie 2010, Theriogenology 73:1167, as worked in epiR.
        prints(pabak(&table([[596, 61], [29, 987]])), "0.89");
        // Sim and Wright 2005, Physical Therapy 85:257-268 (from memory).
        prints(pabak(&table([[22, 2], [4, 11]])), "0.69");
        // Gwet 2014: the Brennan-Prediger coefficient; output in the documentation of irrCAC.
        prints(pabak(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), "0.835");
    }

    #[test]
    fn a_declared_class_counts_even_when_nobody_uses_it() {
        assert_eq!(pabak(&table([[1, 0], [1, 0]])), Ok(0.0));
        assert_eq!(pabak(&table([[1, 0, 0], [1, 0, 0], [0, 0, 0]])), Ok(0.25));
    }

    #[test]
    fn one_class_leaves_it_undefined() {
        assert_eq!(pabak(&table([[7]])), Err(Undefined::ZeroDenominator));
        assert_eq!(pabak(&table([[0]])), Err(Undefined::NoPairs));
    }
}
