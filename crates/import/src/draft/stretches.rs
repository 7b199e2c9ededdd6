//! Shape `length`: a start and a length a row.

use super::columns::TimeColumn;
use super::fit::{Fit, fit};
use super::lengths::{Length as Way, lengths, unit_in_name};
use super::look::{Line, Look, by_midnights, lines};
use super::plan::{Block, Extent, Length, Origin, Pick};
use super::spans::{base, minutes_of};
use super::tables::Field;
use super::times::Says;
use super::timing::time;
use super::wording::{rows, words_of};
use super::words::Label;
use super::write::quoted;
use counterpane_formats::Format;

/// A way to read start and length, and how the rows fit then.
type Pair = (Fit, Line, Way);

pub(super) fn with_length(look: &Look<'_>, label: &Label, start: &TimeColumn) -> Option<Block> {
    let mut best: Option<(Fit, Vec<Pair>, usize)> = None;
    let usable = |(n, f): &(usize, &Field)| f.up == 0 && !f.key && *n != label.field && !start.fields.contains(n);
    for (n, field) in look.table.fields.iter().enumerate().filter(usable) {
        let mut fits: Vec<Pair> = Vec::new();
        for line in lines(look, start) {
            for length in lengths(&field.cells, look.sample.text.comma).into_iter().map(|l| l.held(field.native)) {
                if look.sample.format == Format::Edf && length.read != "s" {
                    continue;
                }
                let ends: Vec<Option<f64>> =
                    line.seconds.iter().zip(&length.seconds).map(|(s, l)| Some((*s)? + (*l)?)).collect();
                let found = fit(&look.table.groups, &line.seconds, &ends, slack(&line.seconds));
                // Counted times beside any numbers are lengths only where the rows touch.
                if line.reading.says == Says::Elapsed
                    && !(found.is_close() && found.pairs > 2)
                    && look.sample.format != Format::Edf
                {
                    continue;
                }
                fits.push((found, line.clone(), length));
            }
        }
        let mut close: Vec<_> = fits.iter().filter(|(f, ..)| f.is_close()).cloned().collect();
        if close.is_empty() {
            close = fits.iter().filter(|(f, line, _)| f.often_touches() && is_exact(&line.seconds)).cloned().collect();
        }
        // The seconds or minutes of rows with gaps between them cannot be told by their neighbours: what
        // remains possible is narrowed by the column's own name.
        let possible = if close.is_empty() { by_name(field.path.as_str(), fits, look) } else { close };
        let Some(found) = possible.iter().map(|(f, ..)| *f).max_by_key(|f| f.touching) else { continue };
        if best.as_ref().is_none_or(|(b, ..)| (found.is_close(), found.touching) > (b.is_close(), b.touching)) {
            best = Some((found, possible, n));
        }
    }
    let (found, pairs, n) = best?;
    let pairs = by_midnights(look, pairs, |p| &p.1);
    Some(length_block(look, label, start, found, pairs, n))
}

/// By how much rounding may part the end of a row from the start of the next one.
fn slack(seconds: &[Option<f64>]) -> f64 {
    let whole_minutes = seconds.iter().flatten().all(|s| (s / 60.0).fract().abs() < 1e-9);
    if whole_minutes { 60.0 } else { 1.0 }
}

/// Times to the second touch by chance only where their rows are many; whole minutes do so often.
fn is_exact(seconds: &[Option<f64>]) -> bool {
    slack(seconds) < 2.0
}

fn by_name(name: &str, fits: Vec<(Fit, Line, Way)>, look: &Look<'_>) -> Vec<(Fit, Line, Way)> {
    let named = unit_in_name(name);
    // EDF+ says what a duration is; its rows need not follow each other.
    let known = look.sample.format == Format::Edf;
    let worded = |l: &Way| l.read.contains(':') || matches!(l.read, "iso" | "h m s");
    let long = |l: &Way| l.seconds.iter().flatten().copied().fold(0.0, f64::max);
    fits.into_iter()
        .filter(|(f, _, l)| {
            known
                || (f.is_possible() && f.pairs + 1 >= f.rows.min(2))
                    && (named == Some(l.read)
                        || (named.is_none() && (worded(l) || (10.0..43_200.0).contains(&long(l)))))
        })
        .filter(|(f, line, l)| {
            known || named.is_some() || worded(l) || looks_like_length(name) || fills(look, *f, line, l)
        })
        .collect()
}

/// Says whether numbers of many sizes never reach into the next row and yet fill most of the time between starts: by
/// chance they would do neither.
fn fills(look: &Look<'_>, found: Fit, line: &Line, length: &Way) -> bool {
    let sizes: std::collections::BTreeSet<u64> = length.seconds.iter().flatten().map(|s| s.to_bits()).collect();
    found.overlapping == 0
        && found.backwards == 0
        && found.pairs >= 8
        && sizes.len() > 4
        && super::fit::share(&look.table.groups, &line.seconds, &length.seconds) >= 0.6
}

/// A column of numbers that nothing confirms is taken for lengths only where its name says so.
fn looks_like_length(name: &str) -> bool {
    let lower = name.to_lowercase();
    ["dur", "len", "last", "span"].iter().any(|w| lower.contains(w))
}

fn length_block(look: &Look<'_>, label: &Label, start: &TimeColumn, found: Fit, pairs: Vec<Pair>, n: usize) -> Block {
    let field = &look.table.fields[n];
    let (mut froms, mut ways): (Vec<Line>, Vec<Way>) = (Vec::new(), Vec::new());
    for (_, line, length) in pairs {
        if !froms.iter().any(|l: &Line| l.reading.read == line.reading.read) {
            froms.push(line);
        }
        if !ways.iter().any(|l| l.read == length.read) {
            ways.push(length);
        }
    }
    let ends: Vec<Option<f64>> =
        froms[0].seconds.iter().zip(&ways[0].seconds).map(|(s, l)| Some((*s)? + (*l)?)).collect();
    let why = format!(
        "each of {} has a start and a length; start and length give the next start in {} of {}",
        rows(found.rows),
        found.touching,
        found.pairs
    );
    let mut block = base(look, label, "length", why, &minutes_of(&froms[0].seconds, &ends));
    block.rank.close = found.is_close();
    block.rank.shape = 2;
    block.extent = Extent::of(&froms[0].reading.says, &froms[0].seconds, &ends);
    let total = look.totals(&ends);
    let start_time = time(look, start, &froms, "when it began", &total, &mut block);
    // A count from an anchor and the length beside it have the same unit, or the rows would not touch.
    let unit = start_time
        .read
        .as_ref()
        .filter(|p| !p.is_open() && froms[0].reading.says == Says::Elapsed)
        .and_then(|p| p.options.first())
        .map(|(v, _)| v.trim_matches('"').trim_start_matches("offset ").to_owned());
    if let Some(unit) = unit.filter(|u| ways.iter().any(|w| w.read == u)) {
        ways.retain(|w| w.read == unit);
    }
    block.start = Some(start_time);
    block.length = Some(Length {
        origin: Origin::At { at: vec![field.path.clone()], up: field.up },
        why: format!("how long it lasted; {} of {} read so", ways[0].count, rows(ways[0].present)),
        read: length_pick(&ways, found, &field.path, look),
    });
    block.has.extend(look.paths(&[start]));
    block.has.extend(look.path_of(n));
    block
}

fn length_pick(ways: &[Way], found: Fit, name: &str, look: &Look<'_>) -> Pick {
    let sum = |w: &Way| words_of(w.seconds.iter().flatten().sum::<f64>());
    match ways {
        [one] if look.sample.format == Format::Edf => Pick::one(quoted(one.read), "EDF+ gives durations in seconds"),
        [one] if found.is_close() || found.often_touches() => Pick::one(
            quoted(one.read),
            format!(
                "read so, start and length give the next start in {} of {}; all together they last {}",
                found.touching,
                found.pairs,
                sum(one)
            ),
        ),
        [one] if unit_in_name(name) == Some(one.read) => {
            Pick::one(quoted(one.read), format!("the name `{name}` says the unit; all together they last {}", sum(one)))
        }
        [one] => Pick::one(
            quoted(one.read),
            format!(
                "any other unit lays rows over each other, or makes stages of seconds; all together they last {}",
                sum(one)
            ),
        ),
        several => {
            let options =
                several.iter().map(|w| (quoted(w.read), format!("all together they last {}", sum(w)))).collect();
            Pick::open(options, "rows have gaps between them, so the next start does not tell the unit")
        }
    }
}
