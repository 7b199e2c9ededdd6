//! `decisions.jsonl`: what was decided, in order, each line chained to the one above by its hash.

use crate::StoreError;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// The hash above the first line.
pub const NO_HASH: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// One line of the log.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Decision {
    /// Number of the line, from 1.
    pub n: u64,
    /// When it was decided: RFC 3339, UTC.
    pub at: String,
    /// Who decided.
    pub by: String,
    /// What was decided.
    pub act: Act,
    /// SHA-256 of the line above, without its line end; zeros for the first.
    pub prev: String,
}

/// What can be decided.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Act {
    /// An original was read by a definition into recordings.
    Import(Box<ImportAct>),
    /// An error was accepted.
    Accept {
        /// Code of the finding.
        code: String,
        /// The participant of the night.
        participant: String,
        /// Label of the night.
        night: String,
        /// Key of the recording; without one, all recordings of the night.
        recording: Option<String>,
        /// Why.
        reason: String,
    },
}

/// Everything that an import needs to be done again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportAct {
    /// SHA-256 of the original.
    pub original: String,
    /// Its name as it was received.
    pub file: String,
    /// Id of the definition.
    pub definition: String,
    /// SHA-256 of the definition's text, which is kept among the originals.
    pub definition_sha256: String,
    /// The participant's code.
    pub participant: String,
    /// The unit, for a device.
    pub unit: Option<String>,
    /// The scorer, for a reference.
    pub scorer: Option<String>,
    /// Label of the only night to take, where one was named.
    pub night: Option<String>,
    /// Zone given on import.
    pub zone: Option<String>,
    /// The study's zone then: that of nights which nobody had declared.
    pub study_zone: String,
    /// Start given on import, as typed.
    pub start: Option<String>,
    /// End given on import, as typed.
    pub end: Option<String>,
    /// Lights off given on import, as typed.
    pub lights_off: Option<String>,
    /// Lights on given on import, as typed.
    pub lights_on: Option<String>,
    /// The nights of the participant as they were declared then.
    pub nights: Vec<NightTaken>,
}

/// A night as it was declared when a decision was taken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NightTaken {
    /// Label.
    pub label: String,
    /// Kind, as a word.
    pub kind: counterpane_model::NightKind,
    /// IANA zone.
    pub zone: String,
    /// First instant of the window.
    pub from: counterpane_model::Instant,
    /// First instant after it.
    pub until: counterpane_model::Instant,
}

impl ImportAct {
    /// Says whether this import took a night that another one would take: same original, same
    /// definition, same bindings, and the night declared as it was then.
    #[must_use]
    pub fn took(&self, other: &ImportAct, night: &NightTaken) -> bool {
        let bare = |act: &ImportAct| ImportAct { file: String::new(), nights: Vec::new(), ..act.clone() };
        self.nights.contains(night) && bare(self) == bare(other)
    }
}

/// The log, open for reading and, once the study is locked, for appending.
#[derive(Debug)]
pub struct Log {
    path: PathBuf,
    decisions: Vec<Decision>,
    head: String,
}

impl Log {
    /// Reads the log and checks its chain. A missing file is an empty log.
    ///
    /// A last line without its line end was being written when the machine or the program stopped: it
    /// never became a decision, and `cut_torn_line` says whether it is cut off the file.
    ///
    /// # Errors
    /// A line that is not a decision, is out of number, or does not follow from the line above.
    pub fn open(path: &Path, cut_torn_line: bool) -> Result<Log, StoreError> {
        let mut text = Vec::new();
        if path.exists() {
            File::open(path).and_then(|mut f| f.read_to_end(&mut text)).map_err(StoreError::io(path))?;
        }
        let whole = text.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
        if whole < text.len() && cut_torn_line {
            let file = OpenOptions::new().write(true).open(path).map_err(StoreError::io(path))?;
            file.set_len(whole as u64).and_then(|()| file.sync_all()).map_err(StoreError::io(path))?;
        }
        let mut log = Log { path: path.to_owned(), decisions: Vec::new(), head: NO_HASH.to_owned() };
        for line in text[..whole].split_inclusive(|b| *b == b'\n') {
            log.take(&line[..line.len() - 1])?;
        }
        Ok(log)
    }

    /// Returns every decision in order.
    #[must_use]
    pub fn decisions(&self) -> &[Decision] {
        &self.decisions
    }

    /// Returns the hash of the last line; zeros when there is none.
    #[must_use]
    pub fn head(&self) -> &str {
        &self.head
    }

    /// Appends a decision and makes it durable.
    ///
    /// # Errors
    /// The file cannot be written; then a torn line may remain, which the next opening cuts off.
    pub(crate) fn append(&mut self, at: &str, by: &str, act: Act) -> Result<Decision, StoreError> {
        let n = self.decisions.len() as u64 + 1;
        let decision = Decision { n, at: at.to_owned(), by: by.to_owned(), act, prev: self.head.clone() };
        let mut line = serde_json::to_vec(&decision).map_err(|e| StoreError::Word(e.to_string()))?;
        line.push(b'\n');
        let mut file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&self.path)
            .map_err(StoreError::io(&self.path))?;
        file.seek(SeekFrom::End(0))
            .and_then(|_| file.write_all(&line))
            .and_then(|()| file.sync_all())
            .map_err(StoreError::io(&self.path))?;
        self.take(&line[..line.len() - 1])?;
        Ok(decision)
    }

    fn take(&mut self, line: &[u8]) -> Result<(), StoreError> {
        let number = self.decisions.len() as u64 + 1;
        let broken = |problem: String| StoreError::Log { line: number, problem };
        let decision: Decision = serde_json::from_slice(line)
            .map_err(|e| broken(format!("this is not a decision ({e}); restore the file from a copy")))?;
        if decision.n != number {
            return Err(broken(format!("it is numbered {}; lines are missing or out of order", decision.n)));
        }
        if decision.prev != self.head {
            return Err(broken("it does not follow from the line above: that line, or this one, was changed".into()));
        }
        self.head = hash(line);
        self.decisions.push(decision);
        Ok(())
    }
}

/// Returns the SHA-256 of some bytes, as 64 hexadecimal digits.
#[must_use]
pub fn hash(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Returns bytes as lower-case hexadecimal digits.
#[must_use]
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut out, b| {
        use std::fmt::Write as _;
        let _ = write!(out, "{b:02x}");
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn accept(code: &str) -> Act {
        Act::Accept {
            code: code.into(),
            participant: "P01".into(),
            night: "2026-04-04".into(),
            recording: None,
            reason: "seen".into(),
        }
    }

    /// A log of three decisions, its path, and the folder that keeps it alive.
    fn three() -> (tempfile::TempDir, PathBuf) {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("decisions.jsonl");
        let mut log = Log::open(&path, true).unwrap();
        for code in ["a", "b", "c"] {
            log.append("2026-04-06T00:00:00Z", "me", accept(code)).unwrap();
        }
        (dir, path)
    }

    #[test]
    fn what_was_appended_reads_back() {
        let (_dir, path) = three();
        let log = Log::open(&path, false).unwrap();
        assert_eq!(log.decisions().iter().map(|d| d.n).collect::<Vec<_>>(), [1, 2, 3]);
        assert_eq!(log.decisions()[2].act, accept("c"));
    }

    #[test]
    fn any_flipped_bit_above_the_last_line_is_named() {
        let (_dir, path) = three();
        let bytes = std::fs::read(&path).unwrap();
        let last = bytes[..bytes.len() - 1].iter().rposition(|b| *b == b'\n').unwrap();
        for at in 0..last {
            let mut flipped = bytes.clone();
            flipped[at] ^= 1;
            std::fs::write(&path, &flipped).unwrap();
            assert!(
                matches!(Log::open(&path, false), Err(StoreError::Log { .. })),
                "byte {at} was changed and not noticed"
            );
        }
    }

    #[test]
    fn a_torn_last_line_is_no_decision() {
        let (_dir, path) = three();
        let bytes = std::fs::read(&path).unwrap();
        std::fs::write(&path, &bytes[..bytes.len() - 5]).unwrap();
        assert_eq!(Log::open(&path, true).unwrap().decisions().len(), 2);
        let mut log = Log::open(&path, true).unwrap();
        log.append("2026-04-06T00:00:00Z", "me", accept("d")).unwrap();
        assert_eq!(Log::open(&path, false).unwrap().decisions().len(), 3);
    }
}
