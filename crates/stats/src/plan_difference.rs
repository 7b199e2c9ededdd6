//! How many participants a difference of two devices needs.

use crate::quantiles::{noncentral_t_below, t_quantile};
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "plan_difference",
    name: "Participants for a difference",
    meaning: "How many participants let a mean difference, such as the kappa of one device less that of another, be told from 0 as \
              often as wanted.",
    formula: "the smallest P, at least 6, whose power is that wanted: 1 - F(t) + F(-t), F the noncentral t with P - 1 degrees of freedom and \
              noncentrality d sqrt(P) / sqrt(s_b^2 + s_w^2 / N), t its central 97.5 % point; s_b between participants, s_w between nights of \
              one, N nights each",
    range: "6 and up",
    undefined: "the difference or the spread is 0, the power is not above 0.05 and below 1, there is no night, or more than a million \
                participants would be needed",
    caution: "Five participants can never reach 0.05 in the sign-flip test (2 of 2^5 patterns). A half-width as large as the difference tells \
              it from 0 in every other study only.",
    source: "power of Student's paired t test: Owen 1965, Biometrika 52(3/4), 437-446 (from memory)",
};

/// The least number of participants with which the sign-flip test can reach 0.05: 2 / 2^6 = 0.031.
pub const SIGN_FLIP_NEEDS: u32 = 6;

/// Returns how many participants with `nights` nights each tell a mean difference from 0 with the power wanted, at a two-sided
/// level of 0.05.
///
/// ```
/// # use counterpane_stats::plan_difference;
/// // A difference of half a standard deviation, power 0.8: 34 participants, as in the tables of Cohen 1988.
/// assert_eq!(plan_difference(0.05, 0.1, 0.0, 1, 0.8), Ok(34));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn plan_difference(difference: f64, between: f64, within: f64, nights: u32, power: f64) -> Result<u32, Undefined> {
    let sd = (between * between + within * within / f64::from(nights)).sqrt();
    if nights == 0 || !(difference.abs() > 0.0 && sd > 0.0 && sd.is_finite()) {
        return Err(Undefined::NotPositive);
    }
    if !(power > 0.05 && power < 1.0) {
        return Err(Undefined::OutsideRange);
    }
    let enough = |people: u32| power_of(difference.abs() / sd, people) >= power;
    let mut high = SIGN_FLIP_NEEDS;
    while !enough(high) {
        if high > 1_000_000 {
            return Err(Undefined::OutsideRange);
        }
        high *= 2;
    }
    // Power rises with participants, so the first number that is enough is found by halving.
    let mut low = (high / 2).max(SIGN_FLIP_NEEDS - 1);
    while low + 1 < high {
        let middle = low.midpoint(high);
        if enough(middle) { high = middle } else { low = middle }
    }
    Ok(high)
}

/// Power of the t test of a difference of `effect` standard deviations.
fn power_of(effect: f64, people: u32) -> f64 {
    let (df, shift) = (f64::from(people) - 1.0, effect * f64::from(people).sqrt());
    let t = t_quantile(0.975, df);
    // From far away nothing of the distribution lies below, and its integrand is too steep to add up.
    if shift > t + 40.0 { 1.0 } else { 1.0 - noncentral_t_below(t, df, shift) + noncentral_t_below(-t, df, shift) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_those_of_statsmodels() {
        // statsmodels 0.15, TTestPower().solve_power(effect_size, power=..., alpha=0.05), rounded up.
        assert_eq!(plan_difference(0.5, 1.0, 0.0, 1, 0.9), Ok(44));
        assert_eq!(plan_difference(0.3, 1.0, 0.0, 1, 0.8), Ok(90));
        assert_eq!(plan_difference(-0.8, 1.0, 0.0, 1, 0.8), Ok(15));
    }

    #[test]
    fn nights_help_against_what_differs_between_nights() {
        assert_eq!(plan_difference(0.5, 0.0, 2.0, 4, 0.8), plan_difference(0.5, 1.0, 0.0, 1, 0.8));
    }

    #[test]
    fn fewer_than_six_participants_are_never_enough() {
        assert_eq!(plan_difference(100.0, 1.0, 0.0, 1, 0.8), Ok(SIGN_FLIP_NEEDS));
    }

    #[test]
    fn no_difference_and_no_spread_is_no_plan() {
        assert_eq!(plan_difference(0.0, 1.0, 0.0, 1, 0.8), Err(Undefined::NotPositive));
        assert_eq!(plan_difference(0.1, 0.0, 0.0, 1, 0.8), Err(Undefined::NotPositive));
        assert_eq!(plan_difference(0.1, 1.0, 0.0, 0, 0.8), Err(Undefined::NotPositive));
        assert_eq!(plan_difference(0.1, 1.0, 0.0, 1, 1.0), Err(Undefined::OutsideRange));
        assert_eq!(plan_difference(1e-7, 1.0, 0.0, 1, 0.8), Err(Undefined::OutsideRange));
    }
}
