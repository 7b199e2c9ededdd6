//! The schema of definitions is current, and says the same as the parser.

#![allow(clippy::panic, clippy::unwrap_used, reason = "helpers of tests")]

mod common;

use counterpane_import::{Definition, schema, shipped};
use expect_test::expect_file;
use serde_json::Value;

fn json(text: &str) -> Value {
    let table: toml::Table = text.parse().unwrap();
    serde_json::to_value(table).unwrap()
}

fn validator() -> jsonschema::Validator {
    jsonschema::validator_for(&serde_json::from_str(&schema()).unwrap()).unwrap()
}

#[test]
fn the_schema_file_is_current() {
    expect_file!["../../../schemas/importer.schema.json"].assert_eq(&schema());
}

#[test]
fn shipped_definitions_obey_the_schema() {
    let validator = validator();
    for (id, text) in shipped() {
        let errors: Vec<String> =
            validator.iter_errors(&json(text)).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(errors.is_empty(), "{id}: {errors:#?}");
    }
}

#[test]
fn definitions_of_every_shape_obey_the_schema() {
    let validator = validator();
    for folder in common::samples::entries(&common::samples::shapes()) {
        let text = std::fs::read_to_string(folder.join("importer.toml")).unwrap();
        let errors: Vec<String> =
            validator.iter_errors(&json(&text)).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(errors.is_empty(), "{}: {errors:#?}", folder.display());
    }
}

/// Puts a line into a sound definition, after a line that begins with `after`.
fn with(after: &str, line: &str) -> String {
    let sound = "version = 1\ntitle = \"t\"\n[match]\nformat = \"csv\"\n[[rows]]\nshape = \"change\"\n[rows.start]\nat = \"t\"\nread = \"epoch s\"\n[rows.stage]\nat = \"s\"\n[stages]\nw = \"W\"\n";
    sound.lines().flat_map(|l| [l, if l.starts_with(after) { line } else { "" }]).collect::<Vec<_>>().join("\n")
}

#[test]
fn schema_and_parser_refuse_the_same_keys() {
    let validator = validator();
    for after in ["title", "format", "shape", "read", "[rows.stage]", "w ="] {
        let text = with(after, "bogus = \"x\"");
        assert!(Definition::parse("t", &text).is_err(), "the parser takes `bogus` after `{after}`");
        assert!(!validator.is_valid(&json(&text)), "the schema takes `bogus` after `{after}`");
    }
    let more = [
        ("shape", "order = \"any\"\nend = { at = \"e\", read = \"epoch s\", fold = \"err\" }"),
        ("shape", "length = { at = \"e\", read = \"hours\" }"),
        ("shape", "night = { at = \"e\" }"),
        ("[rows.stage]", "up = -1"),
        ("title", "step = \"half a minute\""),
    ];
    for (after, line) in more {
        let text = with(after, line);
        assert!(Definition::parse("t", &text).is_err(), "the parser takes `{line}`");
        assert!(!validator.is_valid(&json(&text)), "the schema takes `{line}`");
    }
    let text = with("title", "");
    assert!(Definition::parse("t", &text).is_ok());
    assert!(validator.is_valid(&json(&text)));
}
