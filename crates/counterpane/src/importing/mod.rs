//! From a file to recordings of the store.

mod again;
mod asked;
mod beside;
mod blanking;
mod definition;
mod limits;
mod nights;
mod participant;
mod read_from;
mod reading;
mod recordings;
mod sheet;
mod source;
mod usual;

pub(crate) use again::apply_again;
pub(crate) use asked::Asked;
pub(crate) use blanking::{identity_in, picture};
pub(crate) use definition::Why;
#[cfg(test)]
pub(crate) use limits::size_text;
pub(crate) use limits::{explained, how_to_raise};
pub(crate) use read_from::Told;
pub(crate) use recordings::{local_stretch, stretch};

use counterpane_import::Tally;
use counterpane_model::{Finding, Night};
use counterpane_store::{Act, ImportAct, NewRecording, Study};
use reading::read;
use std::path::Path;

/// A file that was brought in, or would have been.
#[derive(Debug)]
pub(crate) struct File {
    /// Everything that the import needs to be done again.
    pub(crate) act: ImportAct,
    /// Why that definition read it.
    pub(crate) why: Why,
    /// What became of its rows.
    pub(crate) tally: Tally,
    /// Names of header fields that identify a person.
    pub(crate) identity: Vec<String>,
    /// Why nothing was blanked, where that was asked for.
    pub(crate) unblanked: Option<&'static str>,
    /// Number of a decision that keeps the file as it was received, where this import blanks it.
    pub(crate) kept_whole: Option<u64>,
    /// What is to be told of the pictures and readings that come with it.
    pub(crate) read_from: Told,
    /// The recordings.
    pub(crate) recordings: Vec<NewRecording>,
    /// Their keys; empty texts in a dry run.
    pub(crate) keys: Vec<String>,
    /// Labels of nights that an earlier import took in the same way.
    pub(crate) taken_before: Vec<String>,
    /// Evenings of nights that are not declared and were left out.
    pub(crate) left_out: Vec<String>,
    /// Declared nights around whose windows the file says more, with how much; left out too.
    pub(crate) around: Vec<String>,
    /// The original was missing or changed on disk, and is whole again.
    pub(crate) restored: bool,
    /// The participants for whom the same original was imported before.
    pub(crate) others: Vec<String>,
    /// Nights that are declared with this import.
    pub(crate) new_nights: Vec<Night>,
    /// What import and the checks of the nights found; in a dry run what import found, and what can be said of each
    /// recording by itself.
    pub(crate) findings: Vec<Finding>,
}

/// What came of a file that could be read.
pub(crate) enum Brought {
    /// Recordings of it are in the store, or were before.
    In(Box<File>),
    /// Nothing of it would be taken.
    Nothing {
        /// Why, in words.
        why: String,
        /// What import found in it.
        findings: Vec<Finding>,
    },
}

/// Reads a file and, unless it is a dry run, stores what it holds of declared nights.
///
/// # Errors
/// See [`read`]; the store refuses. Then nothing of the file is stored.
pub(crate) fn bring_in(
    study: &mut Study,
    path: &Path,
    asked: &Asked,
    dry_run: bool,
    by: &str,
) -> anyhow::Result<Brought> {
    let mut reading = read(study, path, asked).map_err(explained)?;
    let recordings = reading.recordings();
    if let Some(why) = reading::nothing_taken(&reading) {
        return Ok(Brought::Nothing { why, findings: reading.outcome.findings });
    }
    let mut file = File {
        act: reading.act.clone(),
        why: reading.why.clone(),
        tally: reading.outcome.tally.clone(),
        identity: reading.outcome.identity.clone(),
        unblanked: reading.unblanked(),
        kept_whole: reading.act.blanked.as_ref().and_then(|b| study.keeps_as_received(&b.received)),
        read_from: reading.read_from.told.clone(),
        keys: vec![String::new(); recordings.len()],
        taken_before: reading.taken_before.clone(),
        left_out: reading.left_out.clone(),
        around: reading.around.clone(),
        restored: false,
        others: other_participants(study, &reading.act),
        new_nights: reading.new_nights.clone(),
        findings: recordings.iter().flat_map(|r| r.findings.clone()).collect(),
        recordings,
    };
    if dry_run {
        for new in &file.recordings {
            let found = counterpane_check::check_recording(&new.recording, &file.act.definition, &new.findings);
            // It has no key yet: the night says enough.
            file.findings.extend(found.into_iter().map(|f| Finding { recording: None, ..f }));
        }
    }
    if !dry_run && file.recordings.is_empty() {
        file.restored = reading.restore(study)?;
    }
    if !dry_run && !file.recordings.is_empty() {
        file.keys = reading.store(study, path, &crate::opening::now(), by)?;
        file.findings = findings_of(study, &file.keys)?;
    }
    Ok(Brought::In(Box::new(file)))
}

/// Returns the other participants for whom the same original was imported.
fn other_participants(study: &Study, act: &ImportAct) -> Vec<String> {
    let mut out: Vec<String> = study
        .decisions()
        .iter()
        .filter_map(|d| match &d.act {
            Act::Import(a) if a.original == act.original && a.participant != act.participant => {
                Some(a.participant.clone())
            }
            _ => None,
        })
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// Returns what stands in the store of these recordings and of their nights.
fn findings_of(study: &Study, keys: &[String]) -> anyhow::Result<Vec<Finding>> {
    let mut out: Vec<Finding> = Vec::new();
    for key in keys {
        let mut parts = key.splitn(3, '/');
        let (Some(participant), Some(night)) = (parts.next(), parts.next()) else { continue };
        let of_night = study.findings(Some((participant, night)))?;
        for finding in of_night.into_iter().map(|f| f.finding) {
            // Findings of the night itself are told once.
            if finding.recording.as_deref().is_none_or(|r| r == key) && !out.contains(&finding) {
                out.push(finding);
            }
        }
    }
    Ok(out)
}
