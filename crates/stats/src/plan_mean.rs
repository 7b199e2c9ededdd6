//! How many participants a mean needs.

use crate::quantiles::t_quantile;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "plan_mean",
    name: "Participants for a mean",
    meaning: "How many participants give a mean, such as a mean kappa or the mean difference of two devices, an interval of a wanted half-width.",
    formula: "the smallest P with P >= t^2 (s_b^2 + s_w^2 / N) / h^2, t the 97.5 % point with P - 1 degrees of freedom, s_b between \
              participants, s_w between nights of one, N nights each, h the half-width",
    range: "2 and up",
    undefined: "the half-width is not above 0, there is no night, or more than a million participants would be needed",
    caution: "More nights of the same people help little once they differ much. The wanted half-width is met on average, not surely.",
    source: "common practice, no source",
};

/// Returns how many participants with `nights` nights each give the mean a 95 % interval of half-width `half`.
///
/// ```
/// # use counterpane_stats::plan_mean;
/// // Standard deviations 0.13 between and 0.08 within participants, half-width 0.05: 39 participants with one night.
/// assert_eq!(plan_mean(0.13, 0.08, 1, 0.05), Ok(39));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn plan_mean(between: f64, within: f64, nights: u32, half: f64) -> Result<u32, Undefined> {
    if half <= 0.0 || half.is_nan() || nights == 0 {
        return Err(Undefined::NotPositive);
    }
    let variance = (between * between + within * within / f64::from(nights)) / (half * half);
    let enough = |people: u32| {
        let t = t_quantile(0.975, f64::from(people) - 1.0);
        f64::from(people) >= t * t * variance
    };
    // t falls as participants are added, so once there are enough there always are: find the first by halving.
    let mut high = 2_u32;
    while !enough(high) {
        if high > 1_000_000 {
            return Err(Undefined::OutsideRange);
        }
        high *= 2;
    }
    let mut low = high / 2;
    while low + 1 < high {
        let middle = low.midpoint(high);
        if enough(middle) { high = middle } else { low = middle }
    }
    Ok(high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nights_help_less_than_participants() {
        assert_eq!(plan_mean(0.13, 0.08, 2, 0.05), Ok(34));
        assert_eq!(plan_mean(0.13, 0.08, 4, 0.05), Ok(31));
        assert_eq!(plan_mean(0.13, 0.08, 1, 0.10), Ok(12));
        assert_eq!(plan_mean(0.13, 0.08, 1, 0.03), Ok(102));
    }

    #[test]
    fn no_width_and_no_night_is_no_plan() {
        assert_eq!(plan_mean(0.1, 0.1, 1, 0.0), Err(Undefined::NotPositive));
        assert_eq!(plan_mean(0.1, 0.1, 0, 0.1), Err(Undefined::NotPositive));
        assert_eq!(plan_mean(0.1, 0.1, 1, 1e-9), Err(Undefined::OutsideRange));
        assert_eq!(plan_mean(0.0, 0.0, 1, 0.1), Ok(2));
    }
}
