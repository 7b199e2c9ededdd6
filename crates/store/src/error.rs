//! What can go wrong with a study.

use std::path::PathBuf;

/// Why a study cannot be opened, read or changed.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The machine could not read or write.
    #[error("{}: {error}", path.display())]
    Io {
        /// What was read or written.
        path: PathBuf,
        /// What the machine said.
        error: std::io::Error,
    },
    /// There is no study here.
    #[error(
        "no study.toml in {} or in any folder above it; make a study with `counterpane new DIR`, or name one with `--study DIR`",
        .0.display()
    )]
    NoStudy(PathBuf),
    /// A folder that should become a study holds something already.
    #[error("{} holds a study already; choose another folder", .0.display())]
    StudyExists(PathBuf),
    /// `study.toml` has a mistake; the text points at it.
    #[error("{}: {problem}", path.display())]
    Config {
        /// The file.
        path: PathBuf,
        /// Line, excerpt and caret, then what to do.
        problem: String,
    },
    /// The database refused.
    #[error("study.db: {0}")]
    Sql(#[from] rusqlite::Error),
    /// The database was made by a later version.
    #[error(
        "study.db has schema {found}, and this version of counterpane knows up to {known}; use a newer counterpane"
    )]
    Newer {
        /// Schema of the file.
        found: i64,
        /// Newest schema that is known.
        known: i64,
    },
    /// The database was made by an earlier version and is only read.
    #[error("study.db has an older schema; run `counterpane check` once where the folder can be written")]
    Older,
    /// The file is not a study's database.
    #[error("{} is not a store of counterpane; move it away and run `counterpane rebuild`", .0.display())]
    NotAStore(PathBuf),
    /// The decision log is broken.
    #[error("decisions.jsonl line {line}: {problem}")]
    Log {
        /// Line, from 1.
        line: u64,
        /// What is wrong with it.
        problem: String,
    },
    /// The database holds decisions that the log does not.
    #[error(
        "study.db holds {in_db} decisions and decisions.jsonl {in_log}: the log was shortened or changed; restore decisions.jsonl from a copy, or run `counterpane rebuild` to follow the log as it is"
    )]
    LogBehind {
        /// Decisions in the database.
        in_db: u64,
        /// Decisions in the log.
        in_log: u64,
    },
    /// Somebody else is writing.
    #[error("another counterpane is writing to this study; try again when it is done")]
    Busy,
    /// An original is not there.
    #[error("the original of {file} ({sha256}) is not in originals/; import the file again, or restore it from a copy")]
    OriginalMissing {
        /// Name of the file as it was received.
        file: String,
        /// Its SHA-256.
        sha256: String,
    },
    /// A file changed while it was read.
    #[error("{} changed while it was being read; import it again when it is at rest", .0.display())]
    Changed(PathBuf),
    /// A word in the database that the model does not know.
    #[error("study.db: {0}; run `counterpane rebuild`")]
    Word(String),
    /// A decision speaks of a night that `study.toml` no longer declares.
    #[error(
        "{participant} has no night `{label}` in study.toml any more, and a decision speaks of it; declare it again"
    )]
    NightGone {
        /// The participant's code.
        participant: String,
        /// Label of the night.
        label: String,
    },
    /// A decision that cannot be taken back.
    #[error("decision {decision} cannot be taken back: {why}")]
    NotWithdrawable {
        /// Its number.
        decision: u64,
        /// Why, and what to do instead.
        why: &'static str,
    },
    /// A decision speaks of a recording that is not there, or no longer stands.
    #[error("no recording `{0}` stands in the store; `counterpane show NIGHT --history` lists all of a night")]
    NoRecording(String),
    /// An original is not what it was.
    #[error(
        "the original of {file} ({sha256}) was changed on disk; import the true file again, or restore it from a copy"
    )]
    OriginalChanged {
        /// Name of the file as it was received.
        file: String,
        /// SHA-256 that it should have.
        sha256: String,
    },
    /// A name that the study does not have.
    #[error("{what} `{name}` is not in study.toml; it has {known}. Add it there:\n\n{example}")]
    Unknown {
        /// What kind of thing, such as `participant`.
        what: &'static str,
        /// The name that was given.
        name: String,
        /// The names that exist.
        known: String,
        /// Lines for `study.toml` that would add it.
        example: String,
    },
    /// A statement that `query` does not run.
    #[error("{0}")]
    Query(String),
}

impl StoreError {
    /// Returns a closure that wraps an I/O error with the path it happened at.
    pub(crate) fn io(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> StoreError {
        let path = path.into();
        move |error| StoreError::Io { path, error }
    }
}
