//! `decisions.jsonl`: what was decided, in order, each line chained to the one above by its hash.

use crate::{Act, StoreError};
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

/// The log, open for reading and, once the study is locked, for appending.
#[derive(Debug)]
pub struct Log {
    path: PathBuf,
    decisions: Vec<Decision>,
    head: String,
    /// Where the last line that is whole ends, and what stands behind it.
    end: u64,
    rest: Rest,
}

/// What stands behind the last whole line of the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Rest {
    Nothing,
    /// The last line lacks its line end and is a decision all the same.
    NoLineEnd,
    /// A line that was being written when the machine or the program stopped: it never became a decision.
    Torn,
}

impl Log {
    /// Reads the log and checks its chain. A missing file is an empty log. Nothing is written.
    ///
    /// # Errors
    /// A line that is not a decision, is out of number, or does not follow from the line above.
    pub fn open(path: &Path) -> Result<Log, StoreError> {
        let mut text = Vec::new();
        if path.exists() {
            File::open(path).and_then(|mut f| f.read_to_end(&mut text)).map_err(StoreError::io(path))?;
        }
        let whole = text.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
        let mut log = Log {
            path: path.to_owned(),
            decisions: Vec::new(),
            head: NO_HASH.to_owned(),
            end: whole as u64,
            rest: Rest::Nothing,
        };
        for line in text[..whole].split_inclusive(|b| *b == b'\n') {
            log.take(&line[..line.len() - 1])?;
        }
        if whole < text.len() {
            let kept = log.take(&text[whole..]).is_ok();
            log.rest = if kept { Rest::NoLineEnd } else { Rest::Torn };
            if kept {
                log.end = text.len() as u64;
            }
        }
        Ok(log)
    }

    /// Cuts a torn last line off the file, or gives a whole one its line end back. To be called once the
    /// store has been found to agree with the log.
    ///
    /// # Errors
    /// The file cannot be written.
    pub(crate) fn mend(&mut self) -> Result<(), StoreError> {
        if self.rest == Rest::Nothing {
            return Ok(());
        }
        let failed = || StoreError::io(&self.path);
        let mut file = OpenOptions::new().write(true).open(&self.path).map_err(failed())?;
        file.set_len(self.end).map_err(failed())?;
        if self.rest == Rest::NoLineEnd {
            file.seek(SeekFrom::End(0)).and_then(|_| file.write_all(b"\n")).map_err(failed())?;
            self.end += 1;
        }
        file.sync_all().map_err(failed())?;
        self.rest = Rest::Nothing;
        Ok(())
    }

    /// Says whether a line stands at the end that was being written when the machine or the program stopped.
    pub(crate) fn is_torn(&self) -> bool {
        self.rest == Rest::Torn
    }

    /// Returns the hash of line `n`: what line `n` + 1 is chained to.
    pub(crate) fn hash_of(&self, n: u64) -> &str {
        let next = usize::try_from(n).ok().and_then(|i| self.decisions.get(i));
        next.map_or(&self.head, |d| &d.prev)
    }

    /// Returns every decision in order.
    #[must_use]
    pub fn decisions(&self) -> &[Decision] {
        &self.decisions
    }

    /// Returns the next decision and its line, without its line end; nothing is written.
    pub(crate) fn next(&self, at: &str, by: &str, act: Act) -> Result<(Decision, Vec<u8>), StoreError> {
        let n = self.decisions.len() as u64 + 1;
        let decision = Decision { n, at: at.to_owned(), by: by.to_owned(), act, prev: self.head.clone() };
        let line = serde_json::to_vec(&decision).map_err(|e| StoreError::Word(e.to_string()))?;
        Ok((decision, line))
    }

    /// Appends a line that [`Log::next`] gave and makes it durable.
    ///
    /// # Errors
    /// The file cannot be written; then the log is as it was, on disk too where the machine lets it.
    pub(crate) fn append(&mut self, line: &[u8]) -> Result<(), StoreError> {
        let mut file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&self.path)
            .map_err(StoreError::io(&self.path))?;
        let mut whole = line.to_vec();
        whole.push(b'\n');
        let written =
            file.seek(SeekFrom::Start(self.end)).and_then(|_| file.write_all(&whole)).and_then(|()| file.sync_all());
        if let Err(e) = written {
            // Half a line must not stand in the way of the next one.
            let _ = file.set_len(self.end);
            return Err(StoreError::io(&self.path)(e));
        }
        self.end += whole.len() as u64;
        self.take(line)
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
            locator: None,
            reason: "seen".into(),
        }
    }

    fn add(log: &mut Log, code: &str) {
        let (_, line) = log.next("2026-04-06T00:00:00Z", "me", accept(code)).unwrap();
        log.append(&line).unwrap();
    }

    /// A log of three decisions, its path, and the folder that keeps it alive.
    fn three() -> (tempfile::TempDir, PathBuf) {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("decisions.jsonl");
        let mut log = Log::open(&path).unwrap();
        for code in ["a", "b", "c"] {
            add(&mut log, code);
        }
        (dir, path)
    }

    #[test]
    fn what_was_appended_reads_back() {
        let (_dir, path) = three();
        let log = Log::open(&path).unwrap();
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
            assert!(matches!(Log::open(&path), Err(StoreError::Log { .. })), "byte {at} was changed and not noticed");
        }
    }

    #[test]
    fn a_torn_last_line_is_no_decision() {
        let (_dir, path) = three();
        let bytes = std::fs::read(&path).unwrap();
        std::fs::write(&path, &bytes[..bytes.len() - 5]).unwrap();
        let mut log = Log::open(&path).unwrap();
        assert_eq!(log.decisions().len(), 2);
        log.mend().unwrap();
        add(&mut log, "d");
        assert_eq!(Log::open(&path).unwrap().decisions().len(), 3);
    }

    #[test]
    fn a_last_line_without_its_line_end_is_a_decision() {
        let (_dir, path) = three();
        let bytes = std::fs::read(&path).unwrap();
        std::fs::write(&path, &bytes[..bytes.len() - 1]).unwrap();
        let mut log = Log::open(&path).unwrap();
        assert_eq!(log.decisions().len(), 3);
        log.mend().unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), bytes);
    }
}
