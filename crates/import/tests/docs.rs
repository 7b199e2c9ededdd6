//! The page about definitions says what the program does.

#![allow(clippy::panic, clippy::unwrap_used, reason = "helpers of tests")]

mod common;

use common::{back, given, run};
use counterpane_import::{Bindings, Definition, KINDS, schema};

const PAGE: &str = include_str!("../../../docs/definitions.md");

/// A recipe: its title, the sample with its language where there is one, and the definition.
type Recipe = (&'static str, Option<(&'static str, &'static str)>, &'static str);

/// Returns the recipes of the cookbook.
fn recipes() -> Vec<Recipe> {
    let start = PAGE.find("## Cookbook").unwrap();
    let end = start + PAGE[start..].find("\n## What a definition cannot do").unwrap();
    PAGE[start..end]
        .split("\n### ")
        .skip(1)
        .filter_map(|recipe| {
            let title = recipe.lines().next().unwrap();
            let mut fences = recipe.split("\n```").skip(1).step_by(2).map(|f| f.split_once('\n').unwrap());
            match (fences.next(), fences.next()) {
                (None, _) => None,
                (Some(("toml", toml)), _) => Some((title, None, toml)),
                (Some(sample), Some(("toml", toml))) => Some((title, Some(sample), toml)),
                (Some(_), _) => panic!("`{title}` has a sample without a definition"),
            }
        })
        .collect()
}

#[test]
fn every_recipe_reads_its_sample() {
    let recipes = recipes();
    assert!(recipes.len() >= 15, "the cookbook has {} recipes", recipes.len());
    for (title, sample, toml) in recipes {
        let text = format!("version = 1\ntitle = \"t\"\n{toml}");
        let definition = Definition::parse("t", &text).unwrap_or_else(|e| panic!("{title}: {e}"));
        let Some((language, sample)) = sample else { continue };
        let sniff = counterpane_formats::sniff(&format!("a.{language}"), sample.as_bytes());
        let found = definition.matches(&sniff);
        assert!(found.fits, "{title}: {:#?}", found.failed);
        // A recipe that counts from a start tells the reader to give one.
        let bindings = Bindings { start: Some("2026-04-04 22:00".into()), ..back() };
        let outcome = run(&definition, &bindings, sample).unwrap_or_else(|e| panic!("{title}: {e}"));
        assert!(
            outcome.tally.spans + outcome.tally.claims + outcome.tally.notes > 0 && outcome.tally.faulty == 0,
            "{title}: {outcome:#?}"
        );
    }
}

/// Returns the blocks of the page in one language.
fn blocks(language: &str) -> Vec<&'static str> {
    let fence = format!("```{language}\n");
    let starts = PAGE.match_indices(&fence).map(|(at, _)| at + fence.len());
    starts.map(|start| &PAGE[start..start + PAGE[start..].find("```").unwrap()]).collect()
}

#[test]
fn the_worked_example_gives_what_the_page_shows() {
    let definition = Definition::parse("my-device", blocks("toml")[0]).unwrap_or_else(|e| panic!("{e}"));
    let bindings = Bindings { file: "night.csv".into(), night: None, ..back() };
    assert_eq!(given(&definition, &bindings, blocks("csv")[0]), blocks("text")[0]);
}

#[test]
fn the_other_examples_are_sound() {
    let pieces: Vec<&str> = blocks("toml")[1..]
        .iter()
        .copied()
        .filter(|p| !p.starts_with("version") && !p.starts_with("[match]"))
        .collect();
    assert!(pieces.len() >= 3);
    for piece in pieces {
        let (format, rest) = match piece.lines().next().unwrap() {
            "[[rows]]" => ("json", ""),
            "[rows.codes]" => ("csv", "[[rows]]\nshape = \"codes\"\nstart = { bound = \"start\" }\n"),
            "[rows.length]" => {
                ("csv", "[[rows]]\nshape = \"length\"\nstart = { bound = \"start\" }\nstage = { at = \"s\" }\n")
            }
            "[rows.start]" if piece.contains("join =") => {
                ("zip", "[[rows]]\nin = \"days/*.csv\"\nshape = \"change\"\nstage = { at = \"s\" }\n")
            }
            "[rows.start]" => ("csv", "[[rows]]\nshape = \"change\"\nstage = { at = \"s\" }\n"),
            _ => ("csv", "[[rows]]\nshape = \"claims\"\n"),
        };
        let text =
            format!("version = 1\ntitle = \"t\"\n[match]\nformat = \"{format}\"\n{rest}{piece}\n[stages]\nw = \"W\"\n");
        if let Err(errors) = Definition::parse("t", &text) {
            panic!("{errors}");
        }
    }
}

/// Returns every name that the schema gives to a key or a word.
fn names(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(keys) => keys.iter().for_each(|(key, value)| {
            out.push(key.clone());
            names(value, out);
        }),
        serde_json::Value::Array(items) => items.iter().for_each(|v| names(v, out)),
        serde_json::Value::String(text) => out.push(text.clone()),
        _ => {}
    }
}

#[test]
fn every_key_of_the_schema_is_on_the_page() {
    let schema: serde_json::Value = serde_json::from_str(&schema()).unwrap();
    let mut keys = Vec::new();
    fn properties(value: &serde_json::Value, out: &mut Vec<String>) {
        if let Some(map) = value.get("properties").and_then(|p| p.as_object()) {
            out.extend(map.keys().cloned());
        }
        match value {
            serde_json::Value::Object(keys) => keys.values().for_each(|v| properties(v, out)),
            serde_json::Value::Array(items) => items.iter().for_each(|v| properties(v, out)),
            _ => {}
        }
    }
    properties(&schema, &mut keys);
    for key in keys
        .iter()
        .filter(|k| !["match", "rows", "stages", "notes", "text", "on", "jq", "claims", "units"].contains(&k.as_str()))
    {
        assert!(
            PAGE.contains(&format!("`{key}`")) || PAGE.contains(&format!("{key} = ")),
            "docs/definitions.md does not explain `{key}`"
        );
    }
}

#[test]
fn help_names_only_keys_that_exist() {
    let mut known = Vec::new();
    names(&serde_json::from_str(&schema()).unwrap(), &mut known);
    for kind in KINDS {
        for quoted in kind.help.split('`').skip(1).step_by(2) {
            let is_known = quoted.starts_with("--")
                || quoted.ends_with(".toml")
                || quoted.trim_matches(['[', ']']).split('.').all(|part| known.iter().any(|k| k == part));
            assert!(is_known, "{}: `{quoted}` is not a key of the schema", kind.code);
        }
    }
}
