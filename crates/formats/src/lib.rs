//! Readers: bytes in, located rows out.
//!
//! **Invariant.** A reader knows a format and never what a column means. It streams: memory does not
//! grow with the file. Every value knows where in the original it stands, and every reader carries
//! its limits from the first byte on.

pub mod limits;
pub mod node;
pub mod row;

pub use limits::Limits;
pub use node::Node;
pub use row::{Event, Flow, Format, FormatError, Head, Request, Row, TextOptions, Value, Want};
