//! What every definition must pass, whatever it reads.

use super::Verdict;
use super::places::Places;
use super::sample::Sample;
use crate::wording::count;
use counterpane_formats::{Format, Limits};
use counterpane_import::{Bindings, Definition, Outcome, import};
use counterpane_model::{Finding, Night, Severity, Span, Zone};

/// Samples are small; what goes beyond this is no sample.
pub(super) fn limits() -> Limits {
    Limits { bytes: 64 << 20, rows: 1_000_000, row_bytes: 8 << 20, ..Limits::default() }
}

/// Every row has exactly one outcome.
pub(super) fn sum(verdict: &mut Verdict, outcome: &Outcome) {
    let t = &outcome.tally;
    let ignored: u64 = t.ignored.values().sum();
    let text = format!(
        "rows {} = spans {} + claims {} + notes {} + faulty {} + ignored {ignored}",
        t.rows, t.spans, t.claims, t.notes, t.faulty
    );
    if t.sum() == t.rows { verdict.held.push(text) } else { verdict.failed.push(format!("rows do not add up: {text}")) }
}

/// Every span's place leads back to its word.
pub(super) fn places(verdict: &mut Verdict, sample: &Sample, outcome: &Outcome) {
    let format = counterpane_formats::sniff::sniff(&sample.bindings.file, &sample.bytes).formats.first().copied();
    let places = Places::of(&sample.bytes, format.unwrap_or(Format::Text));
    let (mut looked_up, mut not) = (0, 0);
    for span in spans(outcome) {
        match places.holds(&span.locator, &span.label) {
            None => not += 1,
            Some(true) => looked_up += 1,
            Some(false) => {
                verdict
                    .failed
                    .push(format!("`{}` does not stand at {}: the place leads elsewhere", span.label, span.locator));
                return;
            }
        }
    }
    let rest = if not > 0 { format!(", {not} not looked up") } else { String::new() };
    verdict.held.push(format!("{} led back to the word there{rest}", count(looked_up, "place")));
}

/// A file that breaks off gives nothing that the whole file does not say.
pub(super) fn cuts(verdict: &mut Verdict, definition: &Definition, sample: &Sample, whole: &Outcome) {
    let mut refused = 0;
    for tenth in 1..10 {
        let cut = &sample.bytes[..sample.bytes.len() * tenth / 10];
        let Ok(outcome) = import(definition, &mut &*cut, &sample.bindings, limits()) else {
            refused += 1;
            continue;
        };
        // Where an error stands, nothing is computed, so what is given there cannot mislead.
        if errors(&outcome) > errors(whole) {
            continue;
        }
        if let Some(wrong) = spans(&outcome).find(|s| !spans(whole).any(|w| same(s, w))) {
            verdict.failed.push(format!(
                "cut at {tenth}/10 it says `{}` from {} to {} without an error, and the whole file does not",
                wrong.label, wrong.start, wrong.end
            ));
            return;
        }
    }
    verdict.held.push(format!("cut at nine places: {refused} refused, no wrong span"));
}

fn same(a: &Span, b: &Span) -> bool {
    (a.start, a.end, a.mark) == (b.start, b.end, b.mark)
}

/// The same import again changes nothing.
pub(super) fn again(verdict: &mut Verdict, definition: &Definition, sample: &Sample) -> anyhow::Result<()> {
    let once = import(definition, &mut sample.bytes.as_slice(), &sample.bindings, limits())?;
    let twice = import(definition, &mut sample.bytes.as_slice(), &sample.bindings, limits())?;
    if once == twice {
        verdict.held.push("again: the same".into());
    } else {
        verdict.failed.push("the same import again gives something else".into());
    }
    Ok(())
}

/// Zones whose clocks change on many dates of a year, so that some night of a sample meets a change.
const CHANGING: &[&str] = &[
    "Africa/Cairo",
    "Africa/Casablanca",
    "America/Asuncion",
    "America/Havana",
    "America/New_York",
    "America/Santiago",
    "Antarctica/Troll",
    "Asia/Beirut",
    "Asia/Gaza",
    "Asia/Jerusalem",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Europe/Berlin",
    "Europe/Chisinau",
    "Pacific/Auckland",
    "Pacific/Easter",
];

/// In a zone whose clock changes near the sample's nights, rows still add up and no span is silently
/// out of order: a time that is repeated or skipped is settled by the definition, or is an error.
pub(super) fn clock_change(verdict: &mut Verdict, definition: &Definition, sample: &Sample) {
    let nights = &sample.bindings.nights;
    let changes = |zone: &&&str| {
        let stretches = |n: &Night| Zone::named(zone).map_or(0, |z| z.stretches(n.window.0, n.window.1).len());
        nights.iter().any(|n| stretches(n) > 1)
    };
    let Some(zone) = CHANGING.iter().find(changes) else {
        verdict.held.push("clock change: no zone changes its clock on a night of the sample".into());
        return;
    };
    let moved = Bindings {
        nights: nights.iter().map(|n| Night { zone: (*zone).to_string(), ..n.clone() }).collect(),
        ..sample.bindings.clone()
    };
    match import(definition, &mut sample.bytes.as_slice(), &moved, limits()) {
        Err(e) => verdict.held.push(format!("clock change ({zone}): refused ({e})")),
        Ok(outcome) if outcome.tally.sum() != outcome.tally.rows => {
            verdict.failed.push(format!("on a night whose clock changes ({zone}) the rows do not add up"));
        }
        Ok(outcome) => {
            let said = if errors(&outcome) > 0 { "errors where it must be asked" } else { "settled" };
            verdict.held.push(format!("clock change ({zone}): {said}"));
        }
    }
}

/// Where the definition says that order does not matter, shuffled rows give the same spans.
pub(super) fn shuffled(verdict: &mut Verdict, definition: &Definition, sample: &Sample, whole: &Outcome) {
    let text = definition.text();
    let ordered = !text.contains("order = \"any\"");
    let lines = matches!(definition.format(), Format::Csv | Format::Jsonl | Format::Text);
    if ordered || !lines {
        let why = if ordered { "rows stand in the order of the file" } else { "not a format of lines" };
        verdict.held.push(format!("not shuffled: {why}"));
        return;
    }
    let Ok(text) = std::str::from_utf8(&sample.bytes) else { return };
    // The header and what stands above it stay; the rows below are turned round.
    let first = spans(whole).filter_map(|s| first_line(&s.locator)).min().unwrap_or(1);
    let head = usize::try_from(first.saturating_sub(1)).unwrap_or(0);
    let all: Vec<&str> = text.lines().collect();
    let turned: String = all.iter().take(head).chain(all.iter().skip(head).rev()).flat_map(|l| [*l, "\n"]).collect();
    let sorted = |o: &Outcome| {
        let mut all: Vec<_> = spans(o).map(|s| (s.start, s.end, s.mark)).collect();
        all.sort_unstable();
        all
    };
    match import(definition, &mut turned.as_bytes(), &sample.bindings, limits()) {
        Ok(outcome) if sorted(&outcome) == sorted(whole) => verdict.held.push("turned round: the same spans".into()),
        Ok(_) => verdict.failed.push("with its rows turned round it gives other spans".into()),
        Err(e) => verdict.failed.push(format!("with its rows turned round it is refused: {e}")),
    }
}

fn first_line(locator: &counterpane_model::Locator) -> Option<u64> {
    match locator {
        counterpane_model::Locator::Text { line, .. } => Some(*line),
        counterpane_model::Locator::JsonLine { row, .. } => Some(*row),
        counterpane_model::Locator::Item { of, .. } | counterpane_model::Locator::Items { of, .. } => first_line(of),
        _ => None,
    }
}

fn spans(outcome: &Outcome) -> impl Iterator<Item = &Span> {
    outcome.parts.iter().flat_map(|p| p.spans.iter())
}

fn errors(outcome: &Outcome) -> u64 {
    let of = |f: &&Finding| f.severity == Severity::Error;
    let all = outcome.findings.iter().chain(outcome.parts.iter().flat_map(|p| p.findings.iter()));
    all.filter(of).map(|f| f.count).sum()
}
