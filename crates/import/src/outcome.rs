//! What an import gives.

use counterpane_formats::FormatError;
use counterpane_model::{Claim, Finding, Instant, Note, Span, TimeBasis};
use std::collections::BTreeMap;

/// What was read from one file.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// One for each night, in order of time.
    pub parts: Vec<Part>,
    /// Findings of the file; an error here speaks of every part.
    pub findings: Vec<Finding>,
    /// What became of the rows.
    pub tally: Tally,
    /// Names of header fields that identify a person, without their values.
    pub identity: Vec<String>,
}

/// What the file says about one night.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// The night.
    pub night: PartNight,
    /// IANA name of the zone in which its times are shown.
    pub zone: String,
    /// How its instants were known.
    pub time_basis: TimeBasis,
    /// The first row that gives a time of the night, as it stands in the source; empty for claims.
    pub raw_time: String,
    /// The step to which the source gives its times, in milliseconds; 0 when not stated.
    pub step_ms: i64,
    /// Spans in order of their start: layers laid over each other, small seams closed.
    pub spans: Vec<Span>,
    /// Claims in the order of the source.
    pub claims: Vec<Claim>,
    /// Notes in order of time.
    pub notes: Vec<Note>,
    /// Findings of this night.
    pub findings: Vec<Finding>,
}

/// The night of a part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PartNight {
    /// A declared night, by its label.
    Declared(String),
    /// No declared night holds it.
    Undeclared {
        /// The date of the evening, such as `2026-04-04`.
        evening: String,
        /// Noon of that day, in the zone of the part.
        from: Instant,
        /// Noon of the next day.
        until: Instant,
    },
}

/// What became of the rows. A row of shape `codes` counts as many as it has codes, and a row of shape
/// `claims` as many as the definition names quantities; several blocks count a row once each, but what cannot be
/// read at all is counted once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// All of them: the sum of everything below.
    pub rows: u64,
    /// Those that became a span (before layers are laid over each other).
    pub spans: u64,
    /// Those that became a claim.
    pub claims: u64,
    /// Those that became a note.
    pub notes: u64,
    /// Those that became a finding and nothing else.
    pub faulty: u64,
    /// Those that were left out, by the rule that says so.
    pub ignored: BTreeMap<String, u64>,
}

impl Tally {
    /// Returns the sum of all outcomes; always equal to `rows`.
    #[must_use]
    pub fn sum(&self) -> u64 {
        self.spans + self.claims + self.notes + self.faulty + self.ignored.values().sum::<u64>()
    }
}

/// Why nothing could be read.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// The file cannot be read.
    #[error(transparent)]
    Format(#[from] FormatError),
    /// A file beside this one, which the definition asks for, cannot be read.
    #[error("{place}, which describes the file: {problem}")]
    Companion {
        /// Where it was found.
        place: String,
        /// Why not.
        problem: Box<ImportError>,
    },
    /// One of several files that describe this one together is not what such a file is.
    #[error("{place}, which describes the file, is no JSON object: {problem}")]
    Description {
        /// Where it was found.
        place: String,
        /// What is wrong, with its line.
        problem: String,
    },
    /// The definition says something that this version cannot do.
    #[error("{what} is read from a later version")]
    Later {
        /// What it is, such as ``shape `keyed` ``.
        what: String,
    },
    /// A value of the command line is needed and was not given.
    #[error("{why}; give it with `{option} {example}`")]
    Needs {
        /// The option, such as `--start`.
        option: &'static str,
        /// An example of its value.
        example: &'static str,
        /// Why it is needed.
        why: String,
    },
    /// A value of the command line cannot be used.
    #[error("`{option}`: {why}")]
    Option {
        /// The option, such as `--start`.
        option: &'static str,
        /// Why not.
        why: String,
    },
    /// No child process could be started for a filter.
    #[error("the filter of the definition cannot be run: {0}")]
    Filter(#[source] std::io::Error),
    /// The machine could not keep a copy of the file while several blocks were read from it.
    #[error("the file could not be kept while it was read: {0}")]
    Copy(#[source] std::io::Error),
}

impl ImportError {
    /// Returns the name and the value of the limit that the file goes beyond, when that is what is wrong.
    #[must_use]
    pub fn limit(&self) -> Option<(&'static str, u64)> {
        match self {
            ImportError::Format(error) => error.limit(),
            ImportError::Companion { problem, .. } => problem.limit(),
            _ => None,
        }
    }
}
