//! What rows can look up elsewhere: a zone, a date or a time that another part of the file holds, found by a key.

use super::columns::columns;
use super::tables::{Cell, Field, Kind, Sample, Table, Via, Way};
use super::write::quoted;
use counterpane_formats::Format;
use std::collections::{BTreeMap, BTreeSet};

/// Rows of a part in which something is looked up.
const MOST_ROWS: usize = 5000;

/// A part in which something can be looked up.
struct There {
    part: String,
    each: Option<String>,
    /// Keys, as a definition writes them, each with the texts of its rows.
    keys: Vec<(String, String, Vec<String>)>,
    /// Fields that are worth looking up.
    values: Vec<Field>,
}

/// Adds to the rows of each sample what another sample of the same archive holds about them.
pub(super) fn between(samples: &mut [Sample]) {
    let theres: Vec<(usize, There)> = samples
        .iter()
        .enumerate()
        .flat_map(|(n, s)| {
            let comma = s.text.comma;
            s.tables.iter().filter_map(move |t| Some((n, there(t, comma, s.member.clone()?, s.format)?)))
        })
        .collect();
    for (n, sample) in samples.iter_mut().enumerate() {
        for table in &mut sample.tables {
            theres.iter().filter(|(of, _)| *of != n).for_each(|(_, there)| join(table, there));
        }
    }
}

/// Adds to the rows of each table what another table of the same file holds about them.
pub(super) fn within(sample: &mut Sample) {
    if !matches!(sample.format, Format::Json | Format::Sheet | Format::Xml) || sample.member.is_some() {
        return;
    }
    let comma = sample.text.comma;
    let theres: Vec<(String, There)> = sample
        .tables
        .iter()
        .filter(|t| !t.path().is_empty())
        .filter_map(|t| Some((t.path(), there(t, comma, t.path(), sample.format).filter(|_| t.kind == Kind::Rows)?)))
        .map(|(path, there)| (path, There { each: None, ..there }))
        .collect();
    for table in &mut sample.tables {
        let path = table.path();
        let elsewhere = |of: &str| !path.starts_with(of) && !of.starts_with(&path);
        theres.iter().filter(|(of, _)| elsewhere(of)).for_each(|(_, there)| join(table, there));
    }
}

fn there(table: &Table, comma: bool, part: String, format: Format) -> Option<There> {
    if table.kind != Kind::Rows || table.rows() == 0 || table.rows() > MOST_ROWS {
        return None;
    }
    let each = match (&table.way, format) {
        (Way::Tree { .. } | Way::Xml(_), _) => Some(table.path()),
        (Way::Flat, _) => None,
        (Way::Sheet(_), _) => None,
    };
    let found = columns(table, comma);
    let mut wanted: BTreeSet<usize> = found.zones.iter().copied().collect();
    wanted.extend(found.times.iter().filter(|t| !t.placed().is_empty() && t.fields.len() == 1).map(|t| t.fields[0]));
    wanted.extend(found.dates.iter().map(|(n, _)| *n));
    let own = |n: &usize| table.fields[*n].up == 0 && table.fields[*n].via.is_none();
    let values: Vec<Field> = wanted.into_iter().filter(own).map(|n| table.fields[n].clone()).collect();
    // Two series with the same clock are no index of each other.
    let timed: BTreeSet<usize> =
        found.times.iter().filter(|t| !t.placed().is_empty()).flat_map(|t| t.fields.clone()).collect();
    let keys: Vec<_> =
        table.fields.iter().enumerate().filter(|(n, _)| !timed.contains(n)).filter_map(|(_, f)| key(f)).collect();
    (!values.is_empty() && !keys.is_empty()).then_some(There { part, each, keys, values })
}

/// Returns a field whose texts name the rows: each row has one of its own.
fn key(field: &Field) -> Option<(String, String, Vec<String>)> {
    let texts: Option<Vec<String>> = field.cells.iter().map(|c| c.text().map(str::to_owned)).collect();
    let texts = texts?;
    let distinct: BTreeSet<&String> = texts.iter().collect();
    let plain = field.via.is_none() && field.up == 0;
    let named = matches!(field.via, Some(Via::Name(_)));
    (distinct.len() == texts.len() && (plain || named)).then(|| (written(field), field.path.clone(), texts))
}

/// Returns a key as `on` writes it.
fn written(field: &Field) -> String {
    match &field.via {
        Some(via) => format!("{{ {} }}", via.keys().join(", ")),
        None if field.up > 0 => format!("{{ at = {}, up = {} }}", quoted(&field.path), field.up),
        None => quoted(&field.path),
    }
}

/// Adds what is looked up, where a field of every row is a key there.
fn join(table: &mut Table, there: &There) {
    if table.kind != Kind::Rows || table.rows() < 3 {
        return;
    }
    // The levels above the row are counted by `nest`, which a key with `up` would have to be told.
    let here = table.fields.iter().filter(|f| f.up == 0 || matches!(f.via, Some(Via::Name(_))));
    let found =
        here.flat_map(|f| there.keys.iter().map(move |k| (f, k))).filter(|(f, k)| leads(f, k)).max_by_key(|(f, k)| {
            (alike(&f.path, &k.1), f.cells.iter().filter_map(Cell::text).collect::<BTreeSet<_>>().len())
        });
    let Some((field, (written_there, _, texts))) = found else { return };
    let rows: BTreeMap<&str, usize> = texts.iter().enumerate().map(|(n, t)| (t.as_str(), n)).collect();
    let at: Vec<Option<usize>> = field.cells.iter().map(|c| rows.get(c.text()?).copied()).collect();
    let on = [written(field), written_there.clone()];
    // Rows that look up different things belong to different recordings.
    let mut seen: Vec<(usize, Option<usize>)> = Vec::new();
    let group = |pair: (&usize, &Option<usize>)| {
        let pair = (*pair.0, *pair.1);
        seen.iter().position(|s| *s == pair).unwrap_or_else(|| {
            seen.push(pair);
            seen.len() - 1
        })
    };
    let groups: Vec<usize> = table.groups.iter().zip(&at).map(group).collect();
    for value in &there.values {
        let cells = at.iter().map(|n| n.map_or(Cell::Absent, |n| value.cells[n].clone())).collect();
        let via =
            Via::Join { part: there.part.clone(), each: there.each.clone(), on: on.clone(), at: value.path.clone() };
        let path = format!("({}){}", there.part, value.path);
        table.fields.push(Field { up: 1, path, via: Some(via), cells, ..Field::default() });
    }
    table.groups = groups;
}

/// Says whether every row's text is a key there. Small numbers are keys only where the names say so: any count would fit.
fn leads(field: &Field, (_, name, texts): &(String, String, Vec<String>)) -> bool {
    let known: BTreeSet<&str> = texts.iter().map(String::as_str).collect();
    let mine: BTreeSet<&str> = field.cells.iter().filter_map(Cell::text).collect();
    let full = field.cells.iter().all(|c| c.text().is_some());
    let small = mine.iter().all(|t| t.parse::<f64>().is_ok_and(|n| n.abs() < 100.0) || t.len() < 2);
    // A key stands in all rows of a recording, not in one.
    let many = mine.len() * 2 <= field.cells.len();
    full && many && !mine.is_empty() && mine.iter().all(|t| known.contains(t)) && (!small || alike(&field.path, name))
}

/// Says whether two names may be about the same: `night_id` and `id`, `Night` and `night`.
fn alike(here: &str, there: &str) -> bool {
    let plain = |t: &str| t.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let (here, there) = (plain(here), plain(there));
    !here.is_empty()
        && !there.is_empty()
        && (here.ends_with(&there) || there.ends_with(&here) || here.starts_with(&there))
}
