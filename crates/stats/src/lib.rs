//! Statistics of agreement: numbers in, numbers out.
//!
//! **Invariant.** Nothing here knows a device, a night or an epoch, and nothing reads or writes.
//! Every function names its source, and says when its result is undefined.

use serde::Serialize;

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
}

/// A number, or why there is none.
pub type Figure = Result<f64, Undefined>;
