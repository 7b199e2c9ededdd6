//! How surprising a difference is, by resampling.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "bootstrap_p",
    name: "p of a difference by resampling",
    meaning: "How often resamples of a difference lie on the other side of 0, two-sided.",
    formula: "min(1, 2 min(1 + #(D <= 0), 1 + #(D >= 0)) / (B + 1))",
    range: "2 / (B + 1) to 1",
    undefined: "there is no replicate",
    caution: "Never below 2 / (B + 1): for m comparisons at the level alpha take at least 40 m / alpha replicates.",
    source: "Davison and Hinkley 1997, Bootstrap Methods and their Application (from memory)",
};

/// Returns the two-sided p of replicates of a difference against 0.
///
/// ```
/// # use counterpane_stats::bootstrap_p;
/// // One of 19 lies at or below 0: 2 (1 + 1) / 20.
/// let mut differences = vec![0.3; 18];
/// differences.push(-0.1);
/// assert_eq!(bootstrap_p(&differences), Ok(0.2));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn bootstrap_p(replicates: &[f64]) -> Figure {
    if replicates.is_empty() {
        return Err(Undefined::NoPairs);
    }
    let below = replicates.iter().filter(|d| **d <= 0.0).count();
    let above = replicates.iter().filter(|d| **d >= 0.0).count();
    Ok((2.0 * (1 + below.min(above)) as f64 / (replicates.len() + 1) as f64).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_difference_at_all_is_no_surprise() {
        assert_eq!(bootstrap_p(&[0.0; 9]), Ok(1.0));
        assert_eq!(bootstrap_p(&[]), Err(Undefined::NoPairs));
    }
}
