//! Each choice of the reviewer undone alone, and the headlines that this gives.

use super::reference::{Reference, Wanted};
use super::{How, NightAsked};
use counterpane_compare::what_if::{Choice, Headline, Headlines, Otherwise, WhatIf};
use counterpane_compare::{Comparison, NightComparison, Protocol, Window, headline_measures};
use counterpane_model::{Exclusion, Looked, Missing, Plan, Rules, Source};
use counterpane_store::{Stored, StoredFinding};

/// What the choices of a comparison are undone in.
pub(super) struct Undoing<'a> {
    pub(super) asked: &'a [NightAsked],
    pub(super) wanted: &'a Wanted,
    pub(super) how: How,
    pub(super) findings: &'a [StoredFinding],
    pub(super) plan: Option<&'a Plan>,
}

/// Undoes every choice of a comparison alone.
pub(super) fn what_if(undoing: &Undoing<'_>, comparison: &Comparison) -> WhatIf {
    let measures = headline_measures(undoing.plan);
    let missing = undoing.plan.map_or(Missing::LeftOut, |p| p.missing);
    let headlines = Headlines::of(comparison, &measures, missing);
    let mut otherwise: Vec<Otherwise> = undoing.asked.iter().flat_map(|n| of_night(undoing, n, &headlines)).collect();
    otherwise.extend(of_all(undoing, comparison, &headlines, &measures, missing));
    WhatIf { measures, as_is: headlines.as_is(), otherwise }
}

/// The decisions about one night.
fn of_night(undoing: &Undoing<'_>, night: &NightAsked, headlines: &Headlines) -> Vec<Otherwise> {
    let mut out = Vec::new();
    let mut add = |choice: Choice, source: Option<String>, changed: NightAsked| {
        let compared = changed.compare(undoing.wanted, &undoing.how).ok();
        let key = (night.night.participant.as_str(), night.night.label.as_str());
        let headlines = headlines.with(&[(key, compared.as_ref())]);
        let named = Some((night.night.participant.clone(), night.night.label.clone()));
        out.push(Otherwise { choice, night: named, source, headlines });
    };
    for (decision, code, source) in acceptances(undoing.findings, night) {
        let mut changed = night.clone();
        changed.decided.exclusions.push(held_out(decision, source.clone()));
        add(Choice::Acceptance { decision, code }, source, changed);
    }
    for exclusion in night.decided.exclusions.iter().filter(|e| night.sources().any(|s| e.concerns(s))) {
        let mut changed = night.clone();
        changed.decided.exclusions.retain(|e| e.decision != exclusion.decision);
        add(Choice::Exclusion { decision: exclusion.decision }, exclusion.source.clone(), changed);
    }
    for clock in night.decided.clocks.iter().filter(|c| night.sources().any(|s| s.piece() == c.source)) {
        let mut changed = night.clone();
        changed.decided.clocks.retain(|c| c.decision != clock.decision);
        add(Choice::Clock { decision: clock.decision }, Some(clock.source.clone()), changed);
    }
    for export in &night.other_exports {
        let source = &export.recording.source;
        let mut changed = night.clone();
        changed.put(export);
        let recording = export.recording.key.clone();
        add(Choice::Export { recording }, Some(source.piece().to_owned()), changed);
    }
    out
}

/// The choices about all nights: gaps, window, rules.
fn of_all(
    undoing: &Undoing<'_>,
    comparison: &Comparison,
    headlines: &Headlines,
    measures: &[counterpane_model::PlanMeasure],
    missing: Missing,
) -> Vec<Otherwise> {
    let all = |choice: Choice, headlines: Vec<Headline>| Otherwise { choice, night: None, source: None, headlines };
    let other = if missing == Missing::Wrong { Missing::LeftOut } else { Missing::Wrong };
    let mut out = vec![all(Choice::Missing(other), Headlines::of(comparison, measures, other).as_is())];
    let (name, window) = match undoing.how.protocol.window {
        Window::Lights => ("scored", Window::Scored),
        Window::Scored | Window::Between(..) => ("lights", Window::Lights),
    };
    let protocol = Protocol { window, ..undoing.how.protocol };
    out.push(all(Choice::Window(name), anew(undoing, headlines, &How { protocol, ..undoing.how })));
    if comparison.nights.iter().flat_map(|n| &n.devices).any(|d| d.is_ruled_out()) {
        out.push(all(Choice::Rules, anew(undoing, headlines, &How { rules: Rules::default(), ..undoing.how })));
    }
    out
}

fn anew(undoing: &Undoing<'_>, headlines: &Headlines, how: &How) -> Vec<Headline> {
    let nights: Vec<Option<NightComparison>> =
        undoing.asked.iter().map(|n| n.compare(undoing.wanted, how).ok()).collect();
    let keys = undoing.asked.iter().map(|n| (n.night.participant.as_str(), n.night.label.as_str()));
    headlines.with(&keys.zip(nights.iter().map(Option::as_ref)).collect::<Vec<_>>())
}

/// The acceptances that hold on a night, each once: decision, code and source.
fn acceptances(findings: &[StoredFinding], night: &NightAsked) -> Vec<(u64, String, Option<String>)> {
    let here = |p: &str, n: &str| p == night.night.participant && n == night.night.label;
    let mut out: Vec<(u64, String, Option<String>)> = Vec::new();
    for accepted in findings.iter().filter_map(|f| f.accepted.as_ref()).filter(|a| here(&a.participant, &a.night)) {
        let of = |s: &Stored| accepted.recording.as_deref() == Some(s.recording.key.as_str());
        let all = night.reference.stored().iter().chain(&night.devices).chain(&night.diaries);
        let source = all.into_iter().find(|s| of(s)).map(|s| s.recording.source.piece().to_owned());
        let found = (accepted.decision, accepted.code.clone(), source);
        if !out.contains(&found) {
            out.push(found);
        }
    }
    out
}

/// What holds out a recording, or the night, whose error is not accepted.
fn held_out(decision: u64, source: Option<String>) -> Exclusion {
    Exclusion {
        decision,
        source,
        stretch: None,
        looked: Looked::After,
        reason: String::new(),
        by: String::new(),
        at: String::new(),
    }
}

impl NightAsked {
    /// Reference and devices of the night.
    fn sources(&self) -> impl Iterator<Item = &Source> {
        self.reference.stored().iter().chain(&self.devices).map(|s| &s.recording.source)
    }

    /// Lets another export of a source count.
    fn put(&mut self, export: &Stored) {
        let same = |s: &Stored| s.recording.source == export.recording.source;
        let reference = match &mut self.reference {
            Reference::One(one) => std::slice::from_mut(&mut **one),
            Reference::Majority(all) => all.as_mut_slice(),
        };
        reference.iter_mut().chain(&mut self.devices).filter(|s| same(s)).for_each(|s| *s = export.clone());
    }
}
