//! Which of several exports of a night counts, since when, and how much they differ.

use counterpane_report::{Chosen, ExportLine};
use counterpane_store::{Act, Decision, Past, Stored, Study};
use std::collections::BTreeSet;

/// Returns every standing export of each source and night of which these recordings hold one and the store several;
/// by night, source and version.
///
/// # Errors
/// The store cannot be read.
pub(super) fn exports(study: &Study, recordings: &[Stored]) -> anyhow::Result<Vec<ExportLine>> {
    let nights: BTreeSet<(&str, &str)> =
        recordings.iter().map(|s| (s.recording.participant.as_str(), s.recording.night.as_str())).collect();
    let mut out = Vec::new();
    for (participant, night) in nights {
        let here = |source: &str| {
            recordings
                .iter()
                .map(|s| &s.recording)
                .any(|r| r.participant == participant && r.night == night && r.source.piece() == source)
        };
        let history = study.history(participant, night)?;
        let standing: Vec<&Past> =
            history.iter().filter(|p| p.replaced_by.is_none() && p.withdrawn_by.is_none() && here(&p.source)).collect();
        let several = standing.chunk_by(|a, b| a.source == b.source).filter(|of_one| of_one.len() > 1);
        let decisions = study.decisions_of(participant, night)?;
        for export in several.flatten() {
            out.push(ExportLine {
                night: format!("{participant}/{night}"),
                source: export.source.clone(),
                recording: export.key.rsplit('/').next().unwrap_or(&export.key).to_owned(),
                file: export.file.clone(),
                decision: export.decision,
                at: export.at.clone(),
                chosen: export.counts.then(|| chosen(&history, &decisions, &export.key)),
                minutes: export.minutes.clone(),
            });
        }
    }
    Ok(out)
}

/// Why a recording counts: the last standing decision that names it, or a reading whose place it took.
fn chosen(history: &[Past], decisions: &[(Decision, Option<u64>)], key: &str) -> Chosen {
    let standing = decisions.iter().rev().filter(|(_, taken_back)| taken_back.is_none());
    let named = standing.filter_map(|(decision, _)| match &decision.act {
        Act::Count { recording, reason } if newest(history, recording) == key => Some((decision, reason)),
        _ => None,
    });
    match named.into_iter().next() {
        None => Chosen::First,
        Some((decision, reason)) => Chosen::Decided {
            decision: decision.n,
            reason: reason.clone(),
            author: decision.by.clone(),
            date: decision.at.clone(),
        },
    }
}

/// The reading of an export that stands now.
fn newest<'a>(history: &'a [Past], key: &'a str) -> &'a str {
    let mut key = key;
    // Readings replace each other in order, so there are no more steps than readings.
    for _ in history {
        match history.iter().find(|p| p.key == key).and_then(|p| p.replaced_by.as_deref()) {
            Some(next) => key = next,
            None => break,
        }
    }
    key
}
