//! Obeying a definition: rows in, spans, claims, notes and findings out.

mod blocks;
mod bounds;
mod compile;
mod contradictions;
mod edges;
mod faults;
mod finish;
mod half;
mod import;
mod items;
mod joins;
mod layered;
mod layers;
mod lengths;
mod moment;
mod nights;
mod passes;
mod possible;
mod runs;
mod shapes;
mod sink;
mod snap;
mod view;
mod wall;
mod ways;

pub(crate) use import::beside;
pub use import::{import, import_with};
pub(crate) use lengths::worded;
pub use ways::epochs as epochs_as_typed;
pub use ways::typed as clock_as_typed;
pub(crate) use ways::{clock, plain};
