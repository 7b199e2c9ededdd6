//! One night of a laboratory: annotations of EDF+, and one digit a line.

use crate::common::Bench;
use crate::data::Data;
use crate::load::{File, load};
use crate::study::{counts, epochs, epochs_of, study};
use std::collections::BTreeMap;

const ONE_NIGHT: &str = "[[participant]]\ncode = \"P01\"\n[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\n";

/// One night and day of PhysioNet's Sleep-EDF Expanded, older rules: W 1997, S1 58, S2 250, S3 101,
/// S4 119, R 125, `?` 230 epochs; it starts 1989-04-24 16:13:00 local.
#[test]
fn a_hypnogram_of_the_older_rules_has_the_published_epochs() {
    let Some(data) = Data::find() else { return };
    let bench = Bench::new();
    study(&bench, ONE_NIGHT);
    let file = data.file("sleep-edf/SC4001EC-Hypnogram.edf");
    let words = ["--study", "study", "import", &file, "--scorer", "S1", "--definition", "edf-stages", "--new-nights"];
    let run = bench.run(&words);
    assert!(run.code < 2, "{}{}", run.stdout, run.stderr);
    let expected = counts(&[("N1", 58), ("N2", 250), ("N3", 101 + 119), ("R", 125), ("W", 1997), ("unscored", 230)]);
    assert_eq!(epochs(&bench), expected);
    let first = "SELECT min(local_start) FROM epoch_local";
    let run = bench.run(&["--study", "study", "query", first, "--format", "csv"]).ends(0);
    assert!(run.stdout.contains("1989-04-24 16:13:00"), "{}", run.stdout);
}

/// One night of PhysioNet's HMC, newer rules: W 151, N1 109, N2 430, N3 23, R 141 epochs; it starts
/// 2001-01-01 23:59:30 local and has `Lights off@@…`.
#[test]
fn a_hypnogram_of_the_newer_rules_has_the_published_epochs() {
    let Some(data) = Data::find() else { return };
    let bench = Bench::new();
    study(&bench, ONE_NIGHT);
    let file = data.file("hmc/test_edfann.edf");
    let words = ["--study", "study", "import", &file, "--scorer", "S1", "--definition", "edf-stages", "--new-nights"];
    bench.run(&words).ends(0);
    let expected = counts(&[("N1", 109), ("N2", 430), ("N3", 23), ("R", 141), ("W", 151)]);
    assert_eq!(epochs(&bench), expected);
    let notes = "SELECT count(*) FROM note WHERE kind = 'lights-off'";
    let run = bench.run(&["--study", "study", "query", notes, "--format", "csv"]).ends(0);
    assert_eq!(run.stdout, "count(*)\n1\n");
}

/// PhysioNet's UCD sleep apnea database: one digit a line, one line an epoch of 30 s. What the digits mean stands in the
/// definition; how often each stands in a file is counted here, line by line. The folder holds no record of when a
/// recording began, so the starts are invented: they move the epochs and change none.
#[test]
fn digits_of_a_laboratory_are_the_epochs_that_the_lines_say() {
    let Some(data) = Data::find() else { return };
    let names = data.names("ucddb/", "_stage.txt");
    assert!(!names.is_empty(), "the folder `ucddb` holds no file that ends in `_stage.txt`");
    let bench = Bench::new();
    let scorer = "[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\ndefinition = \"lab-digits\"\n";
    let person = |name: &str| name.trim_start_matches("ucddb/").trim_end_matches("_stage.txt").to_owned();
    let people: String = names.iter().map(|n| format!("[[participant]]\ncode = \"{}\"\n", person(n))).collect();
    study(&bench, &format!("{scorer}{people}"));
    let file = |name: &String| File {
        path: data.file(name),
        source: ("scorer", "S1"),
        participant: person(name),
        night: "2001-01-01".into(),
        start: "2001-01-01 23:17:30".into(),
    };
    load(&bench, &names.iter().map(file).collect::<Vec<_>>());
    for name in &names {
        let text = std::fs::read_to_string(data.file(name)).unwrap();
        let mut expected = BTreeMap::new();
        for digit in text.lines().map(str::trim).filter(|l| !l.is_empty()) {
            let stage = ["W", "R", "N1", "N2", "N3", "N3"][digit.parse::<usize>().unwrap()];
            *expected.entry(stage.to_owned()).or_default() += 1;
        }
        assert_eq!(epochs_of(&bench, &person(name)), expected, "{name}");
    }
}
