//! What was said and decided of a night, in order, also what no longer stands.

use crate::output::{Out, clean, table};
use crate::wording::and;
use counterpane_model::night::minutes_changed;
use counterpane_model::{ClockPoint, Decided, Instant, Night, Note, NoteKind, Zone};
use counterpane_store::{Act, Blanked, Past, Stored, Study};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// The history of a night as JSON.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct History {
    /// Every recording, by source and version.
    recordings: Vec<PastRow>,
    /// Every decision that speaks of the night, in order.
    decisions: Vec<DecisionRow>,
}

/// A recording, also one that no longer stands.
#[derive(Debug, Serialize, JsonSchema)]
struct PastRow {
    /// Its key.
    key: String,
    /// Unit or scorer.
    source: String,
    /// Which of several of the same source it is, from 1.
    version: u32,
    /// Whether it is the one that counts in comparisons.
    counts: bool,
    /// Key of the reading that took its place.
    replaced_by: Option<String>,
    /// Number of the decision that took its import back.
    withdrawn_by: Option<u64>,
    /// Name of the original.
    file: String,
    /// SHA-256 of the original.
    original: String,
    /// SHA-256 of the file as it was received, where something was blanked on the way in.
    received: Option<String>,
    /// Id of the definition.
    definition: String,
    /// SHA-256 of the definition.
    definition_sha256: String,
    /// Number of the decision that brought it in.
    decision: u64,
    /// Minutes in each mark.
    minutes: std::collections::BTreeMap<String, f64>,
    /// Minutes in each mark less those of the version before; null for the first.
    minutes_changed: Option<std::collections::BTreeMap<String, f64>>,
}

/// A decision.
#[derive(Debug, Serialize, JsonSchema)]
struct DecisionRow {
    /// Its number.
    n: u64,
    /// When, RFC 3339.
    at: String,
    /// Who decided.
    by: String,
    /// What, in words.
    what: String,
    /// Number of the decision that took it back.
    withdrawn_by: Option<u64>,
}

/// Returns the history of a night.
pub(crate) fn of(study: &Study, night: &Night) -> anyhow::Result<History> {
    let past = study.history(&night.participant, &night.label)?;
    let recordings = past.iter().enumerate().map(|(i, p)| {
        let before = i.checked_sub(1).and_then(|i| past.get(i)).filter(|b| b.source == p.source);
        PastRow {
            key: p.key.clone(),
            source: p.source.clone(),
            version: p.version,
            counts: p.counts,
            replaced_by: p.replaced_by.clone(),
            withdrawn_by: p.withdrawn_by,
            file: p.file.clone(),
            original: p.original.clone(),
            received: study.received_as(p.decision).map(|b| b.received.clone()),
            definition: p.definition.clone(),
            definition_sha256: p.definition_sha256.clone(),
            decision: p.decision,
            minutes: p.minutes.iter().map(|(m, v)| (m.code().to_owned(), *v)).collect(),
            minutes_changed: before.map(|b| changes(b, p)),
        }
    });
    let zone = Zone::named(&night.zone)?;
    let decisions = study.decisions_of(&night.participant, &night.label)?.into_iter().map(|(d, back)| DecisionRow {
        n: d.n,
        at: d.at.clone(),
        by: d.by.clone(),
        what: in_words(&d.act, &zone),
        withdrawn_by: back,
    });
    Ok(History { recordings: recordings.collect(), decisions: decisions.collect() })
}

/// Minutes that a version has more (or less) than the one before, by the word of the mark, where they differ.
fn changes(before: &Past, after: &Past) -> BTreeMap<String, f64> {
    minutes_changed(&before.minutes, &after.minutes).into_iter().map(|(mark, v)| (mark.code().to_owned(), v)).collect()
}

/// Prints the history of a night.
pub(crate) fn print(history: &History, out: &mut Out) -> anyhow::Result<()> {
    out.line("")?;
    out.paragraph(
        "every export and every reading of it; the last column says what changed against the one before, in minutes",
    )?;
    let rows: Vec<Vec<String>> = history.recordings.iter().map(cells).collect();
    out.raw(&table(&["recording", "file", "read by", "decision", "state", "changed"], &[3], &rows, out.width()))?;
    out.line("")?;
    for d in &history.decisions {
        let back = d.withdrawn_by.map(|n| format!(" (taken back by {n})")).unwrap_or_default();
        out.paragraph(format_args!("{:>4}  {}  {}: {}{back}", d.n, d.at, clean(&d.by), clean(&d.what)))?;
    }
    Ok(())
}

fn cells(p: &PastRow) -> Vec<String> {
    let state = match (&p.replaced_by, p.withdrawn_by, p.counts) {
        (_, Some(n), _) => format!("withdrawn ({n})"),
        (Some(_), ..) => "read again".into(),
        (None, None, true) => "counts".into(),
        (None, None, false) => "stands beside".into(),
    };
    let changed = p.minutes_changed.as_ref().map_or_else(String::new, |m| {
        let words: Vec<String> = m.iter().map(|(mark, v)| format!("{mark} {v:+.1}")).collect();
        if words.is_empty() { "nothing".into() } else { words.join(", ") }
    });
    let name = p.key.rsplit('/').next().unwrap_or(&p.key);
    vec![
        clean(name),
        clean(&p.file),
        format!("{} {}", clean(&p.definition), p.definition_sha256.get(..8).unwrap_or_default()),
        p.decision.to_string(),
        state,
        changed,
    ]
}

/// Returns a decision in words.
pub(crate) fn in_words(act: &Act, zone: &Zone) -> String {
    let time = |at: Instant| zone.wall_of(at).strftime("%Y-%m-%d %H:%M").to_string();
    let of = |source: &Option<String>| source.clone().unwrap_or_else(|| "everything".into());
    match act {
        Act::Import(a) => {
            let who = a.unit.as_ref().or(a.scorer.as_ref()).cloned().unwrap_or_default();
            let blanked = a.blanked.as_ref().map(without).unwrap_or_default();
            let clock = a.clock_reason.as_ref().map(|r| format!("; its clock was at {r}")).unwrap_or_default();
            format!("imported {}{blanked} for {who} by {}{clock}", a.file, a.definition)
        }
        Act::Accept { code, recording, locator, reason, .. } => {
            let what = recording.as_deref().unwrap_or("the night");
            let at = locator.as_ref().map(|l| format!(" at {l}")).unwrap_or_default();
            format!("accepted {code} of {what}{at}: {reason}")
        }
        Act::Exclude(a) => {
            let when =
                a.stretch.map_or_else(String::new, |(from, until)| format!(" from {} to {}", time(from), time(until)));
            format!("left out {}{when}, {} looking: {}", of(&a.source), a.looked.code(), a.reason)
        }
        Act::Note(a) => format!("noted {} at {} {}", a.kind.code(), time(a.at), a.text).trim_end().to_owned(),
        Act::ClockSeen(a) => {
            let seconds = a.truth.ms_since(a.shown) as f64 / 1000.0;
            let blanked = a.picture.as_ref().and_then(|p| p.blanked.as_ref()).map(without).unwrap_or_default();
            let picture = a.picture.as_ref().map(|p| format!("; picture {}{blanked}", p.file)).unwrap_or_default();
            format!("saw the clock of {} need {seconds:+} s{picture}", a.source)
        }
        Act::ClockSet(a) if a.points.is_empty() => format!("took the clock of {} as it is: {}", a.source, a.reason),
        Act::ClockSet(a) => {
            format!("corrected the clock of {} by {}: {}", a.source, seconds(&a.points), a.reason)
        }
        Act::Count { recording, reason } => format!("let {recording} count: {reason}"),
        Act::Protocol(a) if a.text.is_empty() => format!("took the protocol away, {} looking", a.looked.code()),
        Act::Protocol(a) => {
            let short = a.sha256.get(..12).unwrap_or_default();
            format!("laid down the protocol {short}…, {} looking", a.looked.code())
        }
        Act::Looked { command } => format!("looked at results for the first time, with `{command}`"),
        Act::Withdraw { decision, reason } => format!("took back decision {decision}: {reason}"),
    }
}

/// Returns what was blanked in a file, with the hash that it had before.
fn without(blanked: &Blanked) -> String {
    format!(" without {} (received as {}…)", and(&blanked.fields), blanked.received.get(..12).unwrap_or_default())
}

/// Returns what is added at each point, such as `-185 s, -180 s`.
fn seconds(points: &[ClockPoint]) -> String {
    points.iter().map(|p| format!("{:+} s", p.shift_ms as f64 / 1000.0)).collect::<Vec<_>>().join(", ")
}

/// Something that happened in a night, with the letter that stands for it on the hypnogram.
pub(crate) struct Happened {
    pub(crate) letter: char,
    pub(crate) note: Note,
    by: String,
}

/// Returns what the reviewer and the recordings that count say happened, in order of time; lights are shown
/// by themselves.
pub(crate) fn happened(decided: &Decided, stored: &[Stored]) -> Vec<Happened> {
    let ours = decided.notes.iter().map(|n| (n.note.clone(), n.source.as_deref().map(clean).unwrap_or_default()));
    let theirs = stored.iter().filter(|s| s.counts).flat_map(|s| {
        let by = clean(s.recording.source.name());
        s.recording.notes.iter().map(move |n| (n.clone(), by.clone()))
    });
    let shown = |(n, _): &(Note, String)| !matches!(n.kind, NoteKind::LightsOff | NoteKind::LightsOn);
    let mut all: Vec<(Note, String)> = ours.chain(theirs).filter(shown).collect();
    all.sort_by(|a, b| (a.0.at, &a.1).cmp(&(b.0.at, &b.1)));
    // After 26 the letters run out; what comes later is listed without a place on the hypnogram.
    let letters = ('a'..='z').chain(std::iter::repeat('+'));
    all.into_iter().zip(letters).map(|((note, by), letter)| Happened { letter, note, by }).collect()
}

/// Prints what happened, a line each.
pub(crate) fn print_happened(happened: &[Happened], zone: &Zone, out: &mut Out) -> anyhow::Result<()> {
    for Happened { letter, note, by } in happened {
        let until = note.until.map(|t| format!(" to {}", zone.clock_of(t))).unwrap_or_default();
        let blur = match note.precision_ms {
            0 => String::new(),
            ms => format!(" (within {} s)", ms / 1000),
        };
        let by = if by.is_empty() { String::new() } else { format!("{by}: ") };
        out.paragraph(format_args!("{letter}  {}{until}{blur}  {by}{}", zone.clock_of(note.at), clean(&note.words())))?;
    }
    Ok(())
}

/// Prints what the reviewer decided of a night that still holds, for `show`.
pub(crate) fn print_decided(decided: &Decided, zone: &Zone, out: &mut Out) -> anyhow::Result<()> {
    let clock = |t| zone.clock_of(t);
    for e in &decided.exclusions {
        let who = e.source.as_deref().map_or_else(|| "everything".to_owned(), clean);
        let when = e.stretch.map_or_else(String::new, |(f, u)| format!(" {} to {}", clock(f), clock(u)));
        let (looked, reason) = (e.looked.code(), clean(&e.reason));
        out.paragraph(format_args!("left out{when}: {who}, {looked} looking: {reason} (decision {})", e.decision))?;
    }
    for c in &decided.clocks {
        out.paragraph(format_args!(
            "clock of {} corrected by {}: {} (decision {}); the times above are its own",
            clean(&c.source),
            seconds(&c.points),
            clean(&c.reason),
            c.decision
        ))?;
    }
    Ok(())
}
