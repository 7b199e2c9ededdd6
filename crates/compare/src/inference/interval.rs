//! An interval of a number, or the plain reason why it has none.

use counterpane_stats::Undefined;

/// Between which two values a number lies, with 95 % confidence, or why nothing is said of that.
pub type Interval = Result<Limits, NoInterval>;

/// The two ends of an interval, in the unit of the number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl From<(f64, f64)> for Limits {
    fn from((low, high): (f64, f64)) -> Limits {
        Limits { low, high }
    }
}

/// Why a number has no interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoInterval {
    /// The number itself is undefined.
    Undefined(Undefined),
    /// The reference has the stage in so few bouts.
    FewBouts(usize),
    /// The device has the stage in so few bouts.
    FewDeviceBouts(usize),
    /// There are so few epochs that both sides scored.
    FewEpochs(usize),
    /// The number is undefined in more than 5 % of the nights or studies that were drawn anew.
    OftenUndefined,
    /// Whatever is drawn anew says the same, and the scale has no end to lean on.
    AtTheEnd,
    /// There is one night of one person: only the interval within it can be told.
    OneNight,
    /// All of that many people, or nights, have the same value.
    AllAlike(usize),
    /// All epochs of so few people in one matrix: the mean over people has the interval.
    FewPeople(usize),
}

impl NoInterval {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            NoInterval::Undefined(_) => "undefined",
            NoInterval::FewBouts(_) => "few_bouts",
            NoInterval::FewDeviceBouts(_) => "few_device_bouts",
            NoInterval::FewEpochs(_) => "few_epochs",
            NoInterval::OftenUndefined => "often_undefined",
            NoInterval::AtTheEnd => "at_the_end",
            NoInterval::OneNight => "one_night",
            NoInterval::AllAlike(_) => "all_alike",
            NoInterval::FewPeople(_) => "few_people",
        }
    }

    /// Returns the reason in words that stand alone.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            NoInterval::Undefined(why) => format!("no interval of what is undefined: {}", why.words()),
            NoInterval::FewBouts(n) => format!("too few bouts for an interval ({n})"),
            NoInterval::FewDeviceBouts(n) => format!("too few bouts of the device for an interval ({n})"),
            NoInterval::FewEpochs(n) => format!("too few epochs for an interval ({n})"),
            NoInterval::OftenUndefined => "no interval: often undefined where the night is drawn anew".to_owned(),
            NoInterval::AtTheEnd => "no interval: at full agreement nothing varies".to_owned(),
            NoInterval::OneNight => "one night: see the interval within it".to_owned(),
            NoInterval::AllAlike(n) => format!("no interval: all {n} values are alike"),
            NoInterval::FewPeople(_) => "see the mean over people".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reason_says_its_number() {
        assert_eq!(NoInterval::FewBouts(3).words(), "too few bouts for an interval (3)");
        assert_eq!(
            NoInterval::Undefined(Undefined::RefClassAbsent).words(),
            "no interval of what is undefined: the reference never uses the class"
        );
    }
}
