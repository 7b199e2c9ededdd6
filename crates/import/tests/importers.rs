//! Every shipped definition, tried on its samples; the goldens stand beside them.

#![allow(clippy::panic, clippy::unwrap_used, reason = "helpers of tests")]

mod common;

use common::samples::{bytes_of, entries, given, importers, samples};
use counterpane_import::Definition;
use expect_test::expect_file;
use std::fs;
use std::path::PathBuf;

#[test]
fn samples_give_what_stands_beside_them() {
    let folders: Vec<PathBuf> = entries(&importers()).into_iter().filter(|p| p.is_dir()).collect();
    assert!(!folders.is_empty(), "the folder importers is empty");
    for folder in folders {
        let id = folder.file_name().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(folder.join("importer.toml"))
            .unwrap_or_else(|_| panic!("importers/{id} lacks its importer.toml"));
        let definition = Definition::parse(&id, &text).unwrap_or_else(|e| panic!("{}", e.render(&id)));
        let samples = samples(&folder);
        assert!(!samples.is_empty(), "put a sample and its bindings into importers/{id}/samples");
        for sample in &samples {
            expect_file![sample.with_extension("expected")].assert_eq(&given(&definition, sample));
        }
        let faulty = |s: &PathBuf| {
            let text = fs::read_to_string(s.with_extension("expected")).unwrap_or_default();
            text.contains("error[") || text.starts_with("refused")
        };
        assert!(samples.iter().any(faulty), "importers/{id}: add a sample with something wrong in it");
        assert!(!samples.iter().all(faulty), "importers/{id}: add a sample with nothing wrong in it");
    }
}

/// Returns the ids of the definitions that fit a file best.
fn best(name: &str, head: &[u8]) -> Vec<String> {
    let file = std::io::Cursor::new(head);
    let sniff = counterpane_formats::sniff::sniff_file(name, file, counterpane_formats::Limits::default()).unwrap();
    let all = counterpane_import::shipped().iter().map(|(id, text)| Definition::parse(id, text).unwrap());
    let fitting: Vec<_> = all
        .map(|d| (d.matches(&sniff), d))
        .filter(|(m, _)| m.fits)
        .map(|(m, d)| (m.held.len(), d.id().to_owned()))
        .collect();
    let most = fitting.iter().map(|(facts, _)| *facts).max();
    fitting.into_iter().filter(|(facts, _)| Some(*facts) == most).map(|(_, id)| id).collect()
}

#[test]
fn each_sample_is_known_for_what_it_is() {
    for folder in entries(&importers()).into_iter().filter(|p| p.is_dir()) {
        let id = folder.file_name().unwrap().to_string_lossy().into_owned();
        for sample in samples(&folder) {
            let name = sample.file_name().unwrap().to_string_lossy().into_owned();
            assert_eq!(best(&name, &bytes_of(&sample)), std::slice::from_ref(&id), "{}", sample.display());
        }
    }
}

#[test]
fn what_nobody_described_fits_nothing() {
    assert_eq!(best("a.csv", b"time;phase\n22:47;light\n"), [""; 0]);
    assert_eq!(best("a.csv", b"clock,stage\n22:47,light\n"), [""; 0]);
    assert_eq!(best("a.json", b"{\"made_by\":\"somebody\",\"sleeps\":[]}"), [""; 0]);
    assert_eq!(best("a.txt", b"0\n0\n1\n"), [""; 0]);
}

#[test]
fn a_definition_says_why_it_fits_or_does_not() {
    let text = counterpane_import::shipped().iter().find(|(id, _)| *id == "watch-a").unwrap().1;
    let definition = Definition::parse("watch-a", text).unwrap();
    let reasons = |head: &[u8]| {
        let found = definition.matches(&counterpane_formats::sniff::sniff("a.csv", head));
        format!("{}\nbut {}", found.held.join("\n"), found.failed.join("\nand "))
    };
    expect_test::expect![[r#"
        it looks like csv
        it has `clock`
        it has `lasts`
        its fields are separated by `;`
        but it lacks `phase`
        and no line at the beginning holds `watch-a night sheet (invented)`"#]]
    .assert_eq(&reasons(b"clock;lasts;stage\n22:47:00;00:10:00;Light\n"));
}
