//! Plain data of a sleep tracker study, and pure functions on it.
//!
//! **Invariant.** Nothing here reads a file, a clock or the machine's own zone, and nothing knows a
//! file format. Every function gives the same answer for the same arguments.
//!
//! Wall time becomes an instant in one place only: [`zone::Zone::instant_of`].

pub mod contents;
pub mod decided;
pub mod facts;
pub mod finding;
pub mod grid;
pub mod instant;
pub mod locator;
pub mod night;
pub mod plan;
pub mod recording;
pub mod span;
pub mod stage;
pub mod typed;
pub mod zone;

pub use decided::{Acceptance, ClockPoint, ClockReading, ClockSetting, Decided, Exclusion, Looked, NightNote};
pub use facts::{NightFacts, ReadBy, Twin, Wearing, WearingPair};
pub use finding::{Accepted, Finding, Kind, Place, Severity};
pub use grid::{Cell, EPOCH_MS, Grid};
pub use instant::Instant;
pub use locator::Locator;
pub use night::{Lights, Night, NightKind};
pub use plan::{ExportRule, Missing, Plan, PlanMeasure, PlanWindow, Rules};
pub use recording::{MAJORITY, Recording, ScoredBy, Source, TimeBasis, Vocabulary};
pub use span::{Claim, Note, NoteKind, Quantity, Span};
pub use stage::{Mark, Scheme, Stage};
pub use typed::typed_instant;
pub use zone::{Fold, Wall, Zone};
