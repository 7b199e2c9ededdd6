//! How close the pairs lie to the line of equality.

use crate::special::Z95;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "ccc",
    name: "Lin's concordance correlation coefficient",
    meaning: "How close pairs of values lie to the line on which both are equal: the correlation, made smaller by bias and by unequal \
              spread.",
    formula: "2 s_xy / (s_x^2 + s_y^2 + (mean x - mean y)^2) with divisors n; interval tanh(atanh +- 1.959964 se / (1 - ccc^2)), se with \
              the correction of 2000",
    range: "-1 to 1",
    undefined: "there is no pair, or both sides are constant and equal; the interval also for fewer than three pairs, a constant side, no \
                correlation or full concordance",
    caution: "Rises with the spread of the sample: never compare it across studies, never print it for fewer than ten participants or \
              without bias and limits of agreement.",
    source: "Lin 1989, Biometrics 45(1), 255-268; Lin 2000, Biometrics 56(1), 324-325",
};

/// The concordance correlation with its parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ccc {
    /// The coefficient, -1 to 1.
    pub value: f64,
    /// Its standard error.
    pub se: Result<f64, Undefined>,
    /// Its 95 % interval on Fisher's scale.
    pub interval: Result<(f64, f64), Undefined>,
    /// The correlation of Pearson.
    pub correlation: Result<f64, Undefined>,
}

/// Returns the concordance correlation of pairs of `[reference, device]` of independent participants.
///
/// Source: Lin 1989, Biometrics 45(1), 255-268; Lin 2000, Biometrics 56(1), 324-325.
///
/// ```
/// # use counterpane_stats::ccc;
/// // Variances 2/3, covariance 2/3, means 1 apart: (4/3) / (4/3 + 1) = 4/7. The correlation is 1.
/// let of = ccc(&[[1.0, 2.0], [2.0, 3.0], [3.0, 4.0]])?;
/// assert!((of.value - 4.0 / 7.0).abs() < 1e-15);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn ccc(pairs: &[[f64; 2]]) -> Result<Ccc, Undefined> {
    if pairs.is_empty() {
        return Err(Undefined::NoPairs);
    }
    let n = pairs.len() as f64;
    let average = |of: &dyn Fn(&[f64; 2]) -> f64| pairs.iter().map(of).sum::<f64>() / n;
    let (mean_x, mean_y) = (average(&|p| p[0]), average(&|p| p[1]));
    let x_square = average(&|p| (p[0] - mean_x).powi(2));
    let y_square = average(&|p| (p[1] - mean_y).powi(2));
    let both = average(&|p| (p[0] - mean_x) * (p[1] - mean_y));
    let whole = x_square + y_square + (mean_x - mean_y).powi(2);
    if whole == 0.0 {
        return Err(Undefined::ZeroVariance);
    }
    let value = 2.0 * both / whole;
    let root = (x_square * y_square).sqrt();
    let correlation = if root > 0.0 { Ok(both / root) } else { Err(Undefined::ZeroVariance) };
    let se = correlation.and_then(|r| standard_error(n, value, r, (mean_y - mean_x).powi(2) / root));
    Ok(Ccc { value, se, interval: se.and_then(|se| fisher(value, se)), correlation })
}

fn standard_error(n: f64, value: f64, r: f64, shift_square: f64) -> Result<f64, Undefined> {
    if n < 3.0 {
        return Err(Undefined::NTooSmall);
    }
    if r == 0.0 {
        return Err(Undefined::ZeroDenominator);
    }
    let spread = (1.0 - r * r) * value * value * (1.0 - value * value) / (r * r);
    let shift = 2.0 * value.powi(3) * (1.0 - value) * shift_square / r;
    let both = value.powi(4) * shift_square * shift_square / (2.0 * r * r);
    Ok(((spread + shift - both) / (n - 2.0)).max(0.0).sqrt())
}

fn fisher(value: f64, se: f64) -> Result<(f64, f64), Undefined> {
    if value.abs() >= 1.0 {
        return Err(Undefined::ZeroVariance);
    }
    let half = Z95 * se / (1.0 - value * value);
    Ok(((value.atanh() - half).tanh(), (value.atanh() + half).tanh()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{PEAK_FLOW, prints};

    #[test]
    fn the_peak_flows_have_their_printed_concordance() {
        // Digits as printed by common software for the data of Bland and Altman 1986 (from memory).
        let of = ccc(&PEAK_FLOW).unwrap();
        prints(Ok(of.value), "0.943");
        prints(of.correlation, "0.943");
        prints(of.se, "0.029");
        // Computed from the formula with numpy.
        prints(of.interval.map(|i| i.0), "0.850491873");
        prints(of.interval.map(|i| i.1), "0.978726279");
    }

    #[test]
    fn constant_sides_have_a_value_only_when_they_differ() {
        assert_eq!(ccc(&[[1.0, 1.0], [1.0, 1.0]]), Err(Undefined::ZeroVariance));
        let of = ccc(&[[1.0, 2.0], [1.0, 2.0], [1.0, 2.0]]).unwrap();
        assert_eq!((of.value, of.interval), (0.0, Err(Undefined::ZeroVariance)));
        assert_eq!(ccc(&[]), Err(Undefined::NoPairs));
    }
}
