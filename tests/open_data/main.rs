//! Real, open recordings, by the ordinary commands: `COUNTERPANE_OPEN_DATA` names the folder.
//!
//! None of the files is part of this project; docs/testing.md says where they come from.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

/// Whole data sets, loaded as a list says and held against what scikit-learn gives.
mod agreement;
/// The folder of open recordings.
mod data;
/// Points and observations of health standards: what must pass and what must fail.
mod health;
/// One night of a laboratory: annotations of EDF+, and one digit a line.
mod hypnograms;
/// `load` with a list that is made from the folder.
mod load;
/// A study of open recordings, and what its store says.
mod study;

#[path = "../common/mod.rs"]
mod common;
