//! From what was collected to what an import gives.

use super::bounds::Bounds;
use super::contradictions;
use super::layers::flatten;
use super::nights::{Nights, PartKey};
use super::runs;
use super::sink::{Collected, Laid, SAME_ROW, Sink};
use super::snap::snap;
use crate::grammar::Grammar;
use crate::kinds;
use crate::outcome::{ImportError, Outcome, Part, Tally};
use counterpane_model::{Claim, Finding, Instant, Note, NoteKind, TimeBasis};
use std::collections::BTreeMap;

/// Lays layers, closes seams, adds what the command line says, and puts the nights in order.
pub(super) fn finish(
    mut sink: Sink<'_>,
    grammar: &Grammar,
    nights: &Nights,
    bounds: &Bounds,
    identity: Vec<String>,
) -> Result<Outcome, ImportError> {
    let loose = std::mem::take(&mut sink.loose);
    let mut findings = Vec::new();
    // Where the file speaks of one night only, what has no night of its own belongs to that one.
    if let [only] = sink.parts.values_mut().collect::<Vec<_>>().as_mut_slice() {
        only.faults.absorb(loose);
    } else {
        findings = loose.findings();
    }
    add_lights(&mut sink, nights, bounds)?;
    let (mut tally, file) = (sink.tally, sink.file);
    let step_ms = grammar.step.map_or(0, |s| s.0);
    let mut parts: Vec<(Instant, Part)> =
        sink.parts.into_values().map(|c| (c.home.window.0, part(c, step_ms, file, &mut tally))).collect();
    parts.sort_by_key(|(from, _)| *from);
    Ok(Outcome { parts: parts.into_iter().map(|(_, part)| part).collect(), findings, tally, identity })
}

fn part(collected: Collected, step_ms: i64, file: &str, tally: &mut Tally) -> Part {
    let Collected { home, basis, raw, spans, claims, mut notes, mut faults, doubled: changes } = collected;
    contradictions::find(&claims, &home, &mut |fault, line| faults.push(fault, file, || line.to_owned()));
    let mut claims: Vec<Claim> = claims.into_iter().map(|c| c.claim).collect();
    let (spans, doubled) = without_doubles(spans);
    let (mut spans, covered) = flatten(spans);
    let same_notes = drop_same(&mut notes, |a, b| (a.at, a.until, a.kind, &a.text) == (b.at, b.until, b.kind, &b.text));
    let same_claims = drop_same(&mut claims, |a, b| a.quantity == b.quantity && a.value.to_bits() == b.value.to_bits());
    move_to_ignored(&mut tally.spans, &mut tally.ignored, SAME_ROW, doubled);
    move_to_ignored(&mut tally.notes, &mut tally.ignored, SAME_ROW, same_notes);
    move_to_ignored(&mut tally.claims, &mut tally.ignored, SAME_ROW, same_claims);
    move_to_ignored(&mut tally.spans, &mut tally.ignored, "a higher layer speaks there", covered);
    let doubled = doubled + same_notes + same_claims + changes;
    let mut findings = faults.findings();
    findings.extend(told(&kinds::duplicate_row::KIND, doubled, |n| {
        format!(
            "{n} {} an earlier row exactly and {} dropped",
            if n == 1 { "row repeats" } else { "rows repeat" },
            if n == 1 { "was" } else { "were" }
        )
    }));
    let closed = snap(&mut spans);
    findings.extend(told(&kinds::snapped::KIND, closed.count, |n| {
        format!(
            "{n} {} of at most {} ms {} closed",
            if n == 1 { "seam" } else { "seams" },
            closed.largest_ms,
            if n == 1 { "was" } else { "were" }
        )
    }));
    findings.sort_by(|a, b| a.code.cmp(&b.code));
    notes.sort_by_key(|n| n.at);
    let basis = basis.unwrap_or(TimeBasis::ZoneOfNight);
    Part {
        night: home.night.clone(),
        zone: home.zone.name().to_owned(),
        time_basis: basis,
        raw_time: raw.unwrap_or_default(),
        step_ms,
        spans,
        claims,
        notes,
        findings,
    }
}

fn told(kind: &'static counterpane_model::Kind, count: u64, say: impl Fn(u64) -> String) -> Option<Finding> {
    (count > 0).then(|| Finding { count, ..kind.finding(say(count)) })
}

/// Drops spans that repeat another one of their layer exactly, and codes that do; the first stays.
fn without_doubles(mut spans: Vec<Laid>) -> (Vec<Laid>, u64) {
    let by_time = |a: &Laid, b: &Laid| {
        (a.layer, a.span.start, a.span.end, a.span.mark, &a.span.label).cmp(&(
            b.layer,
            b.span.start,
            b.span.end,
            b.span.mark,
            &b.span.label,
        ))
    };
    // A stable sort keeps the earlier row before the later one; it needs room, and most files are in order.
    if !spans.is_sorted_by(|a, b| by_time(a, b).is_le()) {
        spans.sort_by(by_time);
    }
    let mut doubled = 0;
    spans.dedup_by(|later, earlier| {
        if later.layer != earlier.layer {
            return false;
        }
        let (a, b) = (&earlier.span, &later.span);
        if (a.start, a.end, a.mark, &a.label) == (b.start, b.end, b.mark, &b.label) {
            doubled += runs::codes(b);
            return true;
        }
        doubled += runs::take_repeated(&earlier.span, &mut later.span).unwrap_or(0);
        later.span.length_ms() == 0
    });
    (spans, doubled)
}

/// Drops what repeats an earlier one; returns how many were dropped. A night has few of these.
fn drop_same<T>(all: &mut Vec<T>, same: impl Fn(&T, &T) -> bool) -> u64 {
    let before = all.len();
    let mut kept: Vec<T> = Vec::with_capacity(before);
    for one in all.drain(..) {
        // Repeats stand near each other or not at all; a long list is not searched in full.
        if !kept.iter().rev().take(NEARBY).any(|k| same(k, &one)) {
            kept.push(one);
        }
    }
    *all = kept;
    (before - all.len()) as u64
}

/// How many notes or claims back a repeat is looked for.
const NEARBY: usize = 1000;

fn move_to_ignored(from: &mut u64, ignored: &mut BTreeMap<String, u64>, rule: &str, count: u64) {
    if count > 0 {
        *from -= count;
        *ignored.entry(rule.to_owned()).or_default() += count;
    }
}

/// Adds lights off and on of the command line to the night that they fall into.
fn add_lights(sink: &mut Sink<'_>, nights: &Nights, bounds: &Bounds) -> Result<(), ImportError> {
    let given = [
        ("--lights-off", NoteKind::LightsOff, bounds.lights_off),
        ("--lights-on", NoteKind::LightsOn, bounds.lights_on),
    ];
    for (option, kind, at) in given {
        let Some(at) = at else { continue };
        let key = night_of(sink, nights, at)
            .ok_or_else(|| ImportError::Option { option, why: format!("{at} falls into no night of this file") })?;
        if let Some(part) = sink.parts.get_mut(&key) {
            let text = option.trim_start_matches('-').replace('-', " ");
            part.notes.push(Note { at, until: None, precision_ms: 60_000, kind, text, locator: None });
        }
    }
    Ok(())
}

fn night_of(sink: &Sink<'_>, nights: &Nights, at: Instant) -> Option<PartKey> {
    let key = nights.bound().map(|h| h.key.clone()).filter(|key| sink.parts.contains_key(key));
    let holds = |c: &&Collected| (c.home.window.0..=c.home.window.1).contains(&at);
    key.or_else(|| sink.parts.values().find(holds).map(|c| c.home.key.clone()))
}
