//! The study folder and its store.
//!
//! **Invariant.** This crate holds the only SQL, and it alone writes the study folder: `study.toml`,
//! `study.db`, `originals/` and `decisions.jsonl`. It reads no clock and no file format; times and
//! recordings are handed to it.
//!
//! `study.db` is derived. A decision is first appended to the log and made durable, then applied to
//! the database in one transaction. What the log holds and the database lacks is applied on the next
//! opening, so an act that was interrupted is either whole or absent.

pub mod config;
pub mod decisions;
pub mod dump;
pub mod error;
pub mod findings;
pub mod migrations;
pub mod originals;
pub mod query;
pub mod recordings;
pub mod study;
pub mod summary;

pub use config::{Config, NightConfig};
pub use decisions::{Act, Decision, ImportAct, NightTaken};
pub use error::StoreError;
pub use findings::{Acceptance, StoredFinding};
pub use originals::Original;
pub use query::{Answer, SqlValue};
pub use recordings::{NewRecording, Stored};
pub use study::{Access, Study};
pub use summary::NightRow;
