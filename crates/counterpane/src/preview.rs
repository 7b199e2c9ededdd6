//! What a dry run shows of a recording before it is stored: rows beside spans, and the night as a hypnogram.

use crate::importing::File;
use crate::output::{Out, clean, table};
use crate::trial::places::{At, Places};
use crate::wording::{and, count, count_of};
use counterpane_model::grid::project;
use counterpane_model::{EPOCH_MS, Grid, Recording, Severity, Span, Zone};
use counterpane_report::terminal::hypnogram_text;
use counterpane_store::NewRecording;

/// Spans that are shown from the beginning and from the end of a recording.
const ENDS: usize = 3;
/// Spans beside a finding that are shown at most.
const DOUBTFUL: usize = 8;

/// Shows what a file would bring: for each recording its rows beside its spans, and the night.
pub(crate) fn show(file: &File, bytes: &[u8], out: &mut Out) -> anyhow::Result<()> {
    let format = counterpane_formats::sniff::sniff(&file.act.file, bytes).formats.first().copied();
    let places = Places::of(bytes, format.unwrap_or(counterpane_formats::Format::Text));
    for new in &file.recordings {
        recording(new, &places, out)?;
    }
    Ok(())
}

fn recording(new: &NewRecording, places: &Places, out: &mut Out) -> anyhow::Result<()> {
    let r = &new.recording;
    let Ok(zone) = Zone::named(&r.zone) else { return Ok(()) };
    out.line("")?;
    out.line(format_args!(
        "{}/{} in the file, and what it becomes ({})",
        clean(&r.participant),
        clean(&r.night),
        zone.name()
    ))?;
    let mut cells = Vec::new();
    let mut last = None;
    for i in chosen(new) {
        let Some(span) = r.spans.get(i) else { continue };
        if last.is_some_and(|l| i > l + 1) {
            cells.push(vec!["…".into(), String::new(), String::new(), String::new()]);
        }
        cells.push(row(span, &zone, places));
        last = Some(i);
    }
    for claim in &r.claims {
        let text = format!("{} {} {}", claim.quantity, claim.value, claim.quantity.unit());
        cells.push(vec![claim.locator.to_string(), found(places, &claim.locator), String::new(), text]);
    }
    out.raw(&table(&["place", "stands there", "local time", "becomes"], &[], &cells, out.width()))?;
    if let Some(text) = hypnogram(r, &zone, out) {
        out.line("")?;
        out.raw(&text)?;
    }
    Ok(())
}

/// The first and the last spans, and those that a finding points at, with their neighbours.
fn chosen(new: &NewRecording) -> Vec<usize> {
    let n = new.recording.spans.len();
    let mut out: Vec<usize> = (0..n.min(ENDS)).chain(n.saturating_sub(ENDS)..n).collect();
    let doubtful = new
        .findings
        .iter()
        .filter_map(|f| f.place.as_ref())
        .filter_map(|p| new.recording.spans.iter().position(|s| s.locator >= p.locator));
    for i in doubtful.take(DOUBTFUL) {
        out.extend([i.saturating_sub(1), i, i + 1].into_iter().filter(|i| *i < n));
    }
    out.sort_unstable();
    out.dedup();
    out
}

fn row(span: &Span, zone: &Zone, places: &Places) -> Vec<String> {
    let clock = |at| zone.wall_of(at).strftime("%H:%M:%S").to_string();
    let day = zone.wall_of(span.start).strftime("%m-%d").to_string();
    vec![
        span.locator.to_string(),
        found(places, &span.locator),
        format!("{day} {} - {}", clock(span.start), clock(span.end)),
        span.mark.to_string(),
    ]
}

fn found(places: &Places, locator: &counterpane_model::Locator) -> String {
    match places.at(locator) {
        At::Value(text) => {
            let first = text.split('\u{0}').next().unwrap_or_default();
            first.chars().take(24).collect()
        }
        At::Nothing => "(nothing)".into(),
        At::NotLookedUp => String::new(),
    }
}

fn hypnogram(r: &Recording, zone: &Zone, out: &Out) -> Option<String> {
    let (from, until) = r.bounds()?;
    let mut grid = Grid::covering(from, from, until);
    // A day of epochs at most: a night that is longer is a fault that the findings tell of.
    grid.n = grid.n.min(usize::try_from(86_400_000 / EPOCH_MS).unwrap_or(2880));
    let cells = project(&r.spans, grid);
    Some(hypnogram_text(&[(r.source.name(), cells.as_slice())], &[], grid.start, zone, out.width(), out.colour()))
}

/// Says at the end what became of the rows, what is wrong, and what the import would change in the store.
pub(crate) fn sum(file: &File, out: &mut Out) -> anyhow::Result<()> {
    let t = &file.tally;
    let parts = [
        (t.spans, if t.spans == 1 { "became a stage" } else { "became stages" }),
        (t.claims, "claims"),
        (t.notes, "notes"),
        (t.faulty, "could not be read: an error"),
        (t.ignored.values().sum::<u64>(), "left out on purpose"),
    ];
    let told: Vec<String> = parts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
    out.line("")?;
    out.paragraph(format_args!("of {}: {}", count(t.rows, "row"), told.join(", ")))?;
    for (rule, n) in &t.ignored {
        out.paragraph(format_args!("  left out: {n} by the rule: {}", clean(rule)))?;
    }
    let errors = file.findings.iter().filter(|f| f.severity == Severity::Error).count() as u64;
    if errors > 0 {
        out.paragraph(format_args!(
            "{} above: comparisons leave this out until each is mended, or accepted with a reason",
            count_of(errors, "kind of error", "kinds of error")
        ))?;
    }
    store(file, out)
}

fn store(file: &File, out: &mut Out) -> anyhow::Result<()> {
    if file.recordings.is_empty() {
        return out.paragraph(
            "nothing was stored, and without --dry-run nothing would be: it was imported before in the same way",
        );
    }
    let nights: Vec<String> = file.new_nights.iter().map(|n| n.label.clone()).collect();
    let declared = match nights.as_slice() {
        [] => String::new(),
        [one] => format!(", and declare the night {one}"),
        several => format!(", and declare the nights {}", and(several)),
    };
    out.paragraph(format_args!(
        "nothing was stored; without --dry-run this would store {}{declared}",
        count(file.recordings.len() as u64, "recording")
    ))
}
