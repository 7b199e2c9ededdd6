//! `verify`: proof that a study is what its decisions made it. Nothing is written in the study's folder.
//!
//! What stands here needs no file format: the chain of decisions, the originals by their hashes, the
//! database by itself and against the log. To prove the rows themselves, they are made again in a store that
//! stands elsewhere ([`Study::open_aside`]) and compared with [`differences`].

mod contents;
mod kept;
mod made;
mod rows;
mod shape;
mod snapshot;

pub use contents::{Difference, Differences, Skip, differences};
pub use made::{Made, made_by};

use crate::decisions::Log;
use crate::{Access, Config, StoreError, Study};
use snapshot::Snapshot;
use std::path::{Path, PathBuf};

/// What kind of fault a proof found. The code names it and is never renamed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultKind {
    /// A line of `decisions.jsonl` is not what it was, or lines are missing.
    LogBroken,
    /// An original or a kept definition is not what it was.
    OriginalChanged,
    /// An original or a kept definition is not there.
    OriginalMissing,
    /// `study.db` cannot be read, or contradicts itself.
    StoreDamaged,
    /// Tables, views or fixed rows of `study.db` are not those of this program.
    StoreShape,
    /// Rows of `study.db` are not as many as the log says, or not for the same decisions.
    StoreRows,
    /// A decision cannot be carried out again.
    NotRepeatable,
    /// Rows differ from what the originals give.
    RowsDiffer,
}

impl FaultKind {
    /// Every kind, in the order of docs/reliability.md.
    pub const ALL: [FaultKind; 8] = [
        FaultKind::LogBroken,
        FaultKind::NotRepeatable,
        FaultKind::OriginalChanged,
        FaultKind::OriginalMissing,
        FaultKind::RowsDiffer,
        FaultKind::StoreDamaged,
        FaultKind::StoreRows,
        FaultKind::StoreShape,
    ];

    /// Returns the code.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            FaultKind::LogBroken => "log-broken",
            FaultKind::OriginalChanged => "original-changed",
            FaultKind::OriginalMissing => "original-missing",
            FaultKind::StoreDamaged => "store-damaged",
            FaultKind::StoreShape => "store-shape",
            FaultKind::StoreRows => "store-rows",
            FaultKind::NotRepeatable => "not-repeatable",
            FaultKind::RowsDiffer => "rows-differ",
        }
    }

    /// Returns what to do about it.
    #[must_use]
    pub fn help(self) -> &'static str {
        match self {
            FaultKind::LogBroken => {
                "restore decisions.jsonl from a copy; what was decided after that copy has to be decided again"
            }
            FaultKind::OriginalChanged | FaultKind::OriginalMissing => {
                "import the true file again, or restore it from a copy: it then takes its old place"
            }
            FaultKind::StoreDamaged | FaultKind::StoreShape | FaultKind::StoreRows => {
                "`counterpane rebuild` makes study.db anew from originals and decisions"
            }
            FaultKind::NotRepeatable => "mend what the message says, then run `counterpane verify --full` again",
            FaultKind::RowsDiffer => "find out who changed it; `counterpane rebuild` makes study.db anew",
        }
    }
}

/// Something that is not as it should be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What kind of thing.
    pub kind: FaultKind,
    /// Where: a file of the study, or a table or recording of the store.
    pub place: String,
    /// What is wrong.
    pub message: String,
}

/// What a proof looked at and what came of it.
#[derive(Debug)]
pub struct Proof {
    /// What was looked at, a name and a sentence each.
    pub checked: Vec<(&'static str, String)>,
    /// What is not as it should be.
    pub faults: Vec<Fault>,
    /// What is as it may be, and worth knowing.
    pub notes: Vec<String>,
    /// How many decisions the log holds and the store does not yet: an act was interrupted after it was decided.
    pub pending: u64,
    root: PathBuf,
    snapshot: Snapshot,
    readable: bool,
}

impl Proof {
    /// Says whether rows can be made again and compared: the log is whole and the store can be read.
    #[must_use]
    pub fn can_go_on(&self) -> bool {
        self.readable
    }

    /// Opens the store that was looked at. `scratch` is a folder for a copy of it, which is made where the
    /// store has still to follow the log or `study.toml`.
    ///
    /// # Errors
    /// The copy cannot be written, or the store cannot be read.
    pub fn stored(&self, scratch: &Path) -> Result<Study, StoreError> {
        let study = Study::inspect(&self.root, self.snapshot.store(), Access::Read)?;
        if study.pending()?.is_empty() && study.follows_config()? {
            return Ok(study);
        }
        drop(study);
        let copy = scratch.join("stored.db");
        if self.snapshot.store().exists() {
            std::fs::copy(self.snapshot.store(), &copy).map_err(StoreError::io(&copy))?;
            snapshot::make_writable(&copy)?;
        }
        Study::open_aside(&self.root, &copy)
    }
}

/// Proves a study without reading its originals by their definitions. `progress` is told how many bytes of
/// originals were read, and of how many.
///
/// # Errors
/// It cannot be proven at all: there is no study, `study.toml` has a mistake, another program is writing, the
/// store is of another version, or the machine cannot read.
pub fn verify(root: &Path, progress: &mut dyn FnMut(u64, u64)) -> Result<Proof, StoreError> {
    let root = std::path::absolute(root).map_err(StoreError::io(root))?;
    let toml = root.join("study.toml");
    if !toml.is_file() {
        return Err(StoreError::NoStudy(root));
    }
    let text = std::fs::read_to_string(&toml).map_err(StoreError::io(&toml))?;
    Config::parse(&toml, &text)?.resolved_nights()?;
    let snapshot = Snapshot::take(&root)?;
    let mut proof = Proof {
        checked: Vec::new(),
        faults: Vec::new(),
        notes: snapshot.notes(),
        pending: 0,
        root: root.clone(),
        snapshot,
        readable: false,
    };
    let log = read_log(&root, &mut proof)?;
    kept::prove(&root, log.as_ref(), &mut proof, progress)?;
    let whole = prove_store(log.as_ref(), &mut proof)?;
    proof.readable = log.is_some() && whole;
    Ok(proof)
}

fn read_log(root: &Path, proof: &mut Proof) -> Result<Option<Log>, StoreError> {
    match Log::open(&root.join("decisions.jsonl")) {
        Ok(log) => {
            let n = count(log.decisions().len() as u64, "decision");
            proof.checked.push(("decisions.jsonl", format!("{n} in order, each follows from the one above")));
            if log.is_torn() {
                proof.notes.push(
                    "the last line of decisions.jsonl was cut off while it was written: it never became a decision, and the next command that writes removes it"
                        .into(),
                );
            }
            Ok(Some(log))
        }
        Err(StoreError::Log { line, problem }) => {
            let place = format!("decisions.jsonl line {line}");
            proof.faults.push(Fault { kind: FaultKind::LogBroken, place, message: problem });
            Ok(None)
        }
        Err(e) => Err(e),
    }
}

/// Returns `1 night`, `2 nights`.
fn count(n: u64, one: &str) -> String {
    format!("{n} {one}{}", if n == 1 { "" } else { "s" })
}

/// Proves the database; returns whether it can be read and has the tables that it should.
fn prove_store(log: Option<&Log>, proof: &mut Proof) -> Result<bool, StoreError> {
    let path = proof.snapshot.store().to_owned();
    let damaged = |message: String| Fault { kind: FaultKind::StoreDamaged, place: "study.db".into(), message };
    let db = match crate::study::connect(&path, Access::Read) {
        Ok(db) => db,
        Err(StoreError::NotAStore(_)) => {
            proof.faults.push(damaged("the file is not a store of counterpane".into()));
            return Ok(false);
        }
        Err(StoreError::Sql(e)) => {
            proof.faults.push(damaged(e.to_string()));
            return Ok(false);
        }
        Err(e) => return Err(e),
    };
    if std::fs::metadata(&path).map_or(0, |m| m.len()) == 0 {
        proof.notes.push("study.db is not there, or empty: the next command makes it from what was decided".into());
    }
    // Whatever SQLite refuses from here on is damage, and the rest is still looked at.
    let mut whole = true;
    let mut faults = Vec::new();
    match shape::prove(&db) {
        Ok(more) => {
            whole &= more.iter().all(|f| f.kind != FaultKind::StoreDamaged);
            faults.extend(more);
        }
        Err(e) => {
            whole = false;
            faults.push(damaged(e.to_string()));
        }
    }
    if let Some(log) = log {
        match rows::prove(&db, log) {
            Ok((said, more, pending)) => {
                proof.checked.push(("study.db", said));
                proof.pending = pending;
                faults.extend(more);
            }
            Err(e) => {
                whole = false;
                faults.push(damaged(e.to_string()));
            }
        }
    }
    let behind = faults.iter().any(|f| f.kind == FaultKind::LogBroken);
    proof.faults.extend(faults);
    Ok(whole && !behind)
}

#[cfg(test)]
mod tests {
    use super::FaultKind;

    #[test]
    fn the_page_about_reliability_tells_every_code() {
        let page = include_str!("../../../docs/reliability.md");
        let codes = FaultKind::ALL.map(FaultKind::code);
        assert!(codes.is_sorted(), "keep the codes alphabetical");
        for code in codes {
            assert!(page.contains(&format!("\n| `{code}` | ")), "docs/reliability.md has no row for `{code}`");
        }
    }
}
