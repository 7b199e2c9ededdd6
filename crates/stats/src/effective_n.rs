//! How many independent epochs a night is worth.

use crate::block_length::Spectrum;
use crate::{Figure, Statistic};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "effective_n",
    name: "Effective number of epochs",
    meaning: "How many independent epochs would pin down a mean as well as the epochs of this series, which hang together.",
    formula: "n R(0) / g, with R(0) and g as for the block length",
    range: "1 to n",
    undefined: "the series is constant, or shorter than ten",
    caution: "Hundreds of epochs are often worth a few dozen.",
    source: "common practice, no source; g by Politis and White 2004, Econometric Reviews 23(1), 53-70",
};

/// Returns how many independent steps a series is worth, from 1 to its length.
///
/// ```
/// # use counterpane_stats::effective_n;
/// // Runs of ten: worth far fewer than the 400 epochs.
/// let series: Vec<f64> = (0..400_u32).map(|t| f64::from(t / 10 * 7919 % 13 % 2)).collect();
/// assert!(effective_n(&series).is_ok_and(|n| n >= 1.0 && n < 120.0));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn effective_n(series: &[f64]) -> Figure {
    let of = Spectrum::of(series)?;
    let n = series.len() as f64;
    // A spectrum of nothing or less at 0 says that the series averages out better than independent steps.
    Ok(if of.at_zero > 0.0 { (n * of.variance / of.at_zero).clamp(1.0, n) } else { n })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Undefined;

    #[test]
    fn a_constant_series_has_none() {
        assert_eq!(effective_n(&[1.0; 50]), Err(Undefined::ZeroVariance));
    }

    #[test]
    fn a_series_that_alternates_is_worth_no_more_than_its_length() {
        let series: Vec<f64> = (0..100).map(|t| f64::from(t % 2)).collect();
        assert_eq!(effective_n(&series), Ok(100.0));
    }
}
