//! Whether the spread of the differences grows with the size.

use crate::line::{Line, line};
use crate::proportional_bias::means;
use crate::special::chi_square_above;
use crate::{Statistic, Undefined, proportional_bias};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "spread_growth",
    name: "Spread that grows",
    meaning: "Whether nights with larger values differ more: the slope of the sizes of the residuals on the means, and a test.",
    formula: "residuals e of d on A; least squares of |e| on A: c0 + c1 A; LM = n R^2 of e^2 on A, p from chi-square with 1 degree of \
              freedom",
    range: "slope any; LM 0 to n",
    undefined: "there are fewer than three pairs, all means are equal, or all differences lie on a line",
    caution: "Few nights hardly ever show it: look at the plot.",
    source: "Bland and Altman 1999, Statistical Methods in Medical Research 8(2), section 3.2; Koenker 1981, Journal of Econometrics \
             17(1), 107-112",
};

/// How the spread changes with the size.
#[derive(Clone, Debug, PartialEq)]
pub struct SpreadGrowth {
    /// The sizes of the residuals on the means.
    pub line: Line,
    /// The statistic LM of Koenker's test.
    pub lm: f64,
    /// Its p.
    pub p: f64,
}

/// Returns how the spread of the differences changes with the size, for pairs of `[reference, device]`.
///
/// Source: Bland and Altman 1999, Statistical Methods in Medical Research 8(2), section 3.2; Koenker 1981, Journal of
/// Econometrics 17(1), 107-112.
///
/// ```
/// # use counterpane_stats::spread_growth;
/// // d is 0, 0 at A = 1 and -1, +1 at A = 3: the residuals grow by 1 for 2, and e^2 lies on the line: R^2 = 1, LM = 4.
/// let growth = spread_growth(&[[1.0, 1.0], [1.0, 1.0], [3.5, 2.5], [2.5, 3.5]])?;
/// assert!((growth.line.slope - 0.5).abs() < 1e-12 && (growth.lm - 4.0).abs() < 1e-12);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn spread_growth(pairs: &[[f64; 2]]) -> Result<SpreadGrowth, Undefined> {
    let (places, about) = (means(pairs), proportional_bias(pairs)?);
    let squares: Vec<f64> = about.residuals.iter().map(|e| e * e).collect();
    let n = squares.len() as f64;
    let mean = squares.iter().sum::<f64>() / n;
    let total: f64 = squares.iter().map(|s| (s - mean).powi(2)).sum();
    if total == 0.0 {
        return Err(Undefined::ZeroVariance);
    }
    let left: f64 = line(&places, &squares)?.residuals.iter().map(|e| e * e).sum();
    let lm = n * (1.0 - left / total).max(0.0);
    let sizes: Vec<f64> = about.residuals.iter().map(|e| e.abs()).collect();
    Ok(SpreadGrowth { line: line(&places, &sizes)?, lm, p: chi_square_above(lm, 1) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_on_a_line_have_no_spread_to_grow() {
        assert_eq!(spread_growth(&[[1.0, 2.0], [2.0, 3.0], [3.0, 4.0]]), Err(Undefined::ZeroVariance));
    }
}
