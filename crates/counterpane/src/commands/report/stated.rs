//! What `study.toml` states of the devices of a report: how they give their data, and what was worn.

use crate::owed::is_typed;
use counterpane_report::{DeviceLine, WearingLine};
use counterpane_store::config::DeviceConfig;
use counterpane_store::{Config, Stored};
use std::collections::BTreeSet;

/// Returns the devices of which `study.toml` states a fact, of those that have a recording here; by name.
pub(super) fn devices(config: &Config, recordings: &[Stored]) -> Vec<DeviceLine> {
    let definitions = |device: &str| -> BTreeSet<String> {
        let own = recordings.iter().filter(|s| !s.recording.source.is_reference());
        own.filter(|s| s.recording.source.name() == device).map(|s| s.definition.clone()).collect()
    };
    let mut lines: Vec<DeviceLine> =
        config.devices.iter().filter_map(|d| line(d, definitions(d.name.get_ref()))).collect();
    lines.sort_by(|a, b| a.name.cmp(&b.name));
    lines
}

/// A device without a recording, or without a fact, has no line.
fn line(device: &DeviceConfig, definitions: BTreeSet<String>) -> Option<DeviceLine> {
    let text = |fact: &Option<_>| fact.as_ref().map(|t: &toml::Spanned<String>| t.get_ref().clone());
    let stated = DeviceLine {
        route: text(&device.route),
        steps: device.steps.as_ref().and_then(|s| usize::try_from(*s.get_ref()).ok()),
        minutes: device.minutes.as_ref().map(|m| *m.get_ref()),
        finest_step: text(&device.finest_step),
        lost: text(&device.lost),
        obtained: device.obtained.map(|o| o.code().to_owned()),
        note: text(&device.note),
        ..DeviceLine::default()
    };
    if definitions.is_empty() || stated == DeviceLine::default() {
        return None;
    }
    let typed = definitions.iter().any(|d| is_typed(d));
    let name = device.name.get_ref().clone();
    Some(DeviceLine { name, typed, definitions: definitions.into_iter().collect(), ..stated })
}

/// Returns what was worn, of the units and nights that have a recording here; by unit and night.
pub(super) fn wearings(config: &Config, recordings: &[Stored]) -> Vec<WearingLine> {
    let here = |unit: &str, participant: &str, night: &str| {
        recordings.iter().map(|s| &s.recording).any(|r| {
            !r.source.is_reference() && r.source.piece() == unit && r.participant == participant && r.night == night
        })
    };
    let lines = config.wearings.iter().map(|w| WearingLine {
        unit: w.unit.get_ref().clone(),
        participant: w.participant.get_ref().clone(),
        night: w.night.get_ref().clone(),
        site: w.site.clone(),
        side: w.side.clone(),
        firmware: w.firmware.clone(),
        app: w.app.clone(),
    });
    let mut lines: Vec<WearingLine> = lines.filter(|w| here(&w.unit, &w.participant, &w.night)).collect();
    lines.sort_by(|a, b| (&a.unit, &a.participant, &a.night).cmp(&(&b.unit, &b.participant, &b.night)));
    lines
}
