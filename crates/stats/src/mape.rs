//! The size of the differences as per cent of the reference.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "mape",
    name: "Mean absolute per cent error",
    meaning: "The mean size of the differences, each as per cent of its reference.",
    formula: "100 times the mean of |d / reference|",
    range: "0 and up, per cent",
    undefined: "there is no pair, or a reference is 0",
    caution: "Not for measures that come near 0, such as sleep latency, wake or deep sleep: a few minutes are many per cent there.",
    source: "common practice, no source",
};

/// Returns the mean size of differences in per cent, for pairs of `[reference, device]`.
///
/// ```
/// # use counterpane_stats::mape;
/// // 10 of 100 and 30 of 200: (10 % + 15 %) / 2.
/// assert_eq!(mape(&[[100.0, 110.0], [200.0, 170.0]]), Ok(12.5));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn mape(pairs: &[[f64; 2]]) -> Figure {
    if pairs.is_empty() {
        return Err(Undefined::NoPairs);
    }
    if pairs.iter().any(|[reference, _]| *reference == 0.0) {
        return Err(Undefined::ZeroDenominator);
    }
    let shares = pairs.iter().map(|[reference, device]| ((device - reference) / reference).abs());
    Ok(100.0 * shares.sum::<f64>() / pairs.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_no_base_for_per_cent() {
        assert_eq!(mape(&[[0.0, 1.0], [1.0, 1.0]]), Err(Undefined::ZeroDenominator));
        assert_eq!(mape(&[]), Err(Undefined::NoPairs));
    }
}
