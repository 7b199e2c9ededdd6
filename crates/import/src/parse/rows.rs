//! Blocks of rows.

use super::origin::{self, keys_with};
use super::table::{Parser, Table};
use super::{claims, filter, paths, rules, time};
use crate::grammar::rows::{CodesOrigin, Means, Otherwise};
use crate::grammar::{Codes, FormatWord, Keep, Night, Order, Rows, Shape};
use toml::de::DeValue;

/// The keys of a block of rows.
pub(super) const KEYS: &[&str] = &[
    "in", "format", "each", "nest", "cell", "keep", "filter", "shape", "layer", "order", "night", "start", "end",
    "length", "stage", "codes", "epoch", "note", "lists", "name", "claims",
];

/// Reads one block.
pub(super) fn read(p: &mut Parser, table: &Table<'_>) -> Option<Rows> {
    p.know(table, KEYS);
    if !table.has("shape") {
        p.missing(
            table,
            "shape",
            "say how a row becomes spans, such as `shape = \"interval\"`; see docs/definitions.md",
        );
    }
    let shape = p.word::<Shape>(table, "shape");
    let text = |p: &mut Parser, key: &str| p.text(table, key).map(|t| t.value);
    let part = text(p, "in");
    let format = p.word::<FormatWord>(table, "format");
    // What stands in a member of an archive is checked as the member's own format.
    let whole = p.format;
    p.in_archive = whole == Some(FormatWord::Zip);
    if p.in_archive {
        p.format = format.as_ref().map(|f| f.value).or_else(|| FormatWord::of_name(part.as_deref()?));
    }
    let each = paths::rows(p, table, "each");
    let cell = text(p, "cell");
    let taken = filter::read(p, table);
    p.inside_json = cell.is_some();
    let nest = paths::rows(p, table, "nest");
    let keep = keep(p, table);
    p.inside_json = cell.is_some() || taken.is_some();
    let rows = Rows {
        part,
        format: format.as_ref().map(|f| f.value),
        each,
        nest,
        cell,
        keep,
        filter: taken,
        layer: layer(p, table),
        order: p.word::<Order>(table, "order").map(|w| w.value).unwrap_or_default(),
        night: below(p, table, "night", night),
        start: below(p, table, "start", time::time),
        end: below(p, table, "end", time::time),
        length: below(p, table, "length", time::length),
        stage: below(p, table, "stage", origin::alone),
        codes: below(p, table, "codes", codes),
        epoch: below(p, table, "epoch", time::length),
        note: below(p, table, "note", origin::alone),
        lists: below(p, table, "lists", origin::alone),
        name: below(p, table, "name", origin::alone),
        claims: claims::read(p, table),
        shape: shape.as_ref().map_or(Shape::Notes, |s| s.value),
    };
    p.inside_json = false;
    rules::check(p, table, shape.as_ref().map(|_| &rows));
    p.format = whole;
    shape.map(|_| rows)
}

fn below<T>(
    p: &mut Parser,
    table: &Table<'_>,
    key: &str,
    read: impl Fn(&mut Parser, &Table<'_>) -> Option<T>,
) -> Option<T> {
    p.table(table, key, format!("[rows.{key}]")).and_then(|inner| read(p, &inner))
}

fn layer(p: &mut Parser, table: &Table<'_>) -> i32 {
    let Some(layer) = p.whole(table, "layer") else { return 0 };
    i32::try_from(layer.value).unwrap_or_else(|_| {
        p.refuse(layer.span, "`layer` is too large", "number the layers 0, 1, 2");
        0
    })
}

/// The keys of a condition beside those of its origin.
pub(super) const KEEP_KEYS: &[&str] = &["in", "there", "otherwise"];

fn keep(p: &mut Parser, table: &Table<'_>) -> Vec<Keep> {
    let Some(value) = table.get("keep") else { return Vec::new() };
    let each: Vec<_> = match value.get_ref() {
        DeValue::Array(items) => items.iter().collect(),
        _ => vec![value],
    };
    each.into_iter()
        .filter_map(|value| {
            let inner = p.as_table(value, "keep", "[rows.keep]".into())?;
            p.know(&inner, &keys_with(KEEP_KEYS));
            let origin = origin::read(p, &inner);
            if !inner.has("in") && !inner.has("there") {
                p.missing(&inner, "in", "list the texts that are kept, such as `in = [\"sleep\"]`");
            }
            if inner.has("in") && inner.has("there") {
                p.refuse(inner.span_of("there"), "`in` and `there` do not go together", "leave one of them out");
            }
            let texts = inner.has("in").then(|| p.texts(&inner, "in").into_iter().map(|t| t.value).collect());
            let there = p.truth(&inner, "there");
            let otherwise = p.word::<Otherwise>(&inner, "otherwise").map(|w| w.value);
            Some(Keep { origin: origin?, texts, there, otherwise })
        })
        .collect()
}

/// The keys of a night beside those of its origin.
pub(super) const NIGHT_KEYS: &[&str] = &["means", "read"];

fn night(p: &mut Parser, table: &Table<'_>) -> Option<Night> {
    p.know(table, &keys_with(NIGHT_KEYS));
    let origin = origin::read(p, table);
    if !table.has("means") {
        p.missing(table, "means", "say whether the text is a `label`, the date of the `evening` or of the `morning`");
    }
    let means = p.word::<Means>(table, "means").map(|w| w.value);
    let read = p.text(table, "read");
    if let Some(read) = read.as_ref().filter(|_| means == Some(Means::Label)) {
        p.refuse(read.span.clone(), "a label is taken as it stands", "leave `read` out");
    }
    Some(Night { origin: origin?, means: means?, read: read.map(|t| t.value) })
}

/// The keys of codes beside those of their origin.
pub(super) const CODES_KEYS: &[&str] = &["first", "last", "split"];

fn codes(p: &mut Parser, table: &Table<'_>) -> Option<Codes> {
    p.know(table, &keys_with(CODES_KEYS));
    let split = p.text(table, "split");
    if let Some(empty) = split.as_ref().filter(|s| s.value.is_empty()) {
        p.refuse(
            empty.span.clone(),
            "codes cannot be cut at nothing",
            "write `split = \"letter\"` for one code a character",
        );
    }
    let origin = match (p.text(table, "first"), p.text(table, "last")) {
        (None, None) => origin::read(p, table).map(CodesOrigin::Value),
        (first, last) => columns(p, table, first.map(|t| t.value), last.map(|t| t.value)),
    };
    Some(Codes { origin: origin?, split: split.map(|s| s.value) })
}

fn columns(p: &mut Parser, table: &Table<'_>, first: Option<String>, last: Option<String>) -> Option<CodesOrigin> {
    let (Some(first), Some(last)) = (first, last) else {
        p.refuse(
            table.span.clone(),
            "`first` and `last` go together",
            "write both, such as `first = \"#2\", last = \"#961\"`",
        );
        return None;
    };
    let number =
        |t: &str| t.strip_prefix('#').and_then(|n| n.parse::<usize>().ok()).filter(|n| (1..=16_384).contains(n));
    match (number(&first), number(&last)) {
        (Some(a), Some(b)) if a <= b => Some(CodesOrigin::Columns { first, last }),
        _ => {
            let help = "write column numbers from 1 to 16384, such as `first = \"#2\", last = \"#961\"`";
            p.refuse(table.span.clone(), "`first` and `last` are not a range of columns", help);
            None
        }
    }
}
