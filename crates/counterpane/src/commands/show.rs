//! `show NIGHT`: one night as a table and a hypnogram.

use crate::cli::{Cli, Shape};
use crate::commands::check;
use crate::history::{self, History};
use crate::importing::local_stretch;
use crate::opening;
use crate::output::{Ended, Out, clean, table};
use crate::sheets::Precision;
use crate::wording::{and, count};
use anyhow::bail;
use counterpane_model::grid::project;
use counterpane_model::night::minutes_by_mark;
use counterpane_model::{Cell, Grid, Instant, Lights, Night, Severity, Zone};
use counterpane_report::terminal::hypnogram_text;
use counterpane_store::{Stored, StoredFinding, Study};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// Also list every export and reading of the night, and every decision
    #[arg(long)]
    history: bool,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

/// What `show --format json` prints.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// The participant's code.
    participant: String,
    /// Label of the night.
    night: String,
    /// IANA zone.
    zone: String,
    /// Lights off, RFC 3339 with offset.
    lights_off: Option<String>,
    /// Lights on, RFC 3339 with offset.
    lights_on: Option<String>,
    /// The recordings, references first.
    recordings: Vec<Row>,
    /// Errors that nobody accepted.
    open_errors: usize,
    /// With `--history`: every export and reading of the night, and every decision.
    history: Option<History>,
}

/// One recording.
#[derive(Debug, Serialize, JsonSchema)]
struct Row {
    /// Its key.
    key: String,
    /// Device or scorer.
    source: String,
    /// Whether it is a reference.
    is_reference: bool,
    /// Whether it is the one that counts in comparisons.
    counts: bool,
    /// Name of the original.
    file: String,
    /// How its times were known.
    time_basis: String,
    /// How finely a person read its times off a picture, minutes either way; 0 where nobody did.
    precision_min: f64,
    /// The spans, in order.
    spans: Vec<SpanRow>,
    /// What the source claims of itself, by quantity, in the unit of the quantity.
    claims: BTreeMap<String, f64>,
    /// Minutes in each mark.
    minutes: BTreeMap<String, f64>,
}

/// One span.
#[derive(Debug, Serialize, JsonSchema)]
struct SpanRow {
    /// First instant, RFC 3339 with offset.
    start: String,
    /// First instant after it, RFC 3339 with offset.
    end: String,
    /// A stage, `unscored` or `off`.
    mark: String,
    /// The source's own word.
    label: String,
    /// Where the source says so.
    locator: String,
}

/// Returns the declared night that a text names: a label, or participant and label with a slash.
pub(crate) fn find_night(study: &Study, text: &str) -> anyhow::Result<Night> {
    let fits = |n: &&Night| match text.split_once('/') {
        Some((participant, label)) => n.participant == participant && n.label == label,
        None => n.label == text,
    };
    match study.nights().iter().filter(fits).collect::<Vec<_>>().as_slice() {
        [night] => Ok((*night).clone()),
        [] => {
            let mut names: Vec<String> =
                study.nights().iter().map(|n| format!("{}/{}", n.participant, n.label)).collect();
            let more = names.len().saturating_sub(12);
            names.truncate(12);
            let rest = if more > 0 { format!(" and {more} more (`counterpane nights`)") } else { String::new() };
            bail!("there is no night `{}`; declared are {}{rest}", clean(text), names.join(", "))
        }
        several => {
            let names: Vec<String> = several.iter().map(|n| format!("{}/{}", n.participant, n.label)).collect();
            bail!("several people have a night `{}`: write {}", clean(text), crate::wording::or(&names))
        }
    }
}

/// Returns the key of the recording that a text names: its key, unit, device or scorer.
pub(crate) fn find_recording(study: &Study, night: &Night, text: &str) -> anyhow::Result<String> {
    let stored = study.recordings(&night.participant, &night.label)?;
    let fits = |s: &&Stored| s.recording.key == text || s.recording.source.name() == text || unit_of(s) == Some(text);
    match stored.iter().filter(fits).collect::<Vec<_>>().as_slice() {
        [one] => Ok(one.recording.key.clone()),
        [] => {
            let keys: Vec<&str> = stored.iter().map(|s| s.recording.key.as_str()).collect();
            bail!("the night has no recording `{}`; it has {}", clean(text), and(&keys))
        }
        several => {
            let keys: Vec<&str> = several.iter().map(|s| s.recording.key.as_str()).collect();
            bail!("`{}` has several recordings of the night: write {}", clean(text), crate::wording::or(&keys))
        }
    }
}

/// Returns the key of a recording as [`find_recording`] does; of several exports of one source, that of the one which
/// counts.
pub(crate) fn find_counting(study: &Study, night: &Night, text: &str) -> anyhow::Result<String> {
    let stored = study.recordings(&night.participant, &night.label)?;
    let named = |s: &&Stored| s.recording.source.name() == text || s.recording.source.piece() == text;
    match stored.iter().filter(|s| s.counts).filter(named).collect::<Vec<_>>().as_slice() {
        [one] => Ok(one.recording.key.clone()),
        _ => find_recording(study, night, text),
    }
}

fn unit_of(stored: &Stored) -> Option<&str> {
    match &stored.recording.source {
        counterpane_model::Source::Device { unit, .. } => Some(unit),
        counterpane_model::Source::Reference { .. } => None,
    }
}

/// Returns lights off and on of a night: as declared, else as the first reference or a diary gives them.
pub(crate) fn lights_of(night: &Night, stored: &[Stored]) -> Lights {
    let counting = || stored.iter().filter(|s| s.counts).map(|s| &s.recording);
    night.lights_by(counting().find(|r| r.source.is_reference() && !r.is_notes_only()), counting())
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let study = opening::to_read(cli)?;
    let night = find_night(&study, &args.night)?;
    let stored = study.recordings(&night.participant, &night.label)?;
    let findings = study.findings(Some((&night.participant, &night.label)))?;
    let open = findings.iter().filter(|f| f.is_open_error()).count();
    let zone = Zone::named(&night.zone)?;
    match args.format {
        Shape::Json => {
            let history = args.history.then(|| history::of(&study, &night)).transpose()?;
            out.json(&Answer { history, ..answer(&night, &zone, &stored, open) })?;
        }
        Shape::Text => {
            print(&study, &night, &zone, &stored, &findings, out)?;
            if args.history {
                history::print(&history::of(&study, &night)?, out)?;
            }
        }
    }
    Ok(if open == 0 { Ended::Fine } else { Ended::Faulty })
}

fn print(
    study: &Study,
    night: &Night,
    zone: &Zone,
    stored: &[Stored],
    findings: &[StoredFinding],
    out: &mut Out,
) -> anyhow::Result<()> {
    let lights = lights_of(night, stored);
    let light = |t: Option<Instant>| t.map_or_else(|| "not known".to_owned(), |t| zone.clock_of(t));
    out.paragraph(format_args!(
        "{}/{}  {}, {}",
        clean(&night.participant),
        clean(&night.label),
        night.kind.code(),
        night.zone
    ))?;
    out.line(format_args!("lights off {}, lights on {}", light(lights.off), light(lights.on)))?;
    if stored.is_empty() {
        return out.say("nothing is stored of this night yet");
    }
    out.line("")?;
    let rows: Vec<Vec<String>> = stored.iter().map(|s| cells(s, stored, zone, findings)).collect();
    let head = ["source", "local time", "sleep", "W", "N1", "N2", "light", "N3", "R", "other", "faults"];
    out.raw(&table(&head, &[2, 3, 4, 5, 6, 7, 8, 9, 10], &rows, out.width()))?;
    let any = |what: &dyn Fn(&Stored) -> bool| stored.iter().any(what);
    let claims = if any(&|s| s.recording.is_claims_only()) { "; (claims) are totals without times" } else { "" };
    let notes = if any(&|s| s.recording.is_notes_only()) { "; (notes) says what happened, and no stages" } else { "" };
    let newer = if any(&|s| !s.counts) { "; ~ is a newer export, which does not count" } else { "" };
    out.paragraph(format_args!("minutes as the source gives them{claims}{notes}{newer}"))?;
    out.line("")?;
    let decided = study.decided(&night.participant, &night.label)?;
    let happened = history::happened(&decided, stored);
    let marks: Vec<(Instant, char)> = happened.iter().map(|h| (h.note.at, h.letter)).collect();
    out.raw(&hypnogram(zone, stored, &marks, out))?;
    history::print_happened(&happened, zone, out)?;
    history::print_decided(&decided, zone, out)?;
    out.paragraph("Stages of devices are estimates, and nothing here is a diagnosis.")?;
    let shown: Vec<&StoredFinding> = findings.iter().filter(|f| f.finding.severity != Severity::Info).collect();
    if !shown.is_empty() {
        out.line("")?;
    }
    for f in shown {
        let accepted = f.accepted.as_ref().map(|a| format!("accepted: {}\n", clean(&a.reason))).unwrap_or_default();
        out.paragraph(format!("{}{accepted}", check::rendered(&f.finding)).trim_end())?;
    }
    let info = findings.iter().filter(|f| f.finding.severity == Severity::Info).count() as u64;
    if info > 0 {
        out.say(format_args!(
            "{} of info more: `counterpane check {}/{}`",
            count(info, "finding"),
            night.participant,
            night.label
        ))?;
    }
    Ok(())
}

/// Returns the device or scorer, or the unit where the night has several units of the device.
fn name_in(s: &Stored, all: &[Stored]) -> String {
    let source = &s.recording.source;
    let same = |o: &Stored| o.recording.source.name() == source.name() && o.recording.source != *source;
    if all.iter().any(same) { source.to_string() } else { source.name().to_owned() }
}

fn cells(s: &Stored, all: &[Stored], zone: &Zone, findings: &[StoredFinding]) -> Vec<String> {
    let r = &s.recording;
    let spans = minutes_by_mark(&r.spans);
    let claimed = |code: &str| r.claims.iter().find(|c| c.quantity.code() == code).map(|c| c.value);
    let stage = |code: &str| match r.is_claims_only() {
        true => claimed(&format!("minutes {code}")),
        false => spans.iter().find(|(m, _)| m.code() == code).map(|(_, v)| *v),
    };
    let sleep: f64 = spans.iter().filter(|(m, _)| m.stage().is_some_and(|s| s.is_sleep())).map(|(_, v)| v).sum();
    let sleep = match (r.is_claims_only(), r.is_notes_only()) {
        (true, _) => claimed("total-sleep"),
        (_, true) => None,
        _ => Some(sleep),
    };
    // Adding 0 makes a sum of nothing, which is -0, an ordinary 0.
    let text = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{:.0}", v + 0.0));
    let other: f64 = spans
        .iter()
        .filter(|(m, _)| !matches!(m.code(), "W" | "N1" | "N2" | "Light" | "N3" | "R" | "Asleep"))
        .map(|(_, v)| v)
        .sum();
    let when = match r.bounds() {
        Some((from, until)) => local_stretch(zone.name(), from, until)
            .split_once(' ')
            .map(|t| t.1.replace(" to ", "-"))
            .unwrap_or_default(),
        None if r.is_notes_only() => "(notes)".into(),
        None => "(claims)".into(),
    };
    let faults = findings
        .iter()
        .filter(|f| f.finding.recording.as_deref() == Some(&r.key) && f.finding.severity != Severity::Info)
        .filter(|f| f.accepted.is_none())
        .count();
    let mark = if s.counts { "" } else { "~" };
    vec![
        format!("{mark}{}", name_in(s, all)),
        when,
        text(sleep),
        text(stage("W")),
        text(stage("N1")),
        text(stage("N2")),
        text(stage("Light")),
        text(stage("N3")),
        text(stage("R")),
        if other > 0.0 { text(Some(other)) } else { String::new() },
        if faults > 0 { faults.to_string() } else { String::new() },
    ]
}

/// Lays every recording that counts on one grid and draws them under each other.
fn hypnogram(zone: &Zone, stored: &[Stored], marks: &[(Instant, char)], out: &Out) -> String {
    let drawn: Vec<&Stored> = stored.iter().filter(|s| s.counts && !s.recording.spans.is_empty()).collect();
    let bounds: Vec<(Instant, Instant)> = drawn.iter().filter_map(|s| s.recording.bounds()).collect();
    let (Some(from), Some(until)) = (bounds.iter().map(|b| b.0).min(), bounds.iter().map(|b| b.1).max()) else {
        return String::new();
    };
    let anchor = bounds.first().map_or(from, |b| b.0);
    let mut grid = Grid::covering(anchor, from, until);
    grid.n = grid.n.min(5760);
    let cells: Vec<Vec<Cell>> = drawn.iter().map(|s| project(&s.recording.spans, grid)).collect();
    let names: Vec<String> = drawn.iter().map(|s| name_in(s, stored)).collect();
    let rows: Vec<(&str, &[Cell])> = names.iter().zip(&cells).map(|(n, c)| (n.as_str(), c.as_slice())).collect();
    hypnogram_text(&rows, marks, grid.start, zone, out.width(), out.colour())
}

fn answer(night: &Night, zone: &Zone, stored: &[Stored], open: usize) -> Answer {
    let lights = lights_of(night, stored);
    let row = |s: &Stored| Row {
        key: s.recording.key.clone(),
        source: s.recording.source.name().to_owned(),
        is_reference: s.recording.source.is_reference(),
        counts: s.counts,
        file: s.recording.file.clone(),
        time_basis: s.recording.time_basis.code().to_owned(),
        precision_min: Precision(s.recording.precision_ms).minutes(),
        spans: s
            .recording
            .spans
            .iter()
            .map(|x| SpanRow {
                start: zone.text_of(x.start),
                end: zone.text_of(x.end),
                mark: x.mark.code().to_owned(),
                label: x.label.clone(),
                locator: x.locator.to_string(),
            })
            .collect(),
        claims: s.recording.claims.iter().map(|c| (c.quantity.code(), c.value)).collect(),
        minutes: minutes_by_mark(&s.recording.spans).into_iter().map(|(m, v)| (m.code().to_owned(), v)).collect(),
    };
    Answer {
        version: 1,
        participant: night.participant.clone(),
        night: night.label.clone(),
        zone: night.zone.clone(),
        lights_off: lights.off.map(|t| zone.text_of(t)),
        lights_on: lights.on.map(|t| zone.text_of(t)),
        recordings: stored.iter().map(row).collect(),
        open_errors: open,
        history: None,
    }
}
