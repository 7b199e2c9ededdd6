//! Readers: bytes in, located rows out.
//!
//! **Invariant.** A reader knows a format and never what a column means. It streams: memory does not
//! grow with the file. Every value knows where in the original it stands, and every reader carries
//! its limits from the first byte on.

pub mod blank;
mod delimited;
mod edf;
mod json;
pub mod limits;
pub mod node;
pub mod path;
mod quote;
mod read;
pub mod row;
mod sheet;
mod shorten;
pub mod sniff;
mod source;
mod spool;
#[cfg(test)]
mod testing;
mod text;
mod xml;
mod zip;

pub use limits::Limits;
pub use node::Node;
pub use path::{Path, Step};
pub use quote::quote;
pub use read::read;
pub use row::{Event, Flow, Format, FormatError, Head, Request, Row, TextOptions, Value, Want};
pub use sheet::{SheetHead, read_workbook, sheets};
pub use sniff::{Sniff, sniff};
pub use zip::{FolderFile, Member, member_bytes, members, read_archive, read_folder};
