//! An interval as JSON.

use crate::Interval;
use schemars::JsonSchema;
use serde::Serialize;

/// Between which two values a number lies, with 95 % confidence, or why nothing is said of that.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct IntervalJson {
    /// Lower end, in the unit of the number; null without an interval.
    pub low: Option<f64>,
    /// Upper end, in the unit of the number; null without an interval.
    pub high: Option<f64>,
    /// Why there is none, as a word; null with an interval.
    pub none: Option<String>,
    /// The same reason in words; null with an interval.
    pub why: Option<String>,
}

impl From<&Interval> for IntervalJson {
    fn from(interval: &Interval) -> IntervalJson {
        IntervalJson {
            low: interval.ok().map(|limits| limits.low),
            high: interval.ok().map(|limits| limits.high),
            none: interval.err().map(|why| why.code().to_owned()),
            why: interval.err().map(|why| why.words()),
        }
    }
}
