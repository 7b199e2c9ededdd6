//! Agreement of several raters beyond chance.

use crate::{Figure, Ratings, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "fleiss_kappa",
    name: "Fleiss' kappa",
    meaning: "Agreement of several raters beyond chance, where every unit has the same number of ratings. For two raters it is \
              Scott's pi, not Cohen's kappa.",
    formula: "(P - Pe) / (1 - Pe) with P the mean over the units of (sum of x_uk^2 - m) / (m (m - 1)), x_uk the raters that gave \
              unit u the class k, m the raters, and Pe = sum of the squared shares of the classes",
    range: "-1/(m-1) to 1",
    undefined: "there is no unit; fewer than two raters; units with different numbers of ratings; or one class in use throughout",
    caution: "Where a rating is missing, Krippendorff's alpha is for that.",
    source: "Fleiss 1971, Psychological Bulletin 76(5), 378-382",
};

/// Returns Fleiss' kappa of several raters.
///
/// Undefined when there is no unit, there are fewer than two ratings a unit, the number of ratings
/// differs between units, or one class is in use throughout. Source: Fleiss 1971, Psychological
/// Bulletin 76(5), 378-382.
///
/// ```
/// # use counterpane_stats::{fleiss_kappa, Ratings};
/// // Two units, eight raters: (49 + 1 - 8)/56 = 0.75 and (9 + 25 - 8)/56 = 26/56; P = 0.607143.
/// // Shares 10/16 and 6/16: Pe = 0.53125; (0.607143 - 0.53125) / 0.46875 = 0.161905.
/// let ratings = Ratings::from_counts(vec![vec![7, 1], vec![3, 5]]);
/// assert!((fleiss_kappa(&ratings).unwrap_or(f64::NAN) - 0.161_905).abs() < 5e-7);
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn fleiss_kappa(ratings: &Ratings) -> Figure {
    let units = ratings.counts();
    let raters: u64 = units.first().ok_or(Undefined::NoPairs)?.iter().sum();
    if units.iter().any(|unit| unit.iter().sum::<u64>() != raters) {
        return Err(Undefined::UnequalRaters);
    }
    if raters < 2 {
        return Err(Undefined::NTooSmall);
    }
    let (n, m) = (units.len() as f64, raters as f64);
    let squares = |unit: &Vec<u64>| unit.iter().map(|x| (*x as f64).powi(2)).sum::<f64>();
    let observed = units.iter().map(|unit| (squares(unit) - m) / (m * (m - 1.0))).sum::<f64>() / n;
    let total = |class: usize| units.iter().map(|unit| unit[class]).sum::<u64>();
    let totals: Vec<u64> = (0..units[0].len()).map(total).collect();
    if totals.iter().filter(|t| **t > 0).count() < 2 {
        return Err(Undefined::ExpectedAgreement1);
    }
    let expected = totals.iter().map(|t| (*t as f64 / (n * m)).powi(2)).sum::<f64>();
    Ok((observed - expected) / (1.0 - expected))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{DIAGNOSES, TEN, equals, prints, table};
    use crate::{Table, scott_pi};

    fn check<const K: usize>(counts: &[[u64; K]], printed: &str) {
        prints(fleiss_kappa(&Ratings::from_counts(counts.iter().map(|unit| unit.to_vec()).collect())), printed);
    }

    #[test]
    fn published_tables_give_their_printed_value() {
        check(&DIAGNOSES, "0.4302445");
        // The first 15 patients; output in the documentation of irrCAC.
        check(&DIAGNOSES[..15], "0.4139265");
        // A widely reprinted example of 10 subjects and 14 raters, kept in the tests of statsmodels.
        check(&TEN, "0.210");
        // Values of Randolph's calculator, kept in the tests of statsmodels.
        check(&[[7, 1], [3, 5]], "0.161905");
        check(&[[6, 1, 0], [0, 7, 0]], "0.708333");
    }

    #[test]
    fn for_two_raters_it_is_scotts_pi() {
        let a: Vec<Option<usize>> = [0, 0, 1, 1, 2, 2, 0, 1].map(Some).to_vec();
        let b: Vec<Option<usize>> = [0, 1, 1, 1, 2, 0, 0, 2].map(Some).to_vec();
        let pi = scott_pi(&Table::from_pairs(3, &a, &b).unwrap()).unwrap();
        equals(fleiss_kappa(&Ratings::from_raters(3, &[&a, &b]).unwrap()), pi);
        equals(scott_pi(&table([[13, 0, 0], [0, 20, 7], [0, 4, 56]])), 0.796_239_696_211_910_8);
    }

    #[test]
    fn what_is_not_defined_says_why() {
        let of = |counts: Vec<Vec<u64>>| fleiss_kappa(&Ratings::from_counts(counts));
        assert_eq!(of(vec![]), Err(Undefined::NoPairs));
        assert_eq!(of(vec![vec![1, 0], vec![0, 1]]), Err(Undefined::NTooSmall));
        assert_eq!(of(vec![vec![2, 0], vec![0, 3]]), Err(Undefined::UnequalRaters));
        assert_eq!(of(vec![vec![2, 0], vec![2, 0]]), Err(Undefined::ExpectedAgreement1));
    }
}
