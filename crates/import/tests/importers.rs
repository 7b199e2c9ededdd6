//! Every shipped definition, tried on its samples; the goldens stand beside them.

#![allow(clippy::panic, clippy::unwrap_used, reason = "helpers of tests")]

use counterpane_formats::Limits;
use counterpane_import::{Bindings, Definition, describe, import};
use counterpane_model::{Fold, Night, NightKind, Wall, Zone};
use expect_test::expect_file;
use std::fs;
use std::path::{Path, PathBuf};

fn importers() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../importers").canonicalize().unwrap()
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    all.sort();
    all
}

/// Returns the samples of a folder: every file that is neither bindings nor golden.
fn samples(folder: &Path) -> Vec<PathBuf> {
    let is_sample = |p: &PathBuf| !matches!(p.extension().and_then(|e| e.to_str()), Some("toml" | "expected"));
    entries(&folder.join("samples")).into_iter().filter(is_sample).collect()
}

/// Reads the bindings of a sample: the keys are those of [`Bindings`]; a night without `from` and `until` runs
/// from noon to noon.
fn bindings(sample: &Path) -> Bindings {
    let file = sample.with_extension("toml");
    let text =
        fs::read_to_string(&file).unwrap_or_else(|_| panic!("write the bindings of the sample: {}", file.display()));
    let table: toml::Table = text.parse().unwrap();
    let known = ["participant", "night", "zone", "start", "end", "lights_off", "lights_on", "nights"];
    assert!(table.keys().all(|k| known.contains(&k.as_str())), "{}: the keys are {known:?}", file.display());
    let get = |key: &str| table.get(key).map(|v| v.as_str().unwrap().to_owned());
    let nights = table.get("nights").map(|n| n.as_array().unwrap().iter().map(night).collect()).unwrap_or_default();
    Bindings {
        file: sample.file_name().unwrap().to_string_lossy().into_owned(),
        participant: get("participant").unwrap(),
        nights,
        night: get("night"),
        zone: get("zone").map(|z| Zone::named(&z).unwrap()),
        study_zone: None,
        start: get("start"),
        end: get("end"),
        lights_off: get("lights_off"),
        lights_on: get("lights_on"),
    }
}

fn night(table: &toml::Value) -> Night {
    let get = |key: &str| table.get(key).map(|v| v.as_str().unwrap().to_owned());
    let (label, zone) = (get("label").unwrap(), get("zone").unwrap());
    let rules = Zone::named(&zone).unwrap();
    let at = |wall: Wall| rules.instant_of(wall, Fold::First).unwrap();
    let evening = || label.parse::<Wall>().unwrap_or_else(|_| format!("{label} 00:00").parse().unwrap()).date();
    let from = get("from").map_or_else(|| evening().at(12, 0, 0, 0), |t| t.parse().unwrap());
    let until = get("until").map_or_else(|| evening().tomorrow().unwrap().at(12, 0, 0, 0), |t| t.parse().unwrap());
    Night {
        participant: "P01".into(),
        label,
        kind: NightKind::Night,
        zone,
        window: (at(from), at(until)),
        lights: Default::default(),
    }
}

/// Returns what a sample gives, and counts what became of its rows.
fn given(definition: &Definition, sample: &Path) -> String {
    match import(definition, &mut fs::File::open(sample).unwrap(), &bindings(sample), Limits::default()) {
        Ok(outcome) => {
            assert_eq!(outcome.tally.rows, outcome.tally.sum(), "{}: every row has one outcome", sample.display());
            describe(&outcome)
        }
        Err(error) => format!("refused: {error}\n"),
    }
}

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
    let sniff = counterpane_formats::sniff::sniff(name, head);
    let all = counterpane_import::shipped().iter().map(|(id, text)| Definition::parse(id, text).unwrap());
    let fitting: Vec<_> = all
        .map(|d| (d.matches(&sniff), d))
        .filter(|(m, _)| m.fits)
        .map(|(m, d)| (m.facts, d.id().to_owned()))
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
            assert_eq!(best(&name, &fs::read(&sample).unwrap()), std::slice::from_ref(&id), "{}", sample.display());
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
    let reasons =
        |head: &[u8]| definition.matches(&counterpane_formats::sniff::sniff("a.csv", head)).reasons.join("\n");
    expect_test::expect![[r#"
        it looks like csv
        it has `clock`
        it has `lasts`
        it lacks `phase`
        no line at the beginning holds `watch-a night sheet (invented)`
        its fields are separated by `;`"#]]
    .assert_eq(&reasons(b"clock;lasts;stage\n22:47:00;00:10:00;Light\n"));
}
