//! How long the blocks of a bootstrap of one night should be.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "block_length",
    name: "Block length of the stationary bootstrap",
    meaning: "The mean length of blocks, in epochs, that keeps how neighbouring epochs hang together when a night is drawn anew.",
    formula: "R(k) autocovariance with divisor n; m the first lag from which K = max(5, ceil sqrt(log10 n)) correlations in a row are below \
              2 sqrt(log10 n / n); M = min(2 m, ceil sqrt n + K); lambda 1 up to 1/2, then 2 (1 - t); G = 2 sum lambda(k/M) k R(k), \
              g = R(0) + 2 sum lambda(k/M) R(k); b = (G^2 / g^2)^(1/3) n^(1/3), at most ceil(min(3 sqrt n, n/3))",
    range: "above 0, in epochs",
    undefined: "the series is constant, or shorter than ten",
    caution: "Take the largest of that of the agreement series and those of each stage's hits.",
    source: "Politis and White 2004, Econometric Reviews 23(1), 53-70, with the correction of Patton, Politis and White 2009, Econometric \
             Reviews 28(4), 372-375",
};

/// Returns the mean block length for a series, in steps.
///
/// Source: Politis and White 2004, Econometric Reviews 23(1), 53-70; Patton, Politis and White 2009.
///
/// ```
/// # use counterpane_stats::block_length;
/// // Ten epochs of one kind, ten of the other, and so on: neighbours hang together for about ten.
/// let series: Vec<f64> = (0..400).map(|t| f64::from(u8::from(t / 10 % 2 == 0))).collect();
/// assert!(block_length(&series).is_ok_and(|b| b > 5.0));
/// assert!(block_length(&[1.0; 400]).is_err());
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn block_length(series: &[f64]) -> Figure {
    let of = Spectrum::of(series)?;
    let n = series.len() as f64;
    let most = (3.0 * n.sqrt()).min(n / 3.0).ceil();
    if of.at_zero == 0.0 {
        return Ok(most);
    }
    Ok(((of.slope / of.at_zero).powi(2).cbrt() * n.cbrt()).min(most))
}

/// The spectrum of a series at frequency 0.
pub(crate) struct Spectrum {
    /// Autocovariance at lag 0, divisor n.
    pub(crate) variance: f64,
    /// R(0) + 2 sum lambda R(k).
    pub(crate) at_zero: f64,
    /// 2 sum lambda k R(k).
    slope: f64,
}

impl Spectrum {
    pub(crate) fn of(series: &[f64]) -> Result<Spectrum, Undefined> {
        let n = series.len();
        if n < 10 {
            return Err(if n == 0 { Undefined::NoPairs } else { Undefined::NTooSmall });
        }
        let run = (n as f64).log10().sqrt().ceil().max(5.0) as usize;
        let furthest = ((n as f64).sqrt().ceil() as usize + run).min(n - 1);
        let covariances = covariances(series, furthest);
        let variance = covariances.first().copied().filter(|v| *v > 0.0).ok_or(Undefined::ZeroVariance)?;
        let bound = 2.0 * ((n as f64).log10() / n as f64).sqrt();
        let far = |lag: usize| covariances.get(lag).is_some_and(|r| (r / variance).abs() >= bound);
        let quiet = (1..=(furthest + 1).saturating_sub(run)).find(|j| !(*j..j + run).any(far));
        let last = quiet.unwrap_or_else(|| (1..=furthest).rev().find(|k| far(*k)).unwrap_or(1));
        let window = (2 * last).min(furthest);
        let (mut at_zero, mut slope) = (variance, 0.0);
        for (lag, r) in covariances.iter().enumerate().take(window + 1).skip(1) {
            let place = lag as f64 / window as f64;
            let weight = if place <= 0.5 { 1.0 } else { 2.0 * (1.0 - place) };
            at_zero += 2.0 * weight * r;
            slope += 2.0 * weight * lag as f64 * r;
        }
        Ok(Spectrum { variance, at_zero, slope })
    }
}

fn covariances(series: &[f64], furthest: usize) -> Vec<f64> {
    let n = series.len() as f64;
    let mean = series.iter().sum::<f64>() / n;
    let apart: Vec<f64> = series.iter().map(|x| x - mean).collect();
    let at = |lag: usize| apart.iter().zip(apart.iter().skip(lag)).map(|(a, b)| a * b).sum::<f64>() / n;
    (0..=furthest).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_constant_series_and_a_short_one_have_none() {
        assert_eq!(block_length(&[0.0; 100]), Err(Undefined::ZeroVariance));
        assert_eq!(block_length(&[0.0, 1.0]), Err(Undefined::NTooSmall));
        assert_eq!(block_length(&[]), Err(Undefined::NoPairs));
    }
}
