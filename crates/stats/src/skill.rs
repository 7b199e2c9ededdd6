//! How much of the way from a baseline to perfection a device comes.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "skill",
    name: "Skill against a baseline",
    meaning: "How much of the way from what a baseline gets to full agreement a device comes: 0 is no better than the baseline.",
    formula: "(metric - baseline) / (1 - baseline)",
    range: "at most 1; negative when the device does worse than the baseline",
    undefined: "the baseline is already 1",
    caution: "Name the baseline with the number.",
    source: "common practice, no source",
};

/// Returns the skill of a metric whose best value is 1.
///
/// ```
/// # use counterpane_stats::skill;
/// // Half of what always light leaves.
/// assert_eq!(skill(0.75, 0.5), Ok(0.5));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn skill(metric: f64, baseline: f64) -> Figure {
    if baseline == 1.0 { Err(Undefined::ZeroDenominator) } else { Ok((metric - baseline) / (1.0 - baseline)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn worse_than_the_baseline_is_below_nothing() {
        assert_eq!(skill(0.25, 0.5), Ok(-0.5));
        assert_eq!(skill(1.0, 1.0), Err(Undefined::ZeroDenominator));
    }
}
