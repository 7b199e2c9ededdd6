//! Who speaks in a sentence about a comparison.

use super::{called, capital, epochs, percent, share};
use counterpane_compare::NightComparison;
use counterpane_compare::comparison::{Figure, Undefined};
use counterpane_model::{ScoredBy, Source, Stage};

/// Who is meant when a sentence speaks of the two sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Voices {
    /// Who scored the reference.
    pub scored_by: ScoredBy,
    /// The reference is the majority of several scorers.
    pub majority: bool,
    /// Who scored the other side, if that is a scorer too and not a device.
    pub other: Option<ScoredBy>,
}

impl Voices {
    /// Returns the voices of a reference and another source.
    #[must_use]
    pub fn of(night: &NightComparison, source: &Source) -> Voices {
        let other = match source {
            Source::Device { .. } => None,
            Source::Reference { scored_by, .. } => Some(*scored_by),
        };
        Voices { other, ..Voices::of_reference(night) }
    }

    /// Returns the voice of the reference of a night, where only that is spoken of.
    #[must_use]
    pub fn of_reference(night: &NightComparison) -> Voices {
        Voices { scored_by: night.scored_by, majority: night.consensus.is_some(), other: None }
    }

    /// Returns `the scorer`, `the scoring program` or `the majority`.
    #[must_use]
    pub fn reference(self) -> &'static str {
        match (self.majority, self.scored_by) {
            (true, _) => "the majority",
            (false, ScoredBy::Human) => "the scorer",
            (false, ScoredBy::Algorithm) => "the scoring program",
        }
    }

    /// Returns `the device`, or what the other side is.
    #[must_use]
    pub fn other(self) -> &'static str {
        match self.other {
            None => "the device",
            Some(ScoredBy::Human) => "the other scorer",
            Some(ScoredBy::Algorithm) => "the other program",
        }
    }

    /// Returns the title of a matrix whose rows add to 100 %.
    #[must_use]
    pub fn rows_title(self) -> String {
        format!("What {} said, for each stage {} gave (each row adds to 100 %)", self.other(), self.reference())
    }

    /// Returns the title of a matrix whose columns add to 100 %.
    #[must_use]
    pub fn columns_title(self) -> String {
        format!("How far to trust each label {} gave (each column adds to 100 %)", self.other())
    }

    /// Returns the sentence of one row: `Of the 87 min the scorer called deep, the device called
    /// 52 min (60 %) deep.`
    #[must_use]
    pub fn row_sentence(self, class: Stage, agreed: u64, all: u64) -> String {
        let (reference, other, called) = (self.reference(), self.other(), called(class));
        if all == 0 {
            return format!("{}: stage not present, so nothing can be said of how {other} sees it.", capital(called));
        }
        let (all_min, agreed_min, share) = (epochs(all), epochs(agreed), percent(agreed, all));
        format!("Of the {all_min} {reference} called {called}, {other} called {agreed_min} ({share}) {called}.")
    }

    /// Returns the sentence of one column: `Of the 70 min the device called deep, the scorer agreed
    /// on 52 min (74 %).`
    #[must_use]
    pub fn column_sentence(self, class: Stage, agreed: u64, all: u64) -> String {
        let (reference, other, called) = (self.reference(), self.other(), called(class));
        if all == 0 {
            return format!("{}: {other} never said this, so there is no label to trust.", capital(called));
        }
        let (all_min, agreed_min, share) = (epochs(all), epochs(agreed), percent(agreed, all));
        format!("Of the {all_min} {other} called {called}, {reference} agreed on {agreed_min} ({share}).")
    }

    /// Returns why a number has no value, as the end of a sentence.
    #[must_use]
    pub fn undefined(self, why: Undefined) -> String {
        let (reference, other) = (self.reference(), self.other());
        match why {
            Undefined::NoPairs => "no epoch was scored by both sides".into(),
            Undefined::RefClassAbsent => format!("stage not present: {reference} never used it"),
            Undefined::DevClassAbsent => format!("{other} never said this"),
            Undefined::ExpectedAgreement1 => "both sides used one and the same class throughout".into(),
            Undefined::ZeroVariance => "one side never varies".into(),
            Undefined::ZeroDenominator => "there is nothing to divide by".into(),
            Undefined::NTooSmall => "too few values".into(),
            Undefined::NothingScored => "no epoch of the window is scored".into(),
            Undefined::StageAbsent => "the stage does not occur".into(),
            Undefined::NotTwoClasses => "it is defined for two classes only".into(),
            Undefined::UnequalRaters => "the epochs were not all scored by the same number of scorers".into(),
            Undefined::NoSleep => "there is no sleep in the window".into(),
            Undefined::NotPositive => "a value that must be above zero is not".into(),
            Undefined::OutsideRange => "it lies outside the values that were seen".into(),
        }
    }

    /// Returns a share as per cent, or `undefined:` with the reason.
    #[must_use]
    pub fn share(self, figure: Figure) -> String {
        self.say(figure, share)
    }

    /// Returns a number by a wording of the caller, or `undefined:` with the reason.
    #[must_use]
    pub fn say(self, figure: Figure, wording: impl Fn(f64) -> String) -> String {
        match figure {
            Ok(value) if value.is_finite() => wording(value),
            Ok(_) => "undefined: not a finite number".into(),
            Err(why) => format!("undefined: {}", self.undefined(why)),
        }
    }
}
