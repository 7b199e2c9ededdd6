//! The study folder and its store.
//!
//! **Invariant.** This crate holds the only SQL, and it alone writes the study folder: `study.toml`,
//! `study.db`, `originals/` and `decisions.jsonl`. It reads no clock and no file format; times and
//! recordings are handed to it.
//!
//! `study.db` is derived. A decision is applied to the database in one transaction, its line in the log is
//! made durable just before that transaction is: what the database refuses is never logged, and what the
//! log holds and the database lacks is applied on the next opening. So an act that was interrupted is
//! either whole or absent.

pub mod acts;
pub mod bookkeeping;
pub mod config;
pub mod decisions;
pub mod dump;
#[cfg(test)]
mod effort;
pub mod error;
pub mod findings;
pub mod history;
pub mod migrations;
pub mod originals;
pub mod protocol;
pub mod query;
pub mod read_from;
pub mod recordings;
mod refresh;
pub mod study;
pub mod summary;
pub mod verify;
pub mod withdraw;

pub use acts::{
    Act, BesideKept, Blanked, ClockSeenAct, ClockSetAct, ExcludeAct, ImportAct, NightTaken, NoteAct, Picture,
    ProtocolAct,
};
pub use config::{Config, NightConfig};
pub use decisions::Decision;
pub use error::StoreError;
pub use findings::StoredFinding;
pub use history::Past;
pub use originals::Original;
pub use query::{Answer, SqlValue};
pub use read_from::{ReadingKept, Settles};
pub use recordings::{NewRecording, Stored};
pub use study::{Access, Deed, Study};
pub use summary::NightRow;
