//! What a check found, and the facts of each kind of finding.

use crate::Locator;
use crate::stage::UnknownWord;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

/// How much a finding matters for a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// A number computed from this would be wrong.
    Error,
    /// A number stands, but the report must say so.
    Warning,
    /// Unusual.
    Info,
}

impl Severity {
    /// Returns the word that findings print.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Info => "info",
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Severity {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Severity, UnknownWord> {
        [Severity::Error, Severity::Warning, Severity::Info].into_iter().find(|s| s.code() == text).ok_or_else(|| {
            UnknownWord { what: "severity", word: text.to_owned(), known: "error, warning, info".into() }
        })
    }
}

/// What becomes of the numbers when a finding of severity error is accepted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Accepted {
    /// It can be accepted; the sentence says what is computed then.
    Then(&'static str),
    /// It cannot be accepted; the sentence says why.
    Never(&'static str),
    /// Nothing is held back for it, so there is nothing to accept.
    NotNeeded,
}

/// The facts of one kind of finding: its page in the catalogue.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// Public name in kebab-case; names the fault; never renamed or used again.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// The fault, in one sentence without a full stop.
    pub title: &'static str,
    /// Why it matters for a comparison.
    pub why: &'static str,
    /// An example as the user would see it.
    pub example: &'static str,
    /// What to do.
    pub help: &'static str,
    /// What is computed once it is accepted.
    pub accepted: Accepted,
}

impl Kind {
    /// Returns a finding of this kind without a place, with the kind's own help.
    #[must_use]
    pub fn finding(&self, message: impl Into<String>) -> Finding {
        Finding {
            code: Cow::Borrowed(self.code),
            severity: self.severity,
            recording: None,
            night: None,
            place: None,
            message: message.into(),
            help: self.help.to_owned(),
            count: 1,
        }
    }
}

/// Where a finding points.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Name of the file as the user gave it.
    pub file: String,
    /// Place in it.
    pub locator: Locator,
    /// The user's own line there, or what comes closest; shortened when long.
    pub line: String,
}

/// What a check found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Code of its [`Kind`].
    pub code: Cow<'static, str>,
    /// How much it matters.
    pub severity: Severity,
    /// Key of the recording it speaks of, if it speaks of one.
    pub recording: Option<String>,
    /// Participant and label of the night it speaks of, if it speaks of one.
    pub night: Option<(String, String)>,
    /// Where it points, if it points into a file.
    pub place: Option<Place>,
    /// What was found, in one sentence that can stand alone, without a full stop.
    pub message: String,
    /// What to do next.
    pub help: String,
    /// How many times it was found; samples are capped, this number is not.
    pub count: u64,
}

impl Finding {
    /// Returns the finding pointing at a place.
    #[must_use]
    pub fn at(self, place: Place) -> Finding {
        Finding { place: Some(place), ..self }
    }

    /// Returns the finding speaking of a recording.
    #[must_use]
    pub fn of(self, recording: &crate::Recording) -> Finding {
        Finding {
            recording: Some(recording.key.clone()),
            night: Some((recording.participant.clone(), recording.night.clone())),
            ..self
        }
    }

    /// Returns the finding with other help.
    #[must_use]
    pub fn help(self, help: impl Into<String>) -> Finding {
        Finding { help: help.into(), ..self }
    }
}
