//! Real, open recordings, by the ordinary commands: `COUNTERPANE_OPEN_DATA` names the folder.
//!
//! None of the files is part of this project; docs/testing.md says where they come from.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

#[path = "../common/mod.rs"]
mod common;

use common::{Bench, absent, root};
use serde_json::Value;
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The folder of open recordings, and the hashes that its list gives.
struct Data {
    root: PathBuf,
    sums: BTreeMap<String, String>,
}

impl Data {
    fn find() -> Option<Data> {
        let how = "docs/testing.md says where the open recordings come from; COUNTERPANE_OPEN_DATA names their folder";
        let Some(root) = std::env::var_os("COUNTERPANE_OPEN_DATA").map(PathBuf::from).filter(|p| p.is_dir()) else {
            absent("open-data", how);
            return None;
        };
        let list = std::fs::read_to_string(root.join("SHA256SUMS")).unwrap();
        let sum = |line: &str| {
            let (sum, name) = line.split_once("  ").unwrap();
            (name.trim_start_matches("./").to_owned(), sum.to_owned())
        };
        Some(Data { sums: list.lines().map(sum).collect(), root })
    }

    /// Returns the path of a file whose bytes are what the list says.
    fn file(&self, name: &str) -> String {
        let path = self.root.join(name);
        let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{name}: {e}"));
        let sum: String = Sha256::digest(&bytes).iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(Some(&sum), self.sums.get(name), "{name} is not the file that the list speaks of");
        path.to_string_lossy().into_owned()
    }

    /// Returns the names of the list that begin and end so, in order.
    fn names(&self, begins: &str, ends: &str) -> Vec<String> {
        self.sums.keys().filter(|n| n.starts_with(begins) && n.ends_with(ends)).cloned().collect()
    }
}

/// Makes a study in UTC whose own importers are those of this folder.
fn study(bench: &Bench, declarations: &str) {
    bench.line("new study --zone UTC").ends(0);
    let toml = bench.path("study/study.toml");
    let text = std::fs::read_to_string(&toml).unwrap();
    std::fs::write(&toml, format!("{text}\n{declarations}")).unwrap();
    copy(&root().join("tests/open_data/importers"), &bench.path("study/importers"));
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(&path, &target).unwrap();
        }
    }
}

/// Epochs of 30 s in each mark, from the store's own view.
fn epochs(bench: &Bench) -> BTreeMap<String, u64> {
    let sql = "SELECT stage, count(*) FROM epoch_local GROUP BY stage";
    let answer = bench.run(&["--study", "study", "query", sql, "--format", "json"]).ends(0).json();
    let row = |r: &Value| (r[0].as_str().unwrap().to_owned(), r[1].as_u64().unwrap());
    answer["rows"].as_array().unwrap().iter().map(row).collect()
}

fn counts(pairs: &[(&str, u64)]) -> BTreeMap<String, u64> {
    pairs.iter().map(|(k, v)| ((*k).to_owned(), *v)).collect()
}

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

/// What scikit-learn gives for a night: n, agreement, kappa.
type Expected = BTreeMap<(String, String), (u64, f64, f64)>;

fn expected(set: &str) -> Expected {
    let text = include_str!("expected.tsv");
    let fields = text.lines().filter(|l| l.starts_with(set)).map(|l| l.split('\t').collect::<Vec<_>>());
    fields
        .map(|f| {
            ((f[1].to_owned(), f[2].to_owned()), (f[3].parse().unwrap(), f[4].parse().unwrap(), f[5].parse().unwrap()))
        })
        .collect()
}

/// Compares each night and device of a comparison with what is expected of it.
fn check_nights(
    answer: &Value,
    expected: &Expected,
    night_of: impl Fn(&Value) -> String,
    columns: &BTreeMap<&str, &str>,
) {
    let mut seen = 0;
    for night in answer["nights"].as_array().unwrap() {
        for device in night["devices"].as_array().unwrap() {
            let name = columns[device["name"].as_str().unwrap()];
            let key = (night_of(night), name.to_owned());
            let (n, agree, kappa) = expected.get(&key).unwrap_or_else(|| panic!("{key:?} is not expected"));
            let a = &device["agreement"];
            assert_eq!(a["n"].as_u64(), Some(*n), "{key:?}");
            near(&a["accuracy"], *agree, 6e-7, &key);
            near(&a["kappa"], *kappa, 6e-7, &key);
            seen += 1;
        }
    }
    assert_eq!(seen, expected.len(), "every night and device is compared");
}

fn near(ours: &Value, theirs: f64, tolerance: f64, what: &dyn std::fmt::Debug) {
    let ours = ours.as_f64().unwrap_or_else(|| panic!("{what:?}: ours is {ours}"));
    assert!((ours - theirs).abs() < tolerance, "{what:?}: ours {ours}, expected {theirs}");
}

fn pooled<'a>(answer: &'a Value, device: &str) -> &'a Value {
    let devices = answer["devices"].as_array().unwrap();
    &devices.iter().find(|d| d["name"] == device).unwrap()["pooled"]
}

/// OpenNeuro ds005185: 40 nights, each scored by two people. The 38 whose scorings start together.
#[test]
fn two_scorers_of_thirty_eight_nights_agree_as_published() {
    let Some(data) = Data::find() else { return };
    let expected = expected("ds005185");
    assert_eq!(expected.len(), 38);
    let bench = Bench::new();
    let mut toml = String::from(
        "[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\ndefinition = \"two-scorers-first\"\n[[device]]\nname = \"second-scorer\"\ndefinition = \"two-scorers-second\"\n[[unit]]\nname = \"second-scorer-1\"\ndevice = \"second-scorer\"\n",
    );
    let mut people: Vec<&str> = expected.keys().map(|(night, _)| night.split_once('_').unwrap().0).collect();
    people.dedup();
    for person in &people {
        writeln!(toml, "[[participant]]\ncode = \"{person}\"").unwrap();
    }
    study(&bench, &toml);
    for (night, _) in expected.keys() {
        let (person, session) = night.split_once('_').unwrap();
        // The files hold no date; one day a session keeps the nights apart.
        let day: u32 = session.trim_start_matches("ses-").parse().unwrap();
        let (label, start) = (format!("2001-01-{day:02}"), format!("2001-01-{day:02} 22:00"));
        let folder = format!("ds005185/{person}/{session}/eeg/{person}_{session}_task-sleep_acq-");
        for (source, name) in [("--scorer=S1", "scoring1"), ("--device=second-scorer", "scoring2")] {
            let file = data.file(&format!("{folder}{name}_events.tsv"));
            bench
                .run(&[
                    "--study",
                    "study",
                    "import",
                    &file,
                    source,
                    "--participant",
                    person,
                    "--night",
                    &label,
                    "--start",
                    &start,
                    "--new-nights",
                ])
                .ends(0);
        }
    }
    let words = ["--study", "study", "compare", "--window", "scored", "--scheme", "five", "--format", "json"];
    let answer = bench.run(&words).ends(0).json();
    let night_of = |n: &Value| {
        let day = n["night"].as_str().unwrap().rsplit_once('-').unwrap().1;
        format!("{}_ses-0{day}", n["participant"].as_str().unwrap())
    };
    check_nights(&answer, &expected, night_of, &BTreeMap::from([("second-scorer", "scorer 2")]));
    let all = pooled(&answer, "second-scorer");
    assert_eq!(all["n"].as_u64(), Some(36_434));
    near(&all["accuracy"], 0.878_300_488_554_646_7, 1e-12, &"pooled");
    near(&all["kappa"], 0.832_450_998_312_693_3, 1e-12, &"pooled");
    println!("38 nights, n 36434, agreement 0.87830, kappa 0.83245: as scikit-learn gives them");
}

/// OpenNeuro ds005555: 128 nights, a human scoring and two algorithms. The data set's own notes print
/// 87.08 % and 86.64 % agreement.
#[test]
fn two_algorithms_on_a_hundred_and_twenty_eight_nights_agree_as_published() {
    let Some(data) = Data::find() else { return };
    let expected = expected("ds005555");
    assert_eq!(expected.len(), 256);
    let bench = Bench::new();
    let mut toml = String::from("[[scorer]]\ncode = \"H\"\nscored_by = \"human\"\ndefinition = \"lab-human\"\n");
    for device in ["lab-algorithm", "headband-algorithm"] {
        write!(toml, "[[device]]\nname = \"{device}\"\ndefinition = \"{device}\"\n[[unit]]\nname = \"{device}-1\"\ndevice = \"{device}\"\n").unwrap();
    }
    let psg = data.names("ds005555/", "_acq-psg_events.tsv");
    assert_eq!(psg.len(), 128);
    for name in &psg {
        writeln!(toml, "[[participant]]\ncode = \"{}\"", name.split('/').nth(1).unwrap()).unwrap();
    }
    study(&bench, &toml);
    for name in &psg {
        let person = name.split('/').nth(1).unwrap();
        let band = name.replace("acq-psg", "acq-headband");
        for (source, name) in
            [("--scorer=H", name), ("--device=lab-algorithm", name), ("--device=headband-algorithm", &band)]
        {
            let file = data.file(name);
            bench
                .run(&[
                    "--study",
                    "study",
                    "import",
                    &file,
                    source,
                    "--participant",
                    person,
                    "--night",
                    "2001-01-01",
                    "--start",
                    "2001-01-01 22:00",
                    "--new-nights",
                ])
                .ends(0);
        }
    }
    let words = ["--study", "study", "compare", "--window", "scored", "--scheme", "five", "--format", "json"];
    let answer = bench.run(&words).ends(0).json();
    let columns = BTreeMap::from([
        ("lab-algorithm", "algorithm on the polysomnogram"),
        ("headband-algorithm", "algorithm of the headband"),
    ]);
    check_nights(&answer, &expected, |n| n["participant"].as_str().unwrap().to_owned(), &columns);
    for (device, n, accuracy, kappa, printed) in [
        ("lab-algorithm", 119_389, 0.870_750_236_621_464_3, 0.778_163_807_239_783_2, 0.8708),
        ("headband-algorithm", 114_890, 0.866_646_357_385_325_1, 0.767_783_839_187_665_5, 0.8664),
    ] {
        let all = pooled(&answer, device);
        assert_eq!(all["n"].as_u64(), Some(n), "{device}");
        near(&all["accuracy"], accuracy, 1e-12, &device);
        near(&all["kappa"], kappa, 1e-12, &device);
        // The notes print two decimals of per cent; the second one is 0.03 off what its files give.
        near(&all["accuracy"], printed, 5e-4, &device);
    }
}
