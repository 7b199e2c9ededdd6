//! Checks on the recordings of a night: recordings in, findings out.
//!
//! **Invariant.** No file is opened, no clock and no machine zone is read, and nothing is changed: a
//! check sees the night and its recordings as the store holds them, and says what it found. Every
//! finding can be read without the others, in the local time of the night.
//!
//! A check is one file of `checks/`: its facts in a `static`, one function, its tests. See
//! [`CHECKS`] for the list.

mod amounts;
mod catalogue;
mod checks;
mod claims;
mod clock;
#[cfg(test)]
mod fixture;
mod night;
mod order;
mod place;
mod sample;
mod series;
mod sheet;
mod slips;
mod words;

pub use catalogue::{Page, catalogue_entry, meaning, page_of};
pub use checks::{CHECKS, kind_of};
pub use night::{Check, check_night};
pub use sheet::check_recording;
