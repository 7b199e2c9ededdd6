//! Undefined is a value: why a statistic has no number.

use serde::Serialize;
use std::fmt;

/// Why a statistic has no value. Undefined is a value: never 0, never NaN, never 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Undefined {
    /// There is no pair to compare.
    NoPairs,
    /// The reference never uses the class.
    RefClassAbsent,
    /// The other side never uses the class.
    DevClassAbsent,
    /// Agreement by chance alone would be complete, so nothing can lie beyond it.
    #[serde(rename = "expected_agreement_1")]
    ExpectedAgreement1,
    /// One side never varies.
    ZeroVariance,
    /// The denominator is zero.
    ZeroDenominator,
    /// There are too few values.
    NTooSmall,
    /// No epoch of the window is scored.
    NothingScored,
    /// There is no sleep in the window.
    NoSleep,
    /// The stage does not occur in the window.
    StageAbsent,
    /// The statistic is for two classes, and there are more or fewer.
    NotTwoClasses,
    /// The statistic needs the same number of raters for every unit.
    UnequalRaters,
    /// A value that must be above zero is not.
    NotPositive,
    /// The place asked for lies outside the values that were seen.
    OutsideRange,
}

impl Undefined {
    /// Every reason.
    pub const ALL: [Undefined; 14] = [
        Undefined::NoPairs,
        Undefined::RefClassAbsent,
        Undefined::DevClassAbsent,
        Undefined::ExpectedAgreement1,
        Undefined::ZeroVariance,
        Undefined::ZeroDenominator,
        Undefined::NTooSmall,
        Undefined::NothingScored,
        Undefined::NoSleep,
        Undefined::StageAbsent,
        Undefined::NotTwoClasses,
        Undefined::UnequalRaters,
        Undefined::NotPositive,
        Undefined::OutsideRange,
    ];

    /// Returns the word that JSON uses, such as `no_pairs`.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Undefined::NoPairs => "no_pairs",
            Undefined::RefClassAbsent => "ref_class_absent",
            Undefined::DevClassAbsent => "dev_class_absent",
            Undefined::ExpectedAgreement1 => "expected_agreement_1",
            Undefined::ZeroVariance => "zero_variance",
            Undefined::ZeroDenominator => "zero_denominator",
            Undefined::NTooSmall => "n_too_small",
            Undefined::NothingScored => "nothing_scored",
            Undefined::NoSleep => "no_sleep",
            Undefined::StageAbsent => "stage_absent",
            Undefined::NotTwoClasses => "not_two_classes",
            Undefined::UnequalRaters => "unequal_raters",
            Undefined::NotPositive => "not_positive",
            Undefined::OutsideRange => "outside_range",
        }
    }

    /// Returns the reason as words that fit after "undefined:".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Undefined::NoPairs => "there is no pair to compare",
            Undefined::RefClassAbsent => "the reference never uses the class",
            Undefined::DevClassAbsent => "the device never uses the class",
            Undefined::ExpectedAgreement1 => "chance alone would give full agreement",
            Undefined::ZeroVariance => "one side says the same throughout",
            Undefined::ZeroDenominator => "the denominator is zero",
            Undefined::NTooSmall => "there are too few values",
            Undefined::NothingScored => "no epoch of the window is scored",
            Undefined::NoSleep => "there is no sleep in the window",
            Undefined::StageAbsent => "the stage does not occur in the window",
            Undefined::NotTwoClasses => "the statistic is for two classes only",
            Undefined::UnequalRaters => "not every unit was rated by the same number of raters",
            Undefined::NotPositive => "a value that must be above zero is not",
            Undefined::OutsideRange => "the place asked for lies outside the values that were seen",
        }
    }
}

impl fmt::Display for Undefined {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// A number, or why there is none.
pub type Figure = Result<f64, Undefined>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_code_is_what_json_shows() {
        for reason in Undefined::ALL {
            assert_eq!(serde_json::to_string(&reason).unwrap(), format!("\"{}\"", reason.code()));
        }
    }
}
