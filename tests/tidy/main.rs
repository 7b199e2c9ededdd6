//! Rules of the checkout that a compiler does not see.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test may panic")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Which crate may import which: docs/architecture.md shows it as a picture.
const LAYERS: &[(&str, &[&str])] = &[
    ("check", &["model", "stats"]),
    ("compare", &["model", "stats"]),
    ("counterpane", &["check", "compare", "formats", "import", "model", "report", "stats", "store"]),
    ("formats", &["model"]),
    ("import", &["formats", "model"]),
    ("model", &[]),
    ("report", &["compare", "model", "stats"]),
    ("stats", &[]),
    ("store", &["model"]),
];

/// Returns the files below a folder that end in `ending`, in order, without built and hidden ones.
fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut out = Vec::new();
    let mut todo = vec![folder.to_owned()];
    while let Some(dir) = todo.pop() {
        for entry in std::fs::read_dir(&dir).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                if name != "target" && !name.starts_with('.') && name != "counterpane-demo" {
                    todo.push(path);
                }
            } else if name.ends_with(ending) {
                out.push(path);
            }
        }
    }
    out.sort();
    out
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn each_crate_imports_only_the_layers_below_it() {
    let allowed: BTreeMap<_, _> = LAYERS.iter().copied().collect();
    let mut seen = Vec::new();
    for manifest in files(&root().join("crates"), "Cargo.toml") {
        let name = manifest.parent().unwrap().file_name().unwrap().to_string_lossy().into_owned();
        let may = allowed
            .get(name.as_str())
            .unwrap_or_else(|| panic!("list the crate `{name}` in LAYERS of tests/tidy/main.rs"));
        let text = read(&manifest);
        let dependencies =
            text.split("[dependencies]").nth(1).unwrap_or_default().split("\n[").next().unwrap_or_default();
        for line in dependencies.lines() {
            let Some(other) = line.strip_prefix("counterpane-").and_then(|l| l.split('.').next()) else { continue };
            assert!(may.contains(&other), "crates/{name} must not import {other}: see docs/architecture.md");
        }
        seen.push(name);
    }
    assert_eq!(seen, LAYERS.iter().map(|l| l.0).collect::<Vec<_>>(), "LAYERS lists every crate, alphabetically");
}

#[test]
fn each_crate_states_its_invariant() {
    for (name, _) in LAYERS {
        let file = if *name == "counterpane" { "main.rs" } else { "lib.rs" };
        let text = read(&root().join("crates").join(name).join("src").join(file));
        assert!(text.contains("//! **Invariant.**"), "crates/{name}/src/{file} says its invariant in its `//!`");
    }
}

#[test]
fn each_source_file_begins_with_what_it_is_for() {
    for file in files(&root().join("crates"), ".rs") {
        let text = read(&file);
        assert!(text.starts_with("//! "), "{} begins with a `//!` that says what it is for", file.display());
    }
}

#[test]
fn only_the_store_speaks_sql() {
    for file in files(&root().join("crates"), ".rs") {
        if !file.starts_with(root().join("crates/store")) {
            let text = read(&file);
            assert!(!text.contains("rusqlite"), "{}: SQL belongs to crates/store", file.display());
        }
    }
}

#[test]
fn no_source_file_holds_a_leftover() {
    let leftovers = ["todo!(", "unimplemented!(", "dbg!(", "FIXME", "XXX"];
    for file in files(&root().join("crates"), ".rs") {
        let text = read(&file);
        for leftover in leftovers {
            assert!(!text.contains(leftover), "{} holds `{leftover}`", file.display());
        }
    }
}

#[test]
fn links_of_the_documents_lead_somewhere() {
    let mut looked_at = 0;
    for file in files(&root(), ".md") {
        let text = read(&file);
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            if link.starts_with("http") || link.starts_with('#') || link.is_empty() || link.contains(' ') {
                continue;
            }
            let target = file.parent().unwrap().join(link.split('#').next().unwrap());
            assert!(target.exists(), "{}: the link to {link} leads nowhere", file.display());
            looked_at += 1;
        }
    }
    assert!(looked_at > 10, "the documents link to each other");
}

#[test]
fn licences_are_there() {
    for name in ["LICENSE-APACHE", "LICENSE-MIT"] {
        assert!(read(&root().join(name)).len() > 900, "{name} holds the licence");
    }
}

#[test]
fn each_importer_has_a_sample_and_what_it_gives() {
    let mut n = 0;
    for entry in std::fs::read_dir(root().join("importers")).unwrap() {
        let dir = entry.unwrap().path();
        if !dir.is_dir() {
            continue;
        }
        n += 1;
        let name = dir.display();
        assert!(dir.join("importer.toml").is_file(), "{name} has an importer.toml");
        let expected = files(&dir.join("samples"), ".expected");
        assert!(!expected.is_empty(), "{name}/samples holds a sample and its .expected file");
    }
    assert!(n >= 5, "importers/ holds the shipped definitions");
}
