//! Scorers of the same nights against each other.

use super::reference::recordings;
use crate::output::clean;
use counterpane_compare::{Protocol, Scorers, ScorersNight, scorers, scorers_of_night};
use counterpane_model::{Decided, Lights, Night};
use counterpane_store::{Stored, Study};
use std::collections::BTreeSet;

/// The scorers of each night that has two or more, compared with each other; and what was left aside, a sentence each.
///
/// A scorer with open errors is left aside: this is beside what was asked for, and must not hold it up.
#[derive(Default)]
pub(crate) struct AgainstEachOther {
    nights: Vec<ScorersNight>,
    aside: Vec<String>,
}

impl AgainstEachOther {
    /// Adds a night, whose recordings and decisions are those that count.
    pub(crate) fn add(
        &mut self,
        study: &Study,
        night: &Night,
        stored: &[Stored],
        decided: &Decided,
        protocol: &Protocol,
    ) -> anyhow::Result<()> {
        self.nights.extend(of_night(study, night, stored, decided, protocol, &mut self.aside)?);
        Ok(())
    }

    /// Returns the nights put together.
    pub(crate) fn together(self) -> (Scorers, Vec<String>) {
        (scorers(self.nights), self.aside)
    }
}

fn of_night(
    study: &Study,
    night: &Night,
    stored: &[Stored],
    decided: &Decided,
    protocol: &Protocol,
    aside: &mut Vec<String>,
) -> anyhow::Result<Option<ScorersNight>> {
    let counts = |s: &Stored| s.counts && decided.excludes(&s.recording.source).is_none();
    let diaries: Vec<Stored> = stored.iter().filter(|s| s.counts && s.recording.is_notes_only()).cloned().collect();
    let scores = |s: &&Stored| counts(s) && s.recording.source.is_reference() && !s.recording.spans.is_empty();
    let mut all: Vec<Stored> = stored.iter().filter(scores).cloned().collect();
    if all.len() < 2 {
        return Ok(None);
    }
    let findings = study.findings(Some((&night.participant, &night.label)))?;
    let open: BTreeSet<&str> =
        findings.iter().filter(|f| f.is_open_error()).filter_map(|f| f.finding.recording.as_deref()).collect();
    let name = format!("{}/{}", night.participant, night.label);
    for s in all.extract_if(.., |s| open.contains(s.recording.key.as_str())) {
        let code = clean(s.recording.source.name());
        aside.push(format!("{name}: {code} is not compared with other scorers, because open errors are in it"));
    }
    if all.len() < 2 {
        return Ok(None);
    }
    // What the night and its scorers know of the lights goes first, so only diaries are asked here.
    let bare = Night { lights: Lights::default(), ..night.clone() };
    let diary = super::lights_on_their_clocks(&bare, None, &recordings(&diaries), decided);
    match scorers_of_night(night, &recordings(&all), diary, decided, protocol) {
        Ok(found) => Ok(Some(found)),
        Err(why) => {
            aside.push(format!("{name}: its scorers are not compared with each other: {why}"));
            Ok(None)
        }
    }
}
