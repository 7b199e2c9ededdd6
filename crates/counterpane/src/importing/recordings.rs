//! Recordings as the store takes them.

use counterpane_import::{Definition, Outcome, Part, PartNight};
use counterpane_model::{Finding, Instant, Recording, Source, TimeBasis, Zone};
use counterpane_store::{ImportAct, NewRecording, NightTaken};

pub(super) fn recordings(
    outcome: &Outcome,
    act: &ImportAct,
    definition: &Definition,
    source: &Source,
) -> Vec<NewRecording> {
    parts_taken(outcome, act)
        .into_iter()
        .map(|(part, label)| {
            let mut spans = part.spans.clone();
            spans.sort_by_key(|s| (s.start, s.end));
            let mut notes = part.notes.clone();
            notes.sort_by_key(|n| n.at);
            let recording = Recording {
                key: String::new(),
                source: source.clone(),
                participant: act.participant.clone(),
                night: label,
                zone: part.zone.clone(),
                time_basis: basis(part, act),
                vocabulary: definition.vocabulary(),
                step_ms: part.step_ms,
                precision_ms: act.precision_ms.unwrap_or(0),
                spans,
                claims: part.claims.clone(),
                notes,
                file: act.file.clone(),
            };
            // A row that could not be read belongs to no night, so each night of the file carries it.
            let findings: Vec<Finding> = outcome.findings.iter().chain(&part.findings).cloned().collect();
            NewRecording { recording, raw_time: part.raw_time.clone(), findings }
        })
        .collect()
}

/// Returns how the times of a part were known: the zone of the night may have been that of the unit's own clock.
fn basis(part: &Part, act: &ImportAct) -> TimeBasis {
    let of_unit = |n: &&NightTaken| n.of_unit && matches!(&part.night, PartNight::Declared(label) if *label == n.label);
    match part.time_basis {
        TimeBasis::ZoneOfNight if act.nights.iter().any(|n| of_unit(&n)) => TimeBasis::ZoneOfUnit,
        other => other,
    }
}

pub(super) fn parts_taken<'a>(outcome: &'a Outcome, act: &ImportAct) -> Vec<(&'a Part, String)> {
    outcome
        .parts
        .iter()
        .filter_map(|part| match &part.night {
            PartNight::Declared(label) => Some((part, label.clone())),
            PartNight::Undeclared { .. } => None,
        })
        .filter(|(_, label)| act.nights.iter().any(|n| n.label == *label))
        .collect()
}

/// Returns the label or the evening of a part.
pub(super) fn evening(part: &Part) -> &str {
    match &part.night {
        PartNight::Declared(label) => label,
        PartNight::Undeclared { evening, .. } => evening,
    }
}

/// Returns the first start and last end of a part's spans, local, for people.
pub(crate) fn stretch(recording: &Recording) -> String {
    let Some((from, until)) = recording.bounds() else { return "no spans".into() };
    local_stretch(&recording.zone, from, until)
}

/// Returns `2026-04-04 22:31 to 06:58` in a zone.
pub(crate) fn local_stretch(zone: &str, from: Instant, until: Instant) -> String {
    Zone::named(zone).map_or_else(
        |_| format!("{from} to {until}"),
        |z| format!("{} to {}", z.wall_of(from).strftime("%Y-%m-%d %H:%M"), z.clock_of(until)),
    )
}
