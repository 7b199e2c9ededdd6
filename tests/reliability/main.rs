//! What must hold under fire: kills, full disks, flipped bytes, tampering, hostile questions and names.
//! docs/reliability.md says what each part shows and what it does not.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

/// `verify`: what it proves, and what it names.
mod proof;
/// A study to be hurt.
mod study;

#[path = "../common/mod.rs"]
mod common;
