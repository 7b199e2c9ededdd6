//! What was recorded, how it was laid together, and what was decided about it.

use super::sources::{Source, Sources};
use crate::words::{self, capital, count, listed};
use crate::{Page, Status};
use counterpane_compare::{DeviceSummary, NightComparison};
use counterpane_model::{ExportRule, Looked, Missing, Scheme, ScoredBy, Source as Who};
use std::collections::{BTreeMap, BTreeSet};

/// Nights, people, devices, reference.
pub(super) fn recordings(page: &Page) -> String {
    let nights = &page.comparison.nights;
    let people: BTreeSet<&str> = nights.iter().map(|n| n.participant.as_str()).collect();
    let devices: BTreeSet<&str> =
        nights.iter().flat_map(|n| &n.devices).filter(|d| !d.source.is_reference()).map(|d| d.source.name()).collect();
    let devices: Vec<String> = devices.into_iter().map(|d| with_versions(page, d)).collect();
    let definitions: BTreeSet<&str> = page.provenance.iter().map(|p| p.definition.as_str()).collect();
    let definitions: Vec<&str> = definitions.into_iter().collect();
    format!(
        "{} of {} {} recorded with {}: {}. {} Files were read by the definitions {}.",
        capital(&count(nights.len(), "night")),
        count(people.len(), "participant"),
        if nights.len() == 1 { "was" } else { "were" },
        count(devices.len(), "device"),
        listed(&devices),
        reference(nights),
        listed(&definitions)
    )
}

/// A device with the firmware and the app that the study states for these nights.
fn with_versions(page: &Page, device: &str) -> String {
    let units: BTreeSet<&str> = page
        .comparison
        .nights
        .iter()
        .flat_map(|n| &n.devices)
        .filter_map(|d| match &d.source {
            Who::Device { device: own, unit } if own == device => Some(unit.as_str()),
            _ => None,
        })
        .collect();
    let own = || page.wearings.iter().filter(|w| units.contains(w.unit.as_str()));
    let stated = |what: &str, all: BTreeSet<&str>| {
        (!all.is_empty()).then(|| format!("{what} {}", listed(&all.into_iter().collect::<Vec<_>>())))
    };
    let versions: Vec<String> = [
        stated("firmware", own().filter_map(|w| w.firmware.as_deref()).collect()),
        stated("app", own().filter_map(|w| w.app.as_deref()).collect()),
    ]
    .into_iter()
    .flatten()
    .collect();
    if versions.is_empty() { device.to_owned() } else { format!("{device} ({})", versions.join(", ")) }
}

fn reference(nights: &[NightComparison]) -> String {
    let majority = nights.iter().filter(|n| n.consensus.is_some()).count();
    let scorers: BTreeSet<(&str, ScoredBy)> =
        nights.iter().filter(|n| n.consensus.is_none()).map(|n| (n.scorer.as_str(), n.scored_by)).collect();
    let of = |by: ScoredBy| scorers.iter().filter(|s| s.1 == by).map(|s| s.0).collect::<Vec<_>>();
    let mut who = Vec::new();
    for (by, one, several) in
        [(ScoredBy::Human, "one person", "people"), (ScoredBy::Algorithm, "one program", "programs")]
    {
        match of(by).as_slice() {
            [] => {}
            [code] => who.push(format!("{one} ({code})")),
            codes => who.push(format!("{} {several} ({}), one for each night", codes.len(), listed(codes))),
        }
    }
    if majority > 0 {
        let on = if majority == nights.len() { String::new() } else { format!(" on {}", count(majority, "night")) };
        who.push(format!("the majority of several scorers{on}"));
    }
    format!("The reference is the scoring by {} in epochs of 30 s.", listed(&who))
}

/// Epochs, window, classes, gaps.
pub(super) fn comparison(page: &Page, sources: &mut Sources) -> String {
    let mut out = vec![
        "Times were brought to one clock (UTC, with the local zone of each night), and each device's stages were laid on the \
         epochs of the reference; an epoch took what covered most of it."
            .to_owned(),
        window(&page.comparison.nights),
        classes(&page.comparison.devices, sources),
        gaps(page),
    ];
    out.retain(|s| !s.is_empty());
    out.join(" ")
}

fn window(nights: &[NightComparison]) -> String {
    let on = |name: &str| nights.iter().filter(|n| n.window_name == name).count();
    let parts: Vec<String> = [
        ("lights", "from lights off to lights on"),
        ("scored", "from the first to the last epoch that the reference scored"),
        ("span", "of a stretch of time named beforehand"),
    ]
    .into_iter()
    .filter(|(name, _)| on(name) > 0)
    .map(|(name, what)| format!("{what} ({})", count(on(name), "night")))
    .collect();
    format!("The epochs compared are those {}.", listed(&parts))
}

fn classes(devices: &[DeviceSummary], sources: &mut Sources) -> String {
    let mut by: BTreeMap<Scheme, Vec<&str>> = BTreeMap::new();
    devices
        .iter()
        .filter_map(|d| Some((d.scheme?, d.name.as_str())))
        .for_each(|(s, d)| by.entry(s).or_default().push(d));
    let light = by.contains_key(&Scheme::Four);
    let parts: Vec<String> = by
        .iter()
        .rev()
        .map(|(scheme, names)| format!("{} ({})", words::scheme_words(*scheme), listed(names)))
        .collect();
    if parts.is_empty() {
        return String::new();
    }
    let folded = if light {
        format!(" Light sleep is N1 and N2, deep sleep is N3 {}.", sources.cite(Source::OcfSleep))
    } else {
        String::new()
    };
    format!("The classes are those that device and reference share: {}.{folded}", parts.join("; "))
}

fn gaps(page: &Page) -> String {
    let devices = page.comparison.nights.iter().flat_map(|n| &n.devices);
    let coverage: Vec<f64> = devices.filter(|d| !d.cells.is_empty()).filter_map(|d| d.coverage.ok()).collect();
    let range = coverage.iter().copied().reduce(f64::min).zip(coverage.iter().copied().reduce(f64::max));
    let covered = range.map_or_else(String::new, |(low, high)| {
        format!(
            " A device gave a stage to {} to {} of the epochs that the reference scored on a night.",
            words::fine_share(low),
            words::fine_share(high)
        )
    });
    let wrong = match page.standing.laid.as_ref().map(|l| l.plan.missing) {
        Some(Missing::Wrong) => " In the primary measure epochs that a device did not give count as wrong.",
        _ => "",
    };
    format!("Epochs that not both sides scored are in no matrix.{covered}{wrong}")
}

/// What was accepted, left out, corrected, preferred.
pub(super) fn decisions(page: &Page) -> String {
    [accepted(page), left_out(page), clocks(page), exports(page)].join(" ")
}

fn accepted(page: &Page) -> String {
    let accepted = page.findings.iter().filter(|f| matches!(f.status, Status::Accepted { .. })).count();
    match accepted {
        0 => "The data were checked before anything was computed, and no error was accepted.".into(),
        n => format!(
            "The data were checked before anything was computed; {} accepted, with a reason.",
            words_were(n, "error")
        ),
    }
}

fn words_were(n: usize, noun: &str) -> String {
    format!("{} {}", count(n, noun), if n == 1 { "was" } else { "were" })
}

fn left_out(page: &Page) -> String {
    let n = page.exclusions.len();
    let before = page.exclusions.iter().filter(|e| e.exclusion.looked == Looked::Before).count();
    let mut out = match n {
        0 => "Nothing was left out by decision.".to_owned(),
        n => format!(
            "By {} something was left out, {before} before and {} after results were looked at; the results with it are given too.",
            count(n, "decision"),
            n - before
        ),
    };
    let rules = page.standing.laid.as_ref().map(|l| l.plan.rules).unwrap_or_default();
    let ruled = page.comparison.nights.iter().flat_map(|n| &n.devices).filter(|d| d.is_ruled_out()).count();
    if let Some(limit) = rules.exclude_unscored {
        out.push_str(&format!(
            " A device's night was to be left out of figures over nights when more than {limit} % of its window had no pair of \
             stages; this holds for {}.",
            count(ruled, "night")
        ));
    }
    out
}

fn clocks(page: &Page) -> String {
    let nights = &page.comparison.nights;
    let devices = nights.iter().flat_map(|n| &n.devices).filter(|d| d.clock.is_some()).count();
    let references = nights.iter().filter(|n| n.reference_clock.is_some()).count();
    match devices + references {
        0 => "No clock was corrected.".into(),
        n => format!(
            "The clock of {} was corrected; results on the device's own clock are given beside them.",
            count(n, "recording")
        ),
    }
}

fn exports(page: &Page) -> String {
    let several: BTreeSet<(&str, &str)> = page.exports.iter().map(|e| (e.night.as_str(), e.source.as_str())).collect();
    let rule = match page.standing.laid.as_ref().map(|l| l.plan.export).unwrap_or_default() {
        ExportRule::First => "first",
        ExportRule::Newest => "newest",
    };
    match several.len() {
        0 => String::new(),
        n => format!(
            "Of {} a device gave several exports; the {rule} counts, unless a decision names another.",
            count(n, "night")
        ),
    }
}
