//! How many participants an intraclass correlation needs.

use crate::special::Z95;
use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "plan_icc",
    name: "Participants for an intraclass correlation",
    meaning: "How many participants give an intraclass correlation an interval of a wanted full width.",
    formula: "n = 8 z^2 (1 - r)^2 (1 + (k - 1) r)^2 / (k (k - 1) w^2) + 1, rounded up, z = 1.959964, r the correlation that is expected, \
              k sides, w the full width",
    range: "2 and up",
    undefined: "the width is not above 0, there are fewer than two sides, or the correlation lies outside 0 to 1",
    caution: "Stands or falls with the correlation that is expected.",
    source: "Bonett 2002, Statistics in Medicine 21(9), 1331-1335",
};

/// Returns how many participants give a correlation of about `r` between `sides` sides an interval of full width `width`.
///
/// Source: Bonett 2002, Statistics in Medicine 21(9), 1331-1335.
///
/// ```
/// # use counterpane_stats::plan_icc;
/// // 8 * 3.8415 * 0.0225 * 3.55^2 / (12 * 0.04) + 1 = 19.2: 20 participants.
/// assert_eq!(plan_icc(0.85, 4, 0.2), Ok(20.0));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn plan_icc(r: f64, sides: u32, width: f64) -> Figure {
    if width <= 0.0 || width.is_nan() {
        return Err(Undefined::NotPositive);
    }
    if sides < 2 {
        return Err(Undefined::NTooSmall);
    }
    if !(0.0..=1.0).contains(&r) {
        return Err(Undefined::OutsideRange);
    }
    let k = f64::from(sides);
    let spread = (1.0 - r) * (1.0 + (k - 1.0) * r);
    Ok((8.0 * Z95 * Z95 * spread * spread / (k * (k - 1.0) * width * width) + 1.0).ceil().max(2.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_printed_width_gives_its_number_of_participants() {
        // Width 0.3233102 for r = 0.5, three sides and 50 participants, in the tests of the R package presize: a little
        // more width needs 50, a little less 51.
        assert_eq!(plan_icc(0.5, 3, 0.323_310_3), Ok(50.0));
        assert_eq!(plan_icc(0.5, 3, 0.323_310_1), Ok(51.0));
    }

    #[test]
    fn what_is_no_correlation_is_no_plan() {
        assert_eq!(plan_icc(1.2, 2, 0.2), Err(Undefined::OutsideRange));
        assert_eq!(plan_icc(0.5, 1, 0.2), Err(Undefined::NTooSmall));
        assert_eq!(plan_icc(0.5, 2, 0.0), Err(Undefined::NotPositive));
    }
}
