//! The top of a definition.

use super::table::{Parser, Table};
use super::{kind_of, rows};
use crate::grammar::claims::Unit;
use crate::grammar::matching::Decimal;
use crate::grammar::{FormatWord, Grammar, Matching, NoteWord, Rows, Shape, StageWord, Step, TextKeys, Word};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::DeValue;

/// The keys at the top.
pub(super) const KEYS: &[&str] =
    &["version", "title", "sources", "step", "match", "text", "rows", "stages", "notes", "units"];
/// The keys of `[match]`.
pub(super) const MATCH_KEYS: &[&str] = &["format", "has", "says", "line", "root", "members"];
/// The keys of `[text]`.
pub(super) const TEXT_KEYS: &[&str] = &["encoding", "delimiter", "decimal", "header", "comment"];

/// Reads a whole definition.
pub(super) fn read(p: &mut Parser, top: &Table<'_>) -> Option<Grammar> {
    let version = version(p, top);
    p.know(top, KEYS);
    if !top.has("title") {
        p.missing(top, "title", "say in one line what is read");
    }
    let title = p.text(top, "title");
    let sources = p.texts(top, "sources").into_iter().map(|t| t.value).collect();
    let step = step(p, top);
    if !top.has("match") {
        p.missing(top, "match", "say which files it is for, such as `[match]` with `format = \"json\"`");
    }
    let matching = p.table(top, "match", "[match]".into()).and_then(|t| matching(p, &t));
    p.format = matching.as_ref().map(|m| m.format);
    let text = p.table(top, "text", "[text]".into()).map(|t| text_keys(p, &t));
    let rows = blocks(p, top);
    let stages = words::<StageWord>(p, top, "stages");
    let notes = words::<NoteWord>(p, top, "notes");
    let units = words::<Unit>(p, top, "units");
    let (spans, rows): (Vec<_>, Vec<_>) = rows.into_iter().unzip();
    check_words(p, top, &rows, &stages);
    check_part(p, matching.as_ref(), &rows, &spans);
    let title = title?.value;
    Some(Grammar { version: version?, title, sources, step, matching: matching?, text, rows, stages, notes, units })
}

fn version(p: &mut Parser, top: &Table<'_>) -> Option<u8> {
    if !top.has("version") {
        p.missing(top, "version", "begin the definition with `version = 1`");
        return None;
    }
    let version = p.whole(top, "version")?;
    if version.value != 1 {
        let message = format!("version {} of the language is not known", version.value);
        p.refuse(version.span, message, "this program reads `version = 1`");
        return None;
    }
    Some(1)
}

fn step(p: &mut Parser, top: &Table<'_>) -> Option<Step> {
    let text = p.text(top, "step")?;
    let step = Step::parse(&text.value);
    if step.is_none() {
        p.refuse(text.span, format!("`{}` is not a length of time", text.value), "write `500 ms`, `30 s` or `1 min`");
    }
    step
}

fn matching(p: &mut Parser, table: &Table<'_>) -> Option<Matching> {
    p.know(table, MATCH_KEYS);
    if !table.has("format") {
        let known = FormatWord::WORDS.iter().map(|(w, _)| format!("`{w}`")).collect::<Vec<_>>().join(", ");
        p.missing(table, "format", &format!("the formats are {known}"));
    }
    let format = p.word::<FormatWord>(table, "format").map(|w| w.value);
    let list = |p: &mut Parser, key: &str| p.texts(table, key).into_iter().map(|t| t.value).collect::<Vec<_>>();
    let (has, members) = (list(p, "has"), list(p, "members"));
    let (line, root) = (p.text(table, "line").map(|t| t.value), p.text(table, "root").map(|t| t.value));
    let says = says(p, table);
    Some(Matching { format: format?, has, says, line, root, members })
}

fn says(p: &mut Parser, table: &Table<'_>) -> BTreeMap<String, String> {
    let Some(inner) = p.table(table, "says", "[match.says]".into()) else { return BTreeMap::new() };
    inner
        .entries()
        .into_iter()
        .filter_map(|(k, _)| Some((k.value.to_owned(), p.text(&inner, k.value)?.value)))
        .collect()
}

fn text_keys(p: &mut Parser, table: &Table<'_>) -> TextKeys {
    p.know(table, TEXT_KEYS);
    let delimiter = p.text(table, "delimiter").and_then(|text| {
        let mut chars = text.value.chars();
        let one = chars.next().filter(|_| chars.next().is_none());
        if one.is_none() {
            p.refuse(text.span, "`delimiter` must be one character", "such as `\";\"` or `\"\\t\"`");
        }
        one
    });
    let text = |p: &mut Parser, key: &str| p.text(table, key).map(|t| t.value);
    TextKeys {
        encoding: text(p, "encoding"),
        delimiter,
        decimal: p.word::<Decimal>(table, "decimal").map(|w| w.value),
        header: text(p, "header"),
        comment: text(p, "comment"),
    }
}

fn blocks(p: &mut Parser, top: &Table<'_>) -> Vec<(Range<usize>, Rows)> {
    let Some(value) = top.get("rows") else {
        p.missing(top, "rows", "say how rows become spans in a block that begins with `[[rows]]`");
        return Vec::new();
    };
    let DeValue::Array(items) = value.get_ref() else {
        let message = format!("`rows` must be a list of blocks, not {}", kind_of(value.get_ref()));
        p.refuse(value.span(), message, "write `[[rows]]` with two brackets");
        return Vec::new();
    };
    let block = |p: &mut Parser, item| {
        let table = p.as_table(item, "rows", "[[rows]]".into())?;
        Some((table.span.clone(), rows::read(p, &table)?))
    };
    items.iter().filter_map(|item| block(p, item)).collect()
}

fn words<W: Word>(p: &mut Parser, top: &Table<'_>, key: &str) -> BTreeMap<String, W> {
    let Some(table) = p.table(top, key, format!("[{key}]")) else { return BTreeMap::new() };
    table
        .entries()
        .into_iter()
        .filter_map(|(k, _)| Some((k.value.to_owned(), p.word::<W>(&table, k.value)?.value)))
        .collect()
}

/// Refuses a map of words that no block uses, and blocks without the map that they need.
fn check_words(p: &mut Parser, top: &Table<'_>, rows: &[Rows], stages: &BTreeMap<String, StageWord>) {
    let staged = rows.iter().any(|r| !matches!(r.shape, Shape::Claims | Shape::Notes));
    if staged && !top.has("stages") {
        p.missing(top, "stages", "list the source's exact words, such as `[stages]` with `\"light\" = \"Light\"`");
    }
    if rows.iter().any(|r| r.shape == Shape::Notes) && !top.has("notes") {
        p.missing(
            top,
            "notes",
            "list the source's exact words, such as `[notes]` with `\"Lights off\" = \"lights-off\"`",
        );
    }
    let ended = stages.iter().find(|(_, word)| **word == StageWord::End);
    let changes = rows.iter().any(|r| matches!(r.shape, Shape::Change | Shape::Arrays | Shape::Keyed));
    if let Some((text, _)) = ended.filter(|_| staged && !changes) {
        let table = p.table(top, "stages", "[stages]".into());
        let span = table.map_or(0..0, |t| t.span_of(text));
        p.refuse(span, "`end` has a meaning in shape `change` only", "use `ignored`, or choose another shape");
    }
}

/// Refuses a block of JSON or XML that does not say where its rows are, and the key where there is no path.
fn check_part(p: &mut Parser, matching: Option<&Matching>, rows: &[Rows], spans: &[Range<usize>]) {
    let Some(matching) = matching else { return };
    for (block, span) in rows.iter().zip(spans) {
        let mut format = matching.format;
        if format == FormatWord::Zip {
            let Some(inner) = member_format(p, block, span) else { continue };
            format = inner;
        } else if block.format.is_some() {
            let help = "leave it out: `format` of `[match]` says how the file is read";
            p.refuse(span.clone(), "`format` of [[rows]] goes with archives only", help);
        }
        let path = matches!(format, FormatWord::Json | FormatWord::Xml);
        if path && block.each.is_none() {
            let help = "say where the rows are, such as `each = \"$.nights[*]\"`";
            p.refuse(span.clone(), "[[rows]] lacks the key `each`", help);
        }
        let flat = matches!(format, FormatWord::Csv | FormatWord::Text | FormatWord::Edf | FormatWord::Sheet);
        let holds_cells = matches!(format, FormatWord::Csv | FormatWord::Sheet);
        if block.cell.is_some() && !holds_cells {
            let help = "leave `cell` out: fields are found by their paths";
            p.refuse(span.clone(), "`cell` goes with formats that have cells", help);
        }
        let nest = block.nest.is_some() && block.cell.is_none();
        if flat && (block.each.is_some() || nest) {
            let help = "leave them out: every row of the file is read";
            p.refuse(span.clone(), "`each` and `nest` go with formats that have a tree", help);
        }
    }
}

/// Returns the format of the members that a block of an archive reads.
fn member_format(p: &mut Parser, block: &Rows, span: &Range<usize>) -> Option<FormatWord> {
    let Some(part) = &block.part else {
        let help = "say which members of the archive are read, such as `in = \"days/*.csv\"`";
        p.refuse(span.clone(), "[[rows]] lacks the key `in`", help);
        return None;
    };
    let found = block.format.or_else(|| FormatWord::of_name(part));
    if found.is_none() {
        let help = "add `format`, such as `format = \"csv\"`";
        p.refuse(span.clone(), format!("the ending of `{part}` does not say which format it is"), help);
    }
    found
}
