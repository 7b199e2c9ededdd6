//! How far a total lies from the reference's, in per cent.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "percent_deviation",
    name: "Percent deviation of a total",
    meaning: "The difference of a total, such as total sleep time or wake time, device minus reference, as per cent of the \
              reference.",
    formula: "100 (device - reference) / reference",
    range: "-100 and up",
    undefined: "the reference's total is 0",
    caution: "Print the minutes first: a few minutes are many per cent of a night with little wake. No net deviation can hide \
              errors that cancel out, so print missed and false wake separately.",
    source: "common practice, no source",
};

/// Returns the deviation of a total from the reference's, in per cent; positive when the device has more.
///
/// Undefined when the reference's total is 0.
///
/// ```
/// # use counterpane_stats::percent_deviation;
/// // 30 minutes of wake against 40: a quarter too few.
/// assert_eq!(percent_deviation(40.0, 30.0), Ok(-25.0));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn percent_deviation(reference: f64, device: f64) -> Figure {
    if reference == 0.0 {
        return Err(Undefined::ZeroDenominator);
    }
    Ok(100.0 * (device - reference) / reference)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_no_base_for_per_cent() {
        assert_eq!(percent_deviation(0.0, 12.5), Err(Undefined::ZeroDenominator));
        assert_eq!(percent_deviation(12.5, 0.0), Ok(-100.0));
    }
}
