//! Filters over one row, for what the keys of a definition cannot say.
//!
//! A filter is a text in the language of jq, run by jaq in a child process of the same binary: jaq can be neither
//! counted nor stopped from inside, may overflow the stack and may abort for want of memory. The child gets
//! one row at a time and has limits on time, memory and output. It has no clock, no environment, no files and
//! no network: the functions for those are left out.

mod child;
mod language;
mod parent;

pub use child::run_filter;
pub(crate) use language::check;
pub(crate) use parent::{Filtered, Runner};

/// The hidden command that makes a binary the child: its only argument.
pub const FILTER_COMMAND: &str = "__filter";

/// Seconds that one row may take.
const SECONDS: u64 = 2;

/// Bytes of memory that the child may use.
const MEMORY: u64 = 512 << 20;

/// Bytes that the filter may give for one row.
const OUTPUT: usize = 4 << 20;

/// Values that the filter may give for one row.
const VALUES: usize = 100_000;

/// Bytes of a filter's text.
const TEXT: usize = 4096;

/// Rows at which the child broke or had to be stopped, after which it is not tried again.
const TRIES: u32 = 3;
