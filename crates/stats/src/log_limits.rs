//! Limits of agreement as ratios.

use crate::{Limits, Statistic, Undefined, limits_of_agreement};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "log_limits",
    name: "Limits of agreement as ratios",
    meaning: "The limits between which about 95 of 100 ratios device / reference lie, for a measure whose errors grow with its size.",
    formula: "the limits of agreement of ln device - ln reference, taken back by the exponential function",
    range: "above 0",
    undefined: "there are fewer than three pairs, or a value is not above 0, such as no minute of deep sleep",
    caution: "Nothing is added to a zero to make it fit: a night without the stage has no ratio.",
    source: "Bland and Altman 1999, Statistical Methods in Medical Research 8(2), section 3.1",
};

/// Returns the limits of agreement of the ratios device / reference, for pairs of `[reference, device]`.
///
/// Every number of the result is a ratio, but for `sd`, which is that of the logarithms. Source: Bland and Altman 1999,
/// Statistical Methods in Medical Research 8(2), section 3.1.
///
/// ```
/// # use counterpane_stats::log_limits;
/// // Twice as much each time: the ratio and its limits are 2.
/// let limits = log_limits(&[[10.0, 20.0], [20.0, 40.0], [30.0, 60.0]])?;
/// assert!((limits.bias - 2.0).abs() < 1e-12 && (limits.upper.value - 2.0).abs() < 1e-12);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why they are undefined.
pub fn log_limits(pairs: &[[f64; 2]]) -> Result<Limits, Undefined> {
    if pairs.iter().flatten().any(|value| *value <= 0.0) {
        return Err(Undefined::NotPositive);
    }
    let logs: Vec<f64> = pairs.iter().map(|[reference, device]| device.ln() - reference.ln()).collect();
    let of = limits_of_agreement(&logs)?;
    let back = |(low, high): (f64, f64)| (low.exp(), high.exp());
    let limit =
        |l: crate::Limit| crate::Limit { value: l.value.exp(), approximate: back(l.approximate), exact: back(l.exact) };
    Ok(Limits { bias: of.bias.exp(), lower: limit(of.lower), upper: limit(of.upper), ..of })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_night_without_the_stage_has_no_ratio() {
        assert_eq!(log_limits(&[[10.0, 20.0], [0.0, 40.0], [30.0, 60.0]]), Err(Undefined::NotPositive));
        assert_eq!(log_limits(&[[10.0, 20.0], [30.0, 60.0]]), Err(Undefined::NTooSmall));
    }
}
