//! Figures and the report page.
//!
//! **Invariant.** The same inputs give the same bytes: nothing here reads a clock, a file or the
//! machine's zone. No link leads out of the page, and nothing in it is fetched. Every name that
//! comes from outside is escaped on its way into HTML, SVG, script data or the terminal.

pub mod draw;
pub mod figures;
pub mod methods;
pub mod minutes;
pub mod terminal;
pub mod words;

mod error;
mod input;
mod page;
mod read_off;
#[cfg(test)]
mod testing;
mod view;

pub use error::ReportError;
pub use input::{
    Chosen, DeviceLine, ExclusionLine, ExportLine, FindingLine, Page, ProvenanceLine, Status, WearingLine,
};
pub use page::page;
pub use read_off::{Image, ImageKind, PictureLine, ReadOff, ReadingsApart};
