//! Nights that a file may bring: declared ones, and those that are declared with the import.

use super::Asked;
use super::source::toml_text;
use crate::wording::and;
use anyhow::{Context as _, bail};
use counterpane_import::{Outcome, PartNight};
use counterpane_model::{Lights, Night, Zone};
use counterpane_store::config::UnitOffset;
use counterpane_store::{NightTaken, Study};

/// Returns the declared nights of a participant, and the one of `--night` when `--new-nights` declares it.
pub(super) fn nights_for(study: &Study, participant: &str, asked: &Asked) -> anyhow::Result<Vec<Night>> {
    let mut nights: Vec<Night> = study.nights().iter().filter(|n| n.participant == participant).cloned().collect();
    // A nap may lie inside the noon to noon of a night: the narrower window has the first word.
    nights.sort_by_key(|n| n.window.1.ms_since(n.window.0));
    let Some(label) = asked.night.as_ref().filter(|l| nights.iter().all(|n| n.label != **l)) else { return Ok(nights) };
    let known: Vec<&str> = nights.iter().map(|n| n.label.as_str()).collect();
    let lines = format!("[[night]]\nparticipant = {}\nlabel = {}", toml_text(participant), toml_text(label));
    if !asked.takes_new_nights() {
        bail!(
            "{participant} has no night `{label}`; declared are {}. Add --new-nights, or add to study.toml:\n\n{lines}",
            and(&known)
        );
    }
    let zone = Zone::named(asked.zone.as_deref().unwrap_or(study.config().zone()))?;
    let window = counterpane_store::config::noon_to_noon(label, &zone)
        .with_context(|| format!("`{label}` is not a date; declare the night with its window in study.toml:\n\n{lines}\nwindow = [\"2026-04-04 12:00\", \"2026-04-05 12:00\"]"))?;
    nights.push(Night {
        participant: participant.to_owned(),
        label: label.clone(),
        kind: counterpane_model::NightKind::Night,
        zone: zone.name().to_owned(),
        window,
        lights: Lights::default(),
    });
    Ok(nights)
}

/// Turns the parts of undeclared nights into parts of nights that are declared with this import.
pub(super) fn declare_parts(outcome: &mut Outcome, participant: &str, declared: &[Night]) -> Vec<Night> {
    let mut nights: Vec<Night> = Vec::new();
    for part in &mut outcome.parts {
        let PartNight::Undeclared { evening, from, until } = &part.night else { continue };
        let label = evening.clone();
        // Rows around the window of a declared night belong to no night, and not to a second one.
        if declared.iter().any(|n| n.label == label) {
            continue;
        }
        if nights.iter().all(|n| n.label != label) {
            nights.push(Night {
                participant: participant.to_owned(),
                label: label.clone(),
                kind: counterpane_model::NightKind::Night,
                zone: part.zone.clone(),
                window: (*from, *until),
                lights: Lights::default(),
            });
        }
        part.night = PartNight::Declared(label);
    }
    nights
}

/// Returns the nights with the zone that the clock of a unit followed on them, where a wearing or the unit declares one.
pub(super) fn by_its_clock(study: &Study, unit: Option<&str>, mut nights: Vec<Night>) -> Vec<Night> {
    for night in &mut nights {
        if let Some(zone) = clock_of(study, unit, &night.participant, &night.label) {
            night.zone = zone;
        }
    }
    nights
}

/// Returns the zone that the clock of a unit followed on a declared night: as its wearing says, else as the unit does of a
/// range of nights.
fn clock_of(study: &Study, unit: Option<&str>, participant: &str, label: &str) -> Option<String> {
    let worn = study.config().wearings.iter().find(|w| {
        Some(w.unit.get_ref().as_str()) == unit && w.participant.get_ref() == participant && w.night.get_ref() == label
    });
    let worn = worn.and_then(|w| w.zone.as_ref()).map(|z| z.get_ref().clone());
    let night = study.nights().iter().find(|n| n.participant == participant && n.label == label)?;
    worn.or_else(|| offset_of(study, unit).filter(|o| o.covers(night)).map(|o| o.zone))
}

fn offset_of(study: &Study, unit: Option<&str>) -> Option<UnitOffset> {
    study.config().unit(unit?)?.offset().ok().flatten()
}

/// Returns why the clock of a unit is read at an offset of its own, where that is so on one of these nights.
pub(super) fn reason_of_clock(
    study: &Study,
    unit: Option<&str>,
    participant: &str,
    taken: &[NightTaken],
) -> Option<String> {
    let offset = offset_of(study, unit)?;
    let is_taken = |n: &&Night| n.participant == participant && taken.iter().any(|t| t.of_unit && t.label == n.label);
    let covered = study.nights().iter().filter(is_taken).any(|n| offset.covers(n));
    covered.then(|| format!("{} from {} to {}: {}", offset.zone, offset.from, offset.to, offset.reason))
}

/// Refuses nights that nobody has declared and on which the unit's clock had an offset of its own: their times were read
/// by the study's zone.
///
/// # Errors
/// There is one; the message holds the lines that declare it.
pub(super) fn refuse_undeclared(study: &Study, unit: Option<&str>, new_nights: &[Night]) -> anyhow::Result<()> {
    let Some(offset) = offset_of(study, unit) else { return Ok(()) };
    let covered: Vec<&Night> = new_nights.iter().filter(|n| offset.covers(n)).collect();
    if let Some(first) = covered.first() {
        let labels: Vec<&str> = covered.iter().map(|n| n.label.as_str()).collect();
        bail!(
            "the clock of {} had {} on {}, so declare such nights in study.toml first, with the zone that the participant's clocks followed:\n\n[[night]]\nparticipant = {}\nlabel = {}",
            unit.unwrap_or_default(),
            offset.zone,
            and(&labels),
            toml_text(&first.participant),
            toml_text(&first.label)
        );
    }
    Ok(())
}

/// Returns a night as an import of a unit takes it.
pub(super) fn night_taken(study: &Study, unit: Option<&str>, night: &Night) -> NightTaken {
    NightTaken {
        label: night.label.clone(),
        kind: night.kind,
        zone: night.zone.clone(),
        of_unit: clock_of(study, unit, &night.participant, &night.label).is_some(),
        from: night.window.0,
        until: night.window.1,
    }
}

pub(super) fn night_of(night: &NightTaken, participant: &str) -> Night {
    Night {
        participant: participant.to_owned(),
        label: night.label.clone(),
        kind: night.kind,
        zone: night.zone.clone(),
        window: (night.from, night.until),
        lights: Lights::default(),
    }
}
