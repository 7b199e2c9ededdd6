//! Obeying a definition: rows in, spans, claims, notes and findings out.

mod blocks;
mod bounds;
mod compile;
mod faults;
mod finish;
mod import;
mod items;
mod layers;
mod lengths;
mod moment;
mod nights;
mod shapes;
mod sink;
mod snap;
mod view;
mod wall;
mod ways;

pub use import::import;
