//! What the numbers of a comparison leave open: intervals, differences between devices, baselines.
//!
//! One file holds one question; each takes a [`Comparison`] and gives plain data. [`infer`] asks all of them, so that the
//! text, the JSON and the report say the same.

use crate::Comparison;
use counterpane_stats::Resampling;

/// What can be said beyond the numbers themselves.
#[derive(Clone, Debug, PartialEq)]
pub struct Inference {
    /// How often and from which seed everything was drawn anew.
    pub asked: Resampling,
}

/// Asks every question of this folder of a comparison.
#[must_use]
pub fn infer(_comparison: &Comparison, asked: Resampling) -> Inference {
    Inference { asked }
}
