//! Filters: their text is checked where it stands.

use super::table::{At, Parser, Table};
use crate::grammar::Filter;
use toml::de::DeValue;

/// The keys of a filter that is a table.
pub(super) const KEYS: &[&str] = &["jq", "take"];

/// Reads `filter = "..."`, or `[rows.filter]` with `jq` and `take`.
pub(super) fn read(p: &mut Parser, rows: &Table<'_>) -> Option<Filter> {
    let value = rows.get("filter")?;
    if let DeValue::String(text) = value.get_ref() {
        let jq = At { value: text.to_string(), span: value.span() };
        return Some(checked(p, jq, Vec::new()));
    }
    let inner = p.table(rows, "filter", "[rows.filter]".into())?;
    p.know(&inner, KEYS);
    if !inner.has("jq") {
        p.missing(&inner, "jq", "write the filter's text");
    }
    let take = p.texts(&inner, "take").into_iter().map(|t| t.value).collect();
    let jq = p.text(&inner, "jq")?;
    Some(checked(p, jq, take))
}

/// Refuses a filter that is not in the language, with a mark under the place where that can be told.
fn checked(p: &mut Parser, jq: At<String>, take: Vec<String>) -> Filter {
    if let Err(wrong) = crate::filter::check(&jq.value) {
        // Behind the quotes the text stands as it is, unless it has escapes.
        let quotes = if jq.span.len() >= jq.value.len() + 6 { 3 } else { 1 };
        let plain = jq.span.len() == jq.value.len() + 2 * quotes;
        let span = match (plain, wrong.span) {
            (true, Some(span)) => jq.span.start + quotes + span.start..jq.span.start + quotes + span.end,
            _ => jq.span.clone(),
        };
        p.refuse(span, wrong.message, wrong.help);
    }
    Filter { jq: jq.value, take }
}
