//! Second opinions: Python's zoneinfo on time zones, scikit-learn and statsmodels on agreement.
//!
//! Each test prints the seed of its random problems.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

#[path = "../common/mod.rs"]
mod common;
mod reliability;
mod scorers;
mod statistics;

use common::{Bench, absent, passed_over, root};
use counterpane_model::{Fold, Instant, Zone};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;
use serde_json::Value;
use std::fmt::Write as _;
use std::io::{Seek as _, Write as _};
use std::process::{Command, Stdio};

/// Returns a Python that has the modules, or says that there is none.
fn python(modules: &str) -> Option<String> {
    let python = std::env::var("COUNTERPANE_PYTHON").unwrap_or_else(|_| "python3".into());
    let found = Command::new(&python).args(["-c", &format!("import {modules}")]).stderr(Stdio::null()).status();
    if found.is_ok_and(|s| s.success()) {
        return Some(python);
    }
    absent(
        "python",
        &format!(
            "a Python with {modules}: pip install -r tests/python/requirements.txt, and COUNTERPANE_PYTHON names it"
        ),
    );
    None
}

#[test]
fn every_test_here_is_passed_over_without_python_and_fails_where_it_is_required() {
    passed_over("python", &["--skip", "every_test_here"]);
}

/// Runs a script with a text on its stdin. The text goes through a file: a pipe that both sides fill
/// would wait for ever.
fn ask(python: &str, script: &str, args: &[&str], input: &str) -> String {
    let mut file = tempfile::tempfile().unwrap();
    file.write_all(input.as_bytes()).unwrap();
    file.rewind().unwrap();
    let output = Command::new(python)
        .arg(root().join("tests/python").join(script))
        .args(args)
        .stdin(Stdio::from(file))
        .stderr(Stdio::inherit())
        .output()
        .unwrap();
    assert!(output.status.success(), "{script} failed");
    String::from_utf8(output.stdout).unwrap()
}

/// Asks a script for its numbers of each problem, a line of JSON each, and holds ours against them, name by name.
fn same_numbers(python: &str, script: &str, problems: &[(Value, Vec<(String, f64)>)]) {
    let input: String = problems.iter().map(|(problem, _)| format!("{problem}\n")).collect();
    let said = ask(python, script, &[], &input);
    assert_eq!(said.lines().count(), problems.len());
    let mut compared = 0;
    for (at, ((problem, ours), theirs)) in problems.iter().zip(said.lines()).enumerate() {
        let theirs: Value = serde_json::from_str(theirs).unwrap();
        assert_eq!(theirs.as_object().unwrap().len(), ours.len(), "problem {at}");
        for (name, a) in ours {
            let b = theirs[name].as_f64().unwrap_or_else(|| panic!("problem {at}: theirs has no `{name}`"));
            assert!((a - b).abs() <= 1e-8 * b.abs().max(1e-3), "problem {at}: {name}: ours {a}, theirs {b}: {problem}");
            compared += 1;
        }
    }
    println!("{} problems, {compared} numbers", problems.len());
}

/// A seed that differs from run to run, and is printed.
fn seed(what: &str) -> u64 {
    let seed = match std::env::var("COUNTERPANE_SEED") {
        Ok(seed) => seed.parse().unwrap(),
        Err(_) => u64::from(std::process::id()) * 7919 + 17,
    };
    println!("{what}: COUNTERPANE_SEED={seed}");
    seed
}

/// Zones whose clocks did something that a night can meet: half hours, quarter hours, whole days,
/// changes at midnight, changes of rules.
const ZONES: &[&str] = &[
    "Africa/Cairo",
    "Africa/Casablanca",
    "America/Asuncion",
    "America/Caracas",
    "America/Havana",
    "America/Los_Angeles",
    "America/New_York",
    "America/Santiago",
    "America/Sao_Paulo",
    "America/St_Johns",
    "America/Vancouver",
    "Antarctica/Troll",
    "Asia/Amman",
    "Asia/Beirut",
    "Asia/Gaza",
    "Asia/Kathmandu",
    "Asia/Pyongyang",
    "Asia/Tehran",
    "Atlantic/Azores",
    "Australia/Adelaide",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Europe/Berlin",
    "Europe/Chisinau",
    "Europe/Dublin",
    "Europe/Istanbul",
    "Europe/London",
    "Europe/Moscow",
    "Pacific/Apia",
    "Pacific/Auckland",
    "Pacific/Chatham",
    "Pacific/Easter",
    "Pacific/Fiji",
];

#[test]
fn five_hundred_transitions_agree_with_zoneinfo() {
    let Some(python) = python("zoneinfo, tzdata") else { return };
    // From 1990 to 2040: each change of offset of each zone, and local times around it.
    let (from, until) = (Instant(631_152_000_000), Instant(2_208_988_800_000));
    let mut lines = String::new();
    let mut answers = Vec::new();
    let mut transitions = 0;
    for name in ZONES {
        let zone = Zone::named(name).unwrap();
        let stretches = zone.stretches(from, until);
        for pair in stretches.windows(2).filter(|p| p[0].offset_seconds != p[1].offset_seconds) {
            transitions += 1;
            for minutes in [-180, -61, -31, -16, -1, 0, 1, 15, 29, 31, 59, 61, 180] {
                let at = Instant(pair[0].until.0 + minutes * 60_000);
                let wall = Instant(at.0 + i64::from(pair[0].offset_seconds) * 1000);
                let text = wall.utc_text().trim_end_matches('Z').to_owned();
                let wall = text.parse().unwrap();
                let both = [Fold::First, Fold::Second].map(|fold| zone.instant_of(wall, fold).ok().map(|t| t.0));
                writeln!(lines, "{name} {text}").unwrap();
                answers.push(match both {
                    [Some(first), Some(second)] if first == second => format!("{first}"),
                    [Some(first), Some(second)] => format!("{first} {second}"),
                    _ => "never".into(),
                });
            }
        }
    }
    assert!(transitions >= 500, "only {transitions} transitions were asked");
    let said = ask(&python, "zone_oracle.py", &[], &lines);
    let mut asked = 0;
    for ((line, ours), theirs) in lines.lines().zip(&answers).zip(said.lines()) {
        assert_eq!(ours, theirs, "{line}: ours on the left, zoneinfo's on the right");
        asked += 1;
    }
    assert_eq!(asked, answers.len());
    println!("{transitions} transitions, {asked} wall times, tzdata of Python and of this program agree");
}

fn labels(rng: &mut Pcg32, n: usize, classes: &[&str], used: usize, bouts: bool) -> Vec<String> {
    let mut out = Vec::with_capacity(n);
    let mut current = 0;
    for _ in 0..n {
        if !bouts || rng.next_u32().is_multiple_of(8) {
            current = rng.next_u32() as usize % used;
        }
        let unscored = rng.next_u32().is_multiple_of(20);
        out.push(if unscored { "?".to_owned() } else { classes[current].to_owned() });
    }
    out
}

#[test]
fn agree_gives_what_scikit_learn_and_statsmodels_give() {
    let Some(python) = python("sklearn, statsmodels") else { return };
    let seed = seed("agree against scikit-learn");
    let mut rng = Pcg32::new(seed, 11);
    let bench = Bench::new();
    let schemes: [(&str, &[&str]); 4] = [
        ("sleep-wake", &["W", "Asleep"]),
        ("three", &["W", "NREM", "R"]),
        ("four", &["W", "Light", "N3", "R"]),
        ("five", &["W", "N1", "N2", "N3", "R"]),
    ];
    let mut problems = Vec::new();
    for i in 0..120_usize {
        let (scheme, classes) = schemes[i % 4];
        let n = 1 + rng.next_u32() as usize % 1200;
        let mut side = |extra: u32| {
            let used = if rng.next_u32().is_multiple_of(6) { 1 } else { classes.len() };
            labels(&mut rng, n, classes, used, (i as u32 + extra).is_multiple_of(2))
        };
        let (reference, mut device) = (side(0), side(1));
        if i % 3 == 0 {
            // Mostly the same, as a good device would be.
            for (d, r) in device.iter_mut().zip(&reference) {
                if !rng.next_u32().is_multiple_of(4) {
                    d.clone_from(r);
                }
            }
        }
        let line_end = if i % 2 == 0 { "\n" } else { "\r\n" };
        let write = |side: &str, labels: &[String]| {
            bench.write(&format!("{side}{i}.txt"), labels.join(line_end)).to_string_lossy().into_owned()
        };
        problems.push((scheme, classes.join(","), write("ref", &reference), write("dev", &device)));
    }
    let input: String = problems.iter().map(|(_, classes, r, d)| format!("{r}\t{d}\t{classes}\n")).collect();
    let said = ask(&python, "agree_oracle.py", &["--batch"], &input);
    let mut compared = 0;
    for ((scheme, _, reference, device), theirs) in problems.iter().zip(said.lines()) {
        let theirs: Value = serde_json::from_str(theirs).unwrap();
        let ours = bench.run(&["agree", reference, device, "--scheme", scheme, "--format", "json"]).ends(0).json();
        compared += same(&ours, &theirs, "");
    }
    assert_eq!(said.lines().count(), problems.len());
    assert!(compared > 120 * 15, "only {compared} numbers were compared");
    println!("{} problems, {compared} numbers", problems.len());
}

/// Compares every number that the second opinion gives; returns how many there were.
fn same(ours: &Value, theirs: &Value, path: &str) -> usize {
    match theirs {
        Value::Object(map) => {
            map.iter().map(|(key, value)| same(&ours[key.as_str()], value, &format!("{path}.{key}"))).sum()
        }
        Value::Array(list) => {
            assert_eq!(ours.as_array().map(Vec::len), Some(list.len()), "{path}");
            list.iter().enumerate().map(|(i, value)| same(&ours[i], value, &format!("{path}[{i}]"))).sum()
        }
        Value::Number(number) => {
            let (a, b) = (ours.as_f64(), number.as_f64().unwrap());
            let a = a.unwrap_or_else(|| panic!("{path}: ours is {ours}, theirs {b}"));
            assert!((a - b).abs() <= 1e-12 * b.abs().max(1.0), "{path}: ours {a}, theirs {b}");
            1
        }
        Value::Null => {
            assert!(ours.is_null(), "{path}: ours is {ours}, theirs undefined");
            1
        }
        other => {
            assert_eq!(ours, other, "{path}");
            0
        }
    }
}
