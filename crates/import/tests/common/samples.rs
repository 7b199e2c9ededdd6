//! Samples in folders: a definition, files to try it on, their bindings, and what each gives.

use counterpane_formats::Limits;
use counterpane_import::{Bindings, Companion, Definition, describe, import_with};
use counterpane_model::{Fold, Night, NightKind, Wall, Zone};
use std::fs;
use std::io::{Cursor, Write as _};
use std::path::{Path, PathBuf};

/// Returns the folder of the shipped definitions.
pub fn importers() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../importers").canonicalize().unwrap()
}

/// Returns the folder of the shapes.
pub fn shapes() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/shapes").canonicalize().unwrap()
}

/// Returns what stands in a folder, in order.
pub fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    all.sort();
    all
}

/// Returns the samples of a folder: everything that is neither bindings nor golden. A folder with an ending is an
/// archive or a workbook, unpacked so that it can be read; files that stand beside a sample are in `beside`.
pub fn samples(folder: &Path) -> Vec<PathBuf> {
    let is_sample = |p: &PathBuf| !matches!(p.extension().and_then(|e| e.to_str()), None | Some("toml" | "expected"));
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
pub fn given(definition: &Definition, sample: &Path) -> String {
    let bindings = bindings(sample);
    let companions: Vec<Companion> = definition
        .beside(&bindings.file)
        .into_iter()
        .filter_map(|beside| {
            let bytes = fs::read(sample.with_file_name("beside").join(&beside.name)).ok()?;
            Some(Companion { name: beside.name.clone(), place: beside.name, bytes })
        })
        .collect();
    let bytes = bytes_of(sample);
    match import_with(definition, &mut bytes.as_slice(), &companions, &bindings, Limits::default()) {
        Ok(outcome) => {
            assert_eq!(outcome.tally.rows, outcome.tally.sum(), "{}: every row has one outcome", sample.display());
            describe(&outcome)
        }
        Err(error) => format!("refused: {error}\n"),
    }
}

/// Returns the bytes of a sample; a folder is packed.
pub fn bytes_of(sample: &Path) -> Vec<u8> {
    if sample.is_file() {
        return fs::read(sample).unwrap();
    }
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    pack(sample, "", &mut zip);
    zip.finish().unwrap().into_inner()
}

fn pack(folder: &Path, prefix: &str, zip: &mut zip::ZipWriter<Cursor<Vec<u8>>>) {
    for entry in entries(folder) {
        let name = format!("{prefix}{}", entry.file_name().unwrap().to_string_lossy());
        if entry.is_dir() {
            pack(&entry, &format!("{name}/"), zip);
        } else {
            zip.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
            zip.write_all(&fs::read(&entry).unwrap()).unwrap();
        }
    }
}
