//! Agreement of any number of raters with gaps.

use crate::{Figure, Ratings, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "krippendorff_alpha",
    name: "Krippendorff's alpha, nominal",
    meaning: "Agreement of any number of raters beyond chance, where ratings may be missing. A unit with a single rating says \
              nothing about agreement and is left out.",
    formula: "1 - (n - 1) times the sum over the units of (m_u^2 - sum of x_uk^2) / (m_u - 1), divided by n^2 - sum of n_k^2; \
              units with at least two ratings, m_u ratings of unit u, n ratings in all, n_k of class k",
    range: "at most 1",
    undefined: "no unit has two ratings; or one class is in use throughout",
    caution: "Corrected for small samples, so doubling every count moves it slightly.",
    source: "Krippendorff 2011, Computing Krippendorff's alpha-reliability",
};

/// Returns Krippendorff's alpha for nominal classes.
///
/// Undefined when no unit has two ratings, or one class is in use throughout. Source: Krippendorff
/// 2011, Computing Krippendorff's alpha-reliability.
///
/// ```
/// # use counterpane_stats::{krippendorff_alpha, Ratings};
/// // Two units, two raters: one agrees, one does not. n = 4, classes 3 and 1.
/// // 1 - 3 * (0 + (4 - 2) / 1) / (16 - 10) = 1 - 6/6 = 0.
/// let ratings = Ratings::from_counts(vec![vec![2, 0], vec![1, 1]]);
/// assert_eq!(krippendorff_alpha(&ratings), Ok(0.0));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn krippendorff_alpha(ratings: &Ratings) -> Figure {
    let paired: Vec<&Vec<u64>> = ratings.counts().iter().filter(|unit| unit.iter().sum::<u64>() >= 2).collect();
    let first = paired.first().ok_or(Undefined::NoPairs)?;
    let totals: Vec<u64> = (0..first.len()).map(|class| paired.iter().map(|unit| unit[class]).sum()).collect();
    if totals.iter().filter(|t| **t > 0).count() < 2 {
        return Err(Undefined::ExpectedAgreement1);
    }
    let square = |count: &u64| (*count as f64).powi(2);
    let disagreement = |unit: &&Vec<u64>| {
        let ratings = unit.iter().sum::<u64>() as f64;
        (ratings * ratings - unit.iter().map(square).sum::<f64>()) / (ratings - 1.0)
    };
    let n = totals.iter().sum::<u64>() as f64;
    let seen = paired.iter().map(disagreement).sum::<f64>();
    Ok(1.0 - (n - 1.0) * seen / (n * n - totals.iter().map(square).sum::<f64>()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{DIAGNOSES, prints};

    /// Raters as text: one digit a unit, `.` for no rating.
    fn check(classes: usize, raters: &[&str], printed: &str) {
        let read = |text: &&str| text.chars().map(|c| c.to_digit(10).map(|d| d as usize)).collect::<Vec<_>>();
        let raters: Vec<Vec<Option<usize>>> = raters.iter().map(read).collect();
        let raters: Vec<&[Option<usize>]> = raters.iter().map(Vec::as_slice).collect();
        prints(krippendorff_alpha(&Ratings::from_raters(classes, &raters).unwrap()), printed);
    }

    #[test]
    fn the_examples_of_krippendorff_2011_give_their_printed_value() {
        // Example C, with gaps; classes 1 to 5.
        check(6, &["123321412...", "1233224125.3", ".3332342251.", "12332441251."], "0.743");
        // Examples A and B, without gaps (from memory).
        check(2, &["0100000000", "1110010100"], "0.095");
        check(5, &["001132224330", "101112224333"], "0.692");
    }

    #[test]
    fn two_raters_of_a_published_table_give_its_printed_value() {
        // Gwet 2014; output in the documentation of irrCAC.
        let cells = [(0, 0, 13), (1, 1, 20), (1, 2, 7), (2, 1, 4), (2, 2, 56)];
        let unit = |(i, j, times): (usize, usize, usize)| {
            let mut counts = vec![0; 3];
            counts[i] += 1;
            counts[j] += 1;
            std::iter::repeat_n(counts, times)
        };
        prints(krippendorff_alpha(&Ratings::from_counts(cells.into_iter().flat_map(unit).collect())), "0.7972585");
    }

    #[test]
    fn six_raters_of_a_published_table_give_their_printed_value() {
        // The first 15 patients of Fleiss 1971; output in the documentation of irrCAC.
        let counts = DIAGNOSES[..15].iter().map(|unit| unit.to_vec()).collect();
        prints(krippendorff_alpha(&Ratings::from_counts(counts)), "0.4204384");
    }

    #[test]
    fn what_is_not_defined_says_why() {
        let of = |counts: Vec<Vec<u64>>| krippendorff_alpha(&Ratings::from_counts(counts));
        assert_eq!(of(vec![vec![1, 0], vec![0, 1]]), Err(Undefined::NoPairs));
        assert_eq!(of(vec![vec![2, 0], vec![2, 0]]), Err(Undefined::ExpectedAgreement1));
    }
}
