//! Importer definitions and the engine that obeys them.
//!
//! **Invariant.** A definition is data. Every row of a file becomes a span, a claim, a note or a finding, or is
//! ignored by a named rule; each is counted, and the sum is tested. Nothing is guessed: no zone, no unit,
//! no order of day and month, no meaning of a word.
//!
//! [`Definition::parse`] reads a definition and draws what is wrong with it; [`import`] obeys it.

mod bindings;
mod companions;
mod definition;
mod describe;
mod draft;
mod engine;
mod filter;
mod grammar;
pub mod kinds;
mod matches;
mod outcome;
mod parse;
mod schema;
mod shipped;

pub use bindings::{Beside, Bindings, Companion};
pub use definition::Definition;
pub use describe::describe;
pub use draft::{
    Answer, Choice, Draft, DraftError, Options as DraftOptions, SampleFile, Tried, draft, files_with_stages,
};
pub use engine::{clock_as_typed, epochs_as_typed, import, import_with};
pub use filter::{FILTER_COMMAND, run_filter};
pub use kinds::KINDS;
pub use matches::{Match, fits_pattern};
pub use outcome::{ImportError, Outcome, Part, PartNight, Tally};
pub use parse::DefinitionErrors;
pub use schema::schema;
pub use shipped::shipped;
