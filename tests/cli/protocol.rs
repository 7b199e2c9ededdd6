use crate::common::{Bench, Run};
use crate::import::study;

/// Ten epochs of an invented reference, and what two invented rings make of them: ring-a misses the fifth and sixth.
const S1: &str = "WW222233RW";
const RING: &str = "WLLL..33RW";

/// A study with one night, its reference and a ring, and a protocol.
pub(crate) fn with(protocol: &str) -> Bench {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    append(&bench, protocol);
    import(&bench, "--scorer S1", S1).ends(0);
    import(&bench, "--device ring-a", RING).ends(0);
    bench
}

pub(crate) fn append(bench: &Bench, lines: &str) {
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}\n{lines}"));
}

pub(crate) fn import(bench: &Bench, whose: &str, letters: &str) -> Run {
    let word = |c| match c {
        '.' => "?\n".to_owned(),
        'L' => "N2\n".to_owned(),
        c if "123".contains(c) => format!("N{c}\n"),
        c => format!("{c}\n"),
    };
    let file = format!("{}.txt", whose.replace("--", "").replace(' ', "-"));
    bench.write(&file, letters.chars().map(word).collect::<String>());
    bench.line(&format!("--study s import {file} {whose} --night 2026-04-03 --start 22:30 --definition code-per-line"))
}

pub(crate) fn unwrapped(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn compare(bench: &Bench, words: &str) -> String {
    unwrapped(&bench.line(&format!("--study s compare {words}")).ends(0).stdout)
}

fn json(bench: &Bench, words: &str) -> serde_json::Value {
    bench.line(&format!("--study s compare --format json {words}")).ends(0).json()
}

fn log(bench: &Bench) -> String {
    std::fs::read_to_string(bench.path("s/decisions.jsonl")).unwrap()
}

#[test]
fn without_a_protocol_everything_is_exploratory_and_the_first_look_is_noted_once() {
    let bench = with("");
    assert_eq!(log(&bench).lines().count(), 2);
    let said = compare(&bench, "");
    assert!(said.contains("what was laid down beforehand: nothing"), "{said}");
    assert!(said.contains("No protocol was laid down in study.toml, so every number is exploratory"), "{said}");
    compare(&bench, "");
    bench.line("--study s report -o r.html").ends(0);
    let log = log(&bench);
    assert_eq!(log.lines().count(), 3);
    assert!(log.lines().last().unwrap().contains("\"looked\":{\"command\":\"compare\"}"), "{log}");
}

#[test]
fn a_protocol_is_followed_and_its_measure_is_predeclared_until_it_is_changed() {
    let bench = with("[protocol]\nprimary = \"accuracy\"\nscheme = \"sleep-wake\"\nmissing = \"wrong\"\n");
    assert!(log(&bench).lines().next().unwrap().contains("\"protocol\":{"), "the first import notes it");
    let answer = json(&bench, "");
    let standing = &answer["standing"];
    let primary = &standing["primary"][0];
    assert_eq!(answer["protocol"]["scheme"], "sleep-wake");
    // Seven of the ten epochs: one is wrong and two are missing.
    assert_eq!((primary["value"].as_f64(), &primary["predeclared"]), (Some(0.7), &true.into()));
    assert_eq!(primary["undefined"]["interval"], "n_too_small");
    assert_eq!(
        (&standing["laid_down"]["seen"][0]["looked"], &standing["departures"]),
        (&"before".into(), &serde_json::json!([]))
    );
    let text = standing["laid_down"]["text"].as_str().unwrap();
    assert!(text.contains("missing = wrong\nprimary = accuracy\nscheme = sleep-wake\n"), "{text}");
    let said = compare(&bench, "");
    assert!(said.contains("Primary measure: share of epochs that agree. Classes: wake and sleep."), "{said}");
    assert!(said.contains("before any comparison was made") && said.contains("Predeclared."), "{said}");
    let other = compare(&bench, "--scheme four --window scored 2026-04-03");
    let why = "Exploratory: other classes than laid down; another window than laid down; some of the nights only.";
    assert!(other.contains(why), "{other}");
    let toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", toml.replace("accuracy", "kappa"));
    let said = compare(&bench, "");
    assert!(said.contains("laid down or changed after results were seen (decision 5)"), "{said}");
    assert!(said.contains("It was noted 2 times; this is the last."), "{said}");
    bench.line("--study s report -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(html.contains("What was laid down beforehand") && html.contains("changed after results were seen"));
    let refused = bench.run(&["--study", "s", "--author", "me", "withdraw", "1", "--reason", "r"]).ends(2).stderr;
    assert!(refused.contains("a protocol is changed in study.toml"), "{refused}");
    bench.line("--study s verify --full").ends(0);
    let before = log(&bench);
    bench.line("--study s rebuild").ends(0);
    assert_eq!((log(&bench), compare(&bench, "")), (before, said));
}

#[test]
fn a_night_with_too_many_gaps_is_left_out_of_figures_over_nights_and_shown_with_them() {
    let bench = with("[protocol]\nprimary = \"kappa\"\nflag_unscored = 5\nexclude_unscored = 15\n");
    let said = compare(&bench, "");
    let why = "ring-a: 20.0 % of the window has no pair of stages, more than the 15 % of the protocol: left out of every figure over nights";
    assert!(said.contains(why), "{said}");
    let answer = json(&bench, "");
    assert_eq!(answer["standing"]["primary"][0]["ruled_out"], 1);
    assert_eq!(answer["devices"].as_array().unwrap().len(), 1, "{}", answer["devices"]);
    assert_eq!((&answer["devices"][0]["nights"], &answer["with_excluded"][0]["nights"]), (&0.into(), &1.into()));
    assert_eq!(answer["nights"][0]["devices"][0]["ruled"]["excluded"], true);
    bench.line("--study s report -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(html.contains("left out of every figure over nights") && html.contains("1 left out by a rule"));
}

#[test]
fn a_mistake_in_a_protocol_is_pointed_at() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    append(&bench, "[protocol]\nprimary = \"sensitivity deep\"\n");
    let said = bench.line("--study s nights").ends(2).stderr;
    assert!(said.contains("`sensitivity deep` is not a measure of a protocol; known are accuracy"), "{said}");
}

#[test]
fn a_study_that_can_only_be_read_says_that_the_look_was_not_noted() {
    let bench = with("");
    let lock = std::fs::File::options().write(true).open(bench.path("s/.lock")).unwrap();
    lock.lock().unwrap();
    let run = bench.line("--study s compare").ends(0);
    assert!(
        unwrapped(&run.stderr).contains("that results are looked at could not be noted in decisions.jsonl"),
        "{}",
        run.stderr
    );
    assert!(run.stdout.contains("what was laid down beforehand"));
}
