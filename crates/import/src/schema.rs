//! The JSON Schema of definitions.

use crate::grammar::Grammar;
use serde_json::Value;

/// Returns the JSON Schema (2020-12) of a definition, generated from the structs that hold one.
#[must_use]
pub fn schema() -> String {
    let mut value = schemars::schema_for!(Grammar).to_value();
    without_null(&mut value);
    let mut text = serde_json::to_string_pretty(&value).unwrap_or_default();
    text.push('\n');
    text
}

/// Drops `null` wherever it may stand: TOML has no such value, a key is left out instead.
fn without_null(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(without_null),
        Value::Object(keys) => {
            keys.retain(|key, value| !(key == "default" && value.is_null()));
            if let Some(Value::Array(types)) = keys.get_mut("type") {
                types.retain(|t| t != "null");
                if let [only] = types.as_slice() {
                    let only = only.clone();
                    keys.insert("type".into(), only);
                }
            }
            if let Some(Value::Array(any)) = keys.get_mut("anyOf") {
                any.retain(|s| s.get("type").is_none_or(|t| t != "null"));
                if let [Value::Object(only)] = any.as_slice() {
                    let only = only.clone();
                    keys.remove("anyOf");
                    only.into_iter().for_each(|(key, value)| {
                        keys.entry(key).or_insert(value);
                    });
                }
            }
            keys.values_mut().for_each(without_null);
        }
        _ => {}
    }
}
