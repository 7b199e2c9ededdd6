//! Student's interval of a mean.

use crate::quantiles::t_quantile;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "t_interval",
    name: "Student's interval of a mean, 95 %",
    meaning: "The means that independent values leave open, from their own spread.",
    formula: "mean +- t s / sqrt(n), s the standard deviation with divisor n - 1, t the 97.5 % point of Student's distribution with \
              n - 1 degrees of freedom",
    range: "any, in the unit of the values",
    undefined: "there are fewer than two values",
    caution: "The values must be independent: one for each participant, not one for each night or epoch.",
    source: "Student 1908, Biometrika 6(1), 1-25 (from memory)",
};

/// Returns the lower and upper limit of the 95 % interval of the mean of independent values, in their unit.
///
/// Undefined for fewer than two values. Source: Student 1908, Biometrika 6(1), 1-25 (from memory).
///
/// ```
/// # use counterpane_stats::t_interval;
/// // Mean 2, s = 1, t with 2 degrees of freedom 4.3027: 2 -+ 4.3027 / sqrt(3) = 2 -+ 2.4841.
/// let (low, high) = t_interval(&[1.0, 2.0, 3.0]).unwrap_or((f64::NAN, f64::NAN));
/// assert!((low + 0.4841).abs() < 5e-5 && (high - 4.4841).abs() < 5e-5);
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn t_interval(values: &[f64]) -> Result<(f64, f64), Undefined> {
    let (mean, sd) = mean_and_sd(values)?;
    let n = values.len() as f64;
    let half = t_quantile(0.975, n - 1.0) * sd / n.sqrt();
    Ok((mean - half, mean + half))
}

/// Returns the mean; undefined without a value.
pub(crate) fn mean(values: &[f64]) -> Result<f64, Undefined> {
    if values.is_empty() {
        return Err(Undefined::NoPairs);
    }
    Ok(values.iter().sum::<f64>() / values.len() as f64)
}

/// Returns the mean and the standard deviation with divisor n - 1; undefined for fewer than two values.
pub(crate) fn mean_and_sd(values: &[f64]) -> Result<(f64, f64), Undefined> {
    let mean = mean(values)?;
    if values.len() < 2 {
        return Err(Undefined::NTooSmall);
    }
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Ok((mean, (squares / (values.len() as f64 - 1.0)).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_values_have_an_interval_of_no_width_and_one_value_has_none() {
        assert_eq!(t_interval(&[2.0, 2.0, 2.0]), Ok((2.0, 2.0)));
        assert_eq!(t_interval(&[2.0]), Err(Undefined::NTooSmall));
        assert_eq!(t_interval(&[]), Err(Undefined::NoPairs));
    }

    #[test]
    fn the_treated_mice_have_their_printed_mean_and_error() {
        // Efron and Tibshirani 1993, An Introduction to the Bootstrap, tables 2.1 and 2.2: 86.86 and 25.24.
        let mice = [94.0, 197.0, 16.0, 38.0, 99.0, 141.0, 23.0];
        let (mean, sd) = mean_and_sd(&mice).unwrap();
        crate::testing::prints(Ok(mean), "86.86");
        crate::testing::prints(Ok(sd / 7_f64.sqrt()), "25.24");
    }
}
