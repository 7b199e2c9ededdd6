//! What the keys of one block mean for each other.

use super::table::{Parser, Table};
use crate::grammar::origin::Edge;
use crate::grammar::rows::CodesOrigin;
use crate::grammar::{FoldRule, FormatWord, Order, Origin, Rows, Shape, TimeRead, Word};
use counterpane_formats::{Path, Step};

/// The keys that only some shapes have.
const SHAPED: [&str; 10] = ["start", "end", "length", "stage", "codes", "epoch", "note", "lists", "name", "claims"];

/// Returns the keys that a shape needs, and those that it may have.
fn keys_of(shape: Shape) -> (&'static [&'static str], &'static [&'static str]) {
    match shape {
        Shape::Interval => (&["start", "end", "stage"], &["length"]),
        Shape::Length => (&["start", "length", "stage"], &["end"]),
        Shape::Change => (&["start", "stage"], &["end"]),
        Shape::Codes => (&["start", "codes", "epoch"], &["end", "length"]),
        Shape::Columns => (&["start", "codes", "epoch"], &[]),
        Shape::Arrays => (&["start", "stage"], &["end", "length"]),
        Shape::Keyed => (&["lists", "start", "stage"], &["end", "length"]),
        Shape::Claims => (&["claims"], &["start", "end", "length", "name"]),
        Shape::Notes => (&["start", "note"], &["end", "length"]),
    }
}

/// Refuses what a shape lacks, what it has no use for, and what contradicts itself.
pub(super) fn check(p: &mut Parser, table: &Table<'_>, rows: Option<&Rows>) {
    let Some(rows) = rows else { return };
    let name = Shape::WORDS.iter().find(|(_, s)| *s == rows.shape).map_or("", |(word, _)| word);
    let (needed, allowed) = keys_of(rows.shape);
    for key in needed.iter().filter(|k| !table.has(k)) {
        let all = needed.iter().map(|k| format!("`{k}`")).collect::<Vec<_>>().join(", ");
        p.missing(table, key, &format!("shape `{name}` needs {all}"));
    }
    for key in SHAPED.iter().filter(|k| table.has(k) && !needed.contains(k) && !allowed.contains(k)) {
        p.refuse(
            table.span_of(key),
            format!("shape `{name}` has no use for `{key}`"),
            format!("leave `{key}` out, or choose another shape"),
        );
    }
    if rows.end.is_some() && rows.length.is_some() && !rows.any_two() {
        p.refuse(table.span_of("length"), "`end` and `length` say the same thing twice", "leave one of them out");
    }
    check_codes(p, table, rows);
    check_edges(p, table, rows);
    check_names(p, table, rows);
    check_levels(p, table, rows);
    check_order(p, table, rows);
}

fn check_codes(p: &mut Parser, table: &Table<'_>, rows: &Rows) {
    let Some(codes) = &rows.codes else { return };
    let columns = matches!(codes.origin, CodesOrigin::Columns { .. });
    if columns != (rows.shape == Shape::Columns) {
        let help = "shape `columns` takes `first` and `last`; shape `codes` takes `at`";
        p.refuse(table.span_of("codes"), "these codes do not fit the shape", help);
    }
    if columns && codes.split.is_some() {
        p.refuse(table.span_of("codes"), "`split` has no meaning for columns", "leave `split` out");
    }
}

/// Refuses an edge of the row outside claims, and where the row has none.
fn check_edges(p: &mut Parser, table: &Table<'_>, rows: &Rows) {
    for (key, origin) in rows.origins() {
        let Origin::Row { row } = origin else { continue };
        let known = match row {
            Edge::Start => rows.start.is_some(),
            Edge::End => rows.end.is_some() || rows.length.is_some(),
        };
        if key != "claims" {
            p.refuse(table.span_of(key), "`row` goes with claims only", "take the value from a field with `at`");
        } else if !known || rows.start.is_none() {
            let help = "say in `rows.start`, `rows.end` or `rows.length` when the row began and ended";
            p.refuse(table.span_of(key), "the block does not say when its rows begin or end", help);
        }
    }
}

/// Refuses claims that a row's own name does not tell apart.
fn check_names(p: &mut Parser, table: &Table<'_>, rows: &Rows) {
    let mut names: Vec<&str> = rows.claims.values().filter_map(|c| c.named()).collect();
    let told = names.len();
    names.sort_unstable();
    names.dedup();
    let wanted = if rows.name.is_some() { rows.claims.len() } else { 0 };
    if told != wanted || names.len() != told {
        let message = "`name` of the block and `named` of its claims go together, and no two claims have one name";
        let help = "write `name = { at = \"what\" }` in the block and `named = \"...\"` in each of its claims, or leave both out";
        p.refuse(table.span_of("claims"), message, help);
    }
}

/// Refuses `up` and `key` where there is nothing above.
fn check_levels(p: &mut Parser, table: &Table<'_>, rows: &Rows) {
    // An element of XML knows all elements around it.
    if p.format == Some(FormatWord::Xml) {
        return;
    }
    let nested = rows.nest.as_deref().map_or(0, levels_of);
    let levels = nested + usize::from(matches!(rows.shape, Shape::Keyed)) + usize::from(rows.cell.is_some());
    let deepest = rows.origins().into_iter().map(|(key, o)| (key, up_of(o))).max_by_key(|(_, up)| *up);
    if let Some((key, up)) = deepest.filter(|(_, up)| *up > levels) {
        let message =
            format!("`up = {up}` goes above the rows: there {} {levels} above", if levels == 1 { "is" } else { "are" });
        p.refuse(table.span_of(key), message, "each `[*]` of `nest` adds one level that `up` can reach");
    }
    let keyed = rows.origins().into_iter().find(|(_, o)| matches!(o, Origin::Key { .. }));
    if let Some((key, _)) = keyed.filter(|_| rows.shape != Shape::Keyed) {
        p.refuse(
            table.span_of(key),
            "`key = true` goes with shape `keyed` only",
            "take the value from a field with `at`",
        );
    }
}

/// Returns how many objects stand above rows that `nest` leads to: the row that it begins in, and each object on
/// the way.
fn levels_of(nest: &str) -> usize {
    let steps = Path::parse(nest).map(|p| p.steps).unwrap_or_default();
    1 + steps.iter().skip(1).filter(|s| matches!(s, Step::Name(_) | Step::Members)).count()
}

fn up_of(origin: &Origin) -> usize {
    match origin {
        Origin::At { up, .. } => *up,
        _ => 0,
    }
}

fn check_order(p: &mut Parser, table: &Table<'_>, rows: &Rows) {
    if rows.order == Order::File {
        return;
    }
    for (key, time) in rows.times() {
        let anchored = time.from.as_deref().is_some_and(|f| f.fold == Some(FoldRule::Order));
        if time.fold == Some(FoldRule::Order) || anchored {
            let help =
                "add `order = \"file\"` if rows stand in the order of time, or choose `first`, `second` or `error`";
            p.refuse(table.span_of(key), "`fold = \"order\"` needs rows in the order of time", help);
        }
    }
    let by_clock =
        rows.shape == Shape::Change && rows.start.as_ref().is_some_and(|s| s.read.iter().any(TimeRead::is_clock));
    if by_clock {
        let help = "add `order = \"file\"` if rows stand in the order of time";
        p.refuse(table.span_of("start"), "change points by time of day need rows in the order of time", help);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_object_on_the_way_is_a_level() {
        let found = ["pieces[*]", "levels.data[*]", "days[*].blocks[*]", "[*]", "by_day.*"].map(levels_of);
        assert_eq!(found, [1, 2, 2, 1, 2]);
    }
}
