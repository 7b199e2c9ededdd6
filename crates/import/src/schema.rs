//! The JSON Schema of definitions.

use crate::grammar::Grammar;

/// Returns the JSON Schema (2020-12) of a definition, generated from the structs that hold one.
#[must_use]
pub fn schema() -> String {
    let mut text = schemars::schema_for!(Grammar).to_value().to_string();
    if let Ok(value) = serde_json::from_str::<serde_json::Value>(&text)
        && let Ok(pretty) = serde_json::to_string_pretty(&value)
    {
        text = pretty;
    }
    text.push('\n');
    text
}
