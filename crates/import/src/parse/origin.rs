//! Where a value comes from.

use super::paths;
use super::table::{At, Parser, Table};
use crate::grammar::origin::{Bound, Edge, FileFact, Inherit, Missing, Paths};
use crate::grammar::{FormatWord, Origin};
use toml::de::DeValue;

/// The keys that say where a value comes from.
pub(super) const KEYS: &[&str] =
    &["at", "up", "key", "file", "pattern", "const", "bound", "join", "each", "on", "missing", "inherit", "row"];

const KINDS: [&str; 7] = ["at", "key", "file", "const", "bound", "join", "row"];

/// Returns the keys of an origin and those of the table around it.
pub(super) fn keys_with(more: &[&'static str]) -> Vec<&'static str> {
    KEYS.iter().chain(more).copied().collect()
}

/// Reads a table that holds an origin and nothing else.
pub(super) fn alone(p: &mut Parser, table: &Table<'_>) -> Option<Origin> {
    p.know(table, KEYS);
    read(p, table)
}

/// Reads a table below this one that holds an origin and nothing else.
pub(super) fn below(p: &mut Parser, table: &Table<'_>, key: &str) -> Option<Origin> {
    let inner = p.table(table, key, format!("`{key}` of {}", table.name))?;
    alone(p, &inner)
}

/// Reads the origin of a table.
pub(super) fn read(p: &mut Parser, table: &Table<'_>) -> Option<Origin> {
    // `at` beside `join` is the field in the other member, not an origin of its own.
    let given: Vec<&str> = KINDS.into_iter().filter(|k| table.has(k) && !(*k == "at" && table.has("join"))).collect();
    let all = KINDS.map(|k| format!("`{k}`")).join(", ");
    if given.len() != 1 {
        let found = if given.is_empty() { "none".to_owned() } else { given.join(" and ") };
        let message = format!("{} must say where its value comes from, once; it says {found}", table.name);
        p.refuse(table.span.clone(), message, format!("write exactly one of {all}"));
        return None;
    }
    for (key, owner) in
        [("up", "at"), ("on", "join"), ("each", "join"), ("missing", "join"), ("inherit", "join"), ("pattern", "file")]
    {
        if table.has(key) && given[0] != owner {
            p.refuse(table.span_of(key), format!("`{key}` goes with `{owner}` only"), format!("leave `{key}` out"));
        }
    }
    match given[0] {
        "at" => at(p, table),
        "key" => key(p, table),
        "file" => file(p, table),
        "const" => constant(p, table),
        "bound" => p.word::<Bound>(table, "bound").map(|w| Origin::Bound { bound: w.value }),
        "row" => p.word::<Edge>(table, "row").map(|w| Origin::Row { row: w.value }),
        _ => join(p, table),
    }
}

fn at(p: &mut Parser, table: &Table<'_>) -> Option<Origin> {
    let paths = p.texts(table, "at");
    let up = p.whole(table, "up");
    let levels = up.as_ref().map_or(Some(0), |up| usize::try_from(up.value).ok());
    // Above JSON in a cell stands the row of a table, whose columns have any name.
    if !(p.inside_json && levels.is_some_and(|up| up > 0)) {
        paths.iter().for_each(|path| paths::check(p, path));
    }
    if let (None, Some(At { span, .. })) = (levels, up) {
        p.refuse(span, "`up` counts the rows above and cannot be negative", "write 1 for the parent");
    }
    let at: Vec<String> = paths.into_iter().map(|path| path.value).collect();
    (!at.is_empty()).then_some(Origin::At { at: Paths(at), up: levels? })
}

fn file(p: &mut Parser, table: &Table<'_>) -> Option<Origin> {
    let fact = p.word::<FileFact>(table, "file")?;
    if fact.value == FileFact::Start && p.format.is_some_and(|f| f != FormatWord::Edf) {
        let help = "take the start from a field with `at`, or from the command line with `bound = \"start\"`";
        p.refuse(fact.span, "only an EDF+ header gives the start of the file", help);
    }
    let pattern = p.text(table, "pattern");
    if let Some(pattern) = &pattern {
        if fact.value != FileFact::Name {
            p.refuse(pattern.span.clone(), "`pattern` goes with `file = \"name\"` only", "leave `pattern` out");
        } else if pattern.value.matches('*').count() != 1 {
            let help = "write one `*` where the wanted text stands, such as `night-*.csv`";
            p.refuse(pattern.span.clone(), format!("`{}` does not have one `*`", pattern.value), help);
        }
    }
    Some(Origin::File { file: fact.value, pattern: pattern.map(|t| t.value) })
}

fn key(p: &mut Parser, table: &Table<'_>) -> Option<Origin> {
    let value = table.get("key")?;
    if value.get_ref().as_bool() != Some(true) {
        p.refuse(value.span(), "`key` can only be true", "write `key = true`: the value is the key of the list");
    }
    Some(Origin::Key { key: true })
}

fn constant(p: &mut Parser, table: &Table<'_>) -> Option<Origin> {
    let value = table.get("const")?;
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        DeValue::Boolean(truth) => truth.to_string(),
        other => {
            let message = format!("`const` must be a text or a number, not {}", super::kind_of(other));
            p.refuse(value.span(), message, "put it in quotes");
            return None;
        }
    };
    Some(Origin::Const { text })
}

/// Refuses a join to what the format does not have.
fn check_part(p: &mut Parser, join: &At<String>) {
    let part = join.value.as_str();
    let beside = part.starts_with("*.") && !p.in_archive;
    let known = FormatWord::of_name(part).is_some();
    let flat = matches!(p.format, Some(FormatWord::Csv | FormatWord::Edf | FormatWord::Text)) && !p.in_archive;
    if (p.in_archive || beside) && !known {
        let help = "name a file whose ending says its format, such as `nights.json`";
        p.refuse(join.span.clone(), format!("the ending of `{part}` does not say which format it is"), help);
    } else if flat && !beside {
        let help = "name the file beside this one, such as `*.json`, where `*` stands for this file's name";
        p.refuse(join.span.clone(), format!("this format has no part `{part}`"), help);
    }
}

fn join(p: &mut Parser, table: &Table<'_>) -> Option<Origin> {
    let join = p.text(table, "join")?;
    let each = p.text(table, "each").map(|t| t.value);
    if let Some(path) = join.value.strip_prefix('$').map(|_| join.value.as_str()).or(each.as_deref())
        && path.starts_with('$')
        && let Err(error) = counterpane_formats::Path::parse(path)
    {
        p.refuse(join.span.clone(), paths::sentence(&error), "write where the rows are, such as `$.devices[*]`");
    }
    check_part(p, &join);
    let missing = p.word::<Missing>(table, "missing").map(|w| w.value);
    let inherit = p.word::<Inherit>(table, "inherit");
    let is_json = join.value.starts_with("*.") && FormatWord::of_name(&join.value) == Some(FormatWord::Json);
    if let Some(inherit) = inherit.as_ref().filter(|_| p.in_archive || !is_json) {
        let help = "leave `inherit` out, or join to `*.json`";
        p.refuse(inherit.span.clone(), "`inherit` goes with a JSON file beside this one only", help);
    }
    let on = keys(p, table);
    let at = p.text(table, "at");
    let (Ok(on), Some(at)) = (<[Origin; 2]>::try_from(on), at) else {
        let help = "write `{ join = \"meta.json\", on = [\"field here\", \"field there\"], at = \"field there\" }`";
        p.refuse(table.span.clone(), "`join` needs `on` with two fields, and `at`", help);
        return None;
    };
    Some(Origin::Join {
        join: join.value,
        each,
        on: Box::new(on),
        at: at.value,
        missing,
        inherit: inherit.map(|w| w.value),
    })
}

/// Reads the two keys of a join: a field, or a table such as `{ at = "id", up = 1 }` or
/// `{ file = "name", pattern = "days/*.csv" }`.
fn keys(p: &mut Parser, table: &Table<'_>) -> Vec<Origin> {
    let Some(DeValue::Array(items)) = table.get("on").map(|v| v.get_ref()) else { return Vec::new() };
    let mut out = Vec::new();
    for (n, item) in items.iter().enumerate() {
        if let DeValue::String(text) = item.get_ref() {
            out.push(Origin::At { at: Paths(vec![text.to_string()]), up: 0 });
            continue;
        }
        let Some(inner) = p.as_table(item, "on", "a key of `on`".to_owned()) else { continue };
        let Some(origin) = alone(p, &inner) else { continue };
        // What is looked up has no rows above it.
        let fits = match &origin {
            Origin::At { at, up } => at.0.len() == 1 && (n == 0 || *up == 0),
            Origin::File { file: FileFact::Name, .. } => true,
            _ => false,
        };
        match fits {
            true => out.push(origin),
            false => p.refuse(
                item.span(),
                "this cannot be a key of `on`",
                "write a field, or `{ file = \"name\", pattern = \"*.csv\" }`",
            ),
        }
    }
    out
}
