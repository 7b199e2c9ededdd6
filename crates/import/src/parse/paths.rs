//! Paths, checked against the format while their place in the definition is known.

use super::near;
use super::table::{At, Parser, Table};
use crate::grammar::FormatWord;
use counterpane_formats::{FormatError, Path};

/// The fields of an EDF+ annotation.
const ANNOTATION: [&str; 5] = ["onset", "duration", "text", "channel", "record"];

/// Refuses a path that the format cannot have.
pub(super) fn check(p: &mut Parser, path: &At<String>) {
    let text = path.value.as_str();
    let refuse = |p: &mut Parser, message: String, help: String| p.refuse(path.span.clone(), message, help);
    if text.is_empty() {
        return refuse(p, "a path must not be empty".into(), "name the field, such as `from`".into());
    }
    if p.inside_json {
        return tree(p, path);
    }
    match p.format {
        Some(FormatWord::Json | FormatWord::Jsonl) => tree(p, path),
        Some(FormatWord::Edf) if !ANNOTATION.contains(&text) => {
            let all = ANNOTATION.map(|f| format!("`{f}`")).join(", ");
            let meant = near(text, ANNOTATION).map(|n| format!("did you mean `{n}`? ")).unwrap_or_default();
            refuse(p, format!("`{text}` is not a field of an annotation"), format!("{meant}the fields are {all}"));
        }
        Some(FormatWord::Text) if !is_part_of_line(text) => {
            let help = "a line has `line`, `word 1`, `word 2` and so on, and `rest 2`, all from the second word on";
            refuse(p, format!("`{text}` is not a part of a line"), help.into());
        }
        _ => {}
    }
}

fn tree(p: &mut Parser, path: &At<String>) {
    match Path::parse(&path.value) {
        Err(error) => {
            p.refuse(path.span.clone(), sentence(&error), "write a path such as `minutes.awake` or `pieces[0].from`")
        }
        // A value outside the rows has the wildcards of `each`, which say which one is meant.
        Ok(parsed) if parsed.is_wild() && !parsed.from_root => {
            let help = "a value is one field inside the row: leave out `*`; the row above is reached by `up`";
            p.refuse(path.span.clone(), format!("`{}` is not a path inside a row", path.value), help);
        }
        Ok(_) => {}
    }
}

/// Returns the path of rows, `each` or `nest`, refusing one that cannot be read.
pub(super) fn rows(p: &mut Parser, table: &Table<'_>, key: &str) -> Option<String> {
    let path = p.text(table, key)?;
    if p.inside_json && key == "nest" || matches!(p.format, Some(FormatWord::Json | FormatWord::Jsonl)) {
        let (root, help) = match key {
            "each" => (true, "write where the rows are, such as `$.nights[*]`; `$` alone is the whole document"),
            _ => (false, "write where the rows are inside the row, such as `pieces[*]`"),
        };
        match Path::parse(&path.value) {
            Err(error) => p.refuse(path.span.clone(), sentence(&error), help),
            Ok(parsed) if parsed.from_root != root => {
                let must = if root { "must begin with `$`" } else { "must not begin with `$`" };
                p.refuse(path.span.clone(), format!("the path of `{key}` {must}"), help);
            }
            Ok(_) => {}
        }
    }
    Some(path.value)
}

pub(super) fn sentence(error: &FormatError) -> String {
    match error {
        FormatError::Request { what, why } => format!("`{what}` is not a path: {why}"),
        other => other.to_string(),
    }
}

fn is_part_of_line(text: &str) -> bool {
    match text.split_once(' ') {
        None => text == "line",
        Some((word, number)) => matches!(word, "word" | "rest") && number.parse::<usize>().is_ok_and(|n| n > 0),
    }
}
