//! Devices against references, on the grid of (night, reference).
//!
//! **Invariant.** Recordings and a protocol in, a comparison out. No I/O, no clock, no text for
//! people beyond the names of things: the report and the commands word the results.

pub mod comparison;

pub use comparison::{
    Agreement, ClassFigures, Comparison, DeviceNight, DeviceSummary, Measures, NightComparison, Protocol, Window, Worst,
};
// What a reader of a comparison must be able to name: the report may not import `stats` itself.
pub use counterpane_stats::{Figure, Undefined};
