use crate::common::Bench;
use crate::import::{import, ring, study};

const GOOD: &[(&str, &str, &str)] = &[
    ("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:00+02:00", "awake"),
    ("2026-04-03T22:20:00+02:00", "2026-04-04T06:00:00+02:00", "shallow"),
];

/// A study with a ring's night in it.
fn bench() -> Bench {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(GOOD));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    bench
}

/// Text as it was before it was wrapped.
fn unwrapped(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Runs words in the study, decided by somebody.
fn decide(bench: &Bench, words: &[&str]) -> crate::common::Run {
    bench.run(&[&["--study", "s", "--author", "me"], words].concat())
}

fn show(bench: &Bench) -> String {
    bench.line("--study s show 2026-04-03").ends(0).stdout
}

#[test]
fn what_happened_is_noted_drawn_and_taken_back() {
    let bench = bench();
    let words = ["note", "2026-04-03", "out-of-bed", "--at", "02:10", "--until", "02:25", "--precision", "5min", "tea"];
    assert!(decide(&bench, &words).ends(0).stderr.contains("decision 2: noted out-of-bed at 02:10"));
    let shown = show(&bench);
    assert!(
        shown.contains("noted \u{2502}") && shown.contains("a  02:10 to 02:25 (within 300 s)  out of bed: tea"),
        "{shown}"
    );
    decide(&bench, &["withdraw", "2", "--reason", "another night"]).ends(0);
    assert!(!show(&bench).contains("tea"));
    let history = bench.line("--study s show 2026-04-03 --history").ends(0).stdout;
    assert!(unwrapped(&history).contains("noted out-of-bed at 2026-04-04 02:10 tea (taken back by 3)"), "{history}");
}

#[test]
fn what_cannot_be_decided_says_why_and_is_not_logged() {
    let bench = bench();
    let said = |words: &[&str]| decide(&bench, words).ends(2).stderr;
    let exclude = |more: &[&str]| said(&[&["exclude", "2026-04-03", "--looked", "before"], more].concat());
    assert!(exclude(&["--reason", " "]).contains("give the reason in words"));
    assert!(exclude(&["--reason", "r", "--source", "ring-z"]).contains("there is no unit, device or scorer `ring-z`"));
    assert!(exclude(&["--reason", "r", "--from", "03:00", "--until", "02:00"]).contains("ends before it begins"));
    assert!(exclude(&["--reason", "r", "--from", "noon", "--until", "02:00"]).contains("`noon` is not a time"));
    assert!(said(&["exclude", "2026-04-03", "--reason", "r"]).contains("--looked"));
    assert!(said(&["exclude", "2026-05-03", "--reason", "r", "--looked", "after"]).contains("there is no night"));
    assert!(said(&["note", "2026-04-03", "other", "--at", "02:00"]).contains("say what happened"));
    assert!(said(&["note", "2026-04-03", "alarm", "--at", "02:00", "--precision", "5"]).contains("not a length"));
    assert!(said(&["withdraw", "9", "--reason", "r"]).contains("there is no decision 9"));
    assert!(said(&["prefer", "P01/2026-04-03/ring-a-1#2", "--reason", "r"]).contains("no recording"));
    assert!(
        said(&["clock", "set", "2026-04-03", "ring-a", "--as-seen", "--reason", "r"]).contains("nothing was noted")
    );
    assert!(said(&["clock", "set", "2026-04-03", "ring-a", "--reason", "r"]).contains("say how"));
    let backwards = ["--point", "22:00=23:00", "--point", "23:00=22:30"];
    let backwards = [&["clock", "set", "2026-04-03", "ring-a", "--reason", "r"], &backwards[..]].concat();
    assert!(said(&backwards).contains("would run backwards"));
    let nobody = bench.line("--study s withdraw 1 --reason slip").ends(2).stderr;
    assert!(nobody.contains("say who decides"), "{nobody}");
    assert_eq!(std::fs::read_to_string(bench.path("s/decisions.jsonl")).unwrap().lines().count(), 1);
}

#[test]
fn a_clock_that_was_seen_is_corrected_only_when_asked_and_its_picture_is_kept() {
    let bench = bench();
    bench.write("phone.png", b"an invented picture");
    let words =
        ["clock", "add", "2026-04-03", "ring-a", "--shown", "22:03:10", "--true", "22:00:05", "--picture", "phone.png"];
    assert!(decide(&bench, &words).ends(0).stderr.contains("needed -3 min 5 s."));
    assert!(!show(&bench).contains("corrected"));
    decide(&bench, &["clock", "set", "2026-04-03", "ring-a", "--as-seen", "--reason", "phone late"]).ends(0);
    assert!(show(&bench).contains("clock of ring-a-1 corrected by -185 s: phone late"));
    let listed = bench.line("--study s clock list --format json").ends(0).json();
    assert_eq!(listed["readings"][0]["shift_ms"], -185_000);
    let picture = listed["readings"][0]["picture"].as_str().unwrap().to_owned();
    assert!(bench.path("s/originals").join(&picture[..2]).join(&picture).is_file());
    assert_eq!(listed["settings"][0]["points"][0][1], -185_000);
    let said = bench.line("--study s rebuild").ends(0).stderr;
    assert!(said.contains("the same as before"), "{said}");
    std::fs::remove_file(bench.path("s/study.db")).unwrap();
    let said = bench.line("--study s rebuild").ends(0).stderr.replace('\n', " ");
    assert!(said.contains("there was none before, so there is nothing to compare it with"), "{said}");
}

#[test]
fn an_export_of_later_counts_when_it_is_preferred_and_the_history_tells_the_difference() {
    let bench = bench();
    bench.write(
        "later.json",
        ring(&[
            ("2026-04-03T22:00:00+02:00", "2026-04-03T22:50:00+02:00", "awake"),
            ("2026-04-03T22:50:00+02:00", "2026-04-04T06:00:00+02:00", "shallow"),
        ]),
    );
    import(&bench, "later.json --unit ring-a-1").ends(0);
    let counts = |bench: &Bench| {
        let shown = bench.line("--study s show 2026-04-03 --history --format json").ends(0).json();
        let rows = shown["history"]["recordings"].as_array().unwrap().clone();
        rows.iter().map(|r| r["counts"].as_bool().unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(counts(&bench), [true, false]);
    decide(&bench, &["prefer", "P01/2026-04-03/ring-a-1#2", "--reason", "protocol"]).ends(0);
    assert_eq!(counts(&bench), [false, true]);
    let history = bench.line("--study s show 2026-04-03 --history").ends(0).stdout;
    assert!(history.contains("Light -30.0, W +30.0"), "{history}");
    decide(&bench, &["withdraw", "2", "--reason", "a test export"]).ends(0);
    assert_eq!(counts(&bench), [true, false]);
    // What was withdrawn can be imported again, and the originals of both are still there.
    import(&bench, "later.json --unit ring-a-1").ends(0);
    assert_eq!(counts(&bench), [true, false, false]);
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
}

#[test]
fn the_report_says_which_of_several_exports_counts_and_what_differs() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let study = |words: &[&str]| bench.run(&[&["--study", "d/study", "--author", "me"], words].concat());
    let report = || {
        study(&["report", "-o", "r.html"]).ends(0);
        std::fs::read_to_string(bench.path("r.html")).unwrap()
    };
    assert!(!report().contains("Several exports of one night"));
    let first = std::fs::read_to_string(bench.path("d/raw/patch-z/P01_2026-04-04.jsonl")).unwrap();
    let mut lines: Vec<&str> = first.lines().collect();
    lines.remove(2);
    lines.remove(2);
    bench.write("again.jsonl", lines.join("\n"));
    study(&["import", "again.jsonl", "--unit", "patch-z-1"]).ends(0);
    let html = report();
    for words in
        ["patch-z-1#2<small>P01/2026-04-04", "counts<small>because it came first", "against the one that counts: Wake "]
    {
        assert!(html.contains(words), "the report says `{words}`");
    }
    study(&["prefer", "P01/2026-04-04/patch-z-1#2", "--reason", "protocol, section 2"]).ends(0);
    let html = report();
    assert!(html.contains(": protocol, section 2</small><small>me, ") && !html.contains("because it came first"));
    let other = ["report", "--device", "ring-a", "-o", "ring.html"];
    study(&other).ends(0);
    assert!(!std::fs::read_to_string(bench.path("ring.html")).unwrap().contains("Several exports of one night"));
}

#[test]
fn what_is_owed_is_listed_until_it_is_there_or_left_out() {
    let bench = bench();
    let owed = |bench: &Bench| {
        let answer = bench.line("--study s nights --missing --format json").ends(0).json();
        let rows = answer["sources"].as_array().unwrap().clone();
        let told = |r: &serde_json::Value| format!("{} {}", r["source"].as_str().unwrap(), r["owed"].as_str().unwrap());
        rows.iter().map(told).collect::<Vec<_>>()
    };
    let before = owed(&bench);
    assert!(
        before.iter().any(|o| o.ends_with("an export")) && !before.iter().any(|o| o.starts_with("ring-a-1 ")),
        "{before:?}"
    );
    decide(&bench, &["exclude", "2026-04-03", "--looked", "before", "--reason", "the recorder was off"]).ends(0);
    assert_eq!(owed(&bench).len() + before.len(), before.len(), "{:?}", owed(&bench));
    let text = bench.line("--study s nights --each").ends(0).stdout;
    assert!(text.contains("excluded"), "{text}");
}

#[test]
fn a_comparison_and_its_report_show_what_was_left_out_and_corrected_both_ways() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let study = |words: &[&str]| bench.run(&[&["--study", "d/study", "--author", "me"], words].concat());
    let night = "P01/2026-04-04";
    study(&[
        "exclude",
        night,
        "--source",
        "ring-a",
        "--from",
        "02:10",
        "--until",
        "03:00",
        "--looked",
        "before",
        "--reason",
        "fell <off>",
    ])
    .ends(0);
    study(&["exclude", night, "--source", "band-a", "--looked", "after", "--reason", "loose strap"]).ends(0);
    study(&["clock", "set", night, "patch-a", "--shift", "3min", "--reason", "the phone was late"]).ends(0);
    let answer = study(&["compare", night, "--format", "json"]).ends(0).json();
    let device =
        |of: &serde_json::Value, name: &str| of.as_array().unwrap().iter().find(|d| d["name"] == name).cloned();
    let devices = &answer["nights"][0]["devices"];
    assert!(device(devices, "band-a").is_none());
    assert_eq!(answer["nights"][0]["left_out"][0]["exclusion"]["looked"], "after");
    let (ring, whole) = (device(devices, "ring-a").unwrap(), device(&answer["with_excluded"], "ring-a").unwrap());
    // 50 minutes are 100 epochs.
    assert_eq!(ring["agreement"]["n"].as_u64().unwrap() + 100, whole["pooled"]["n"].as_u64().unwrap());
    assert!(device(&answer["with_excluded"], "band-a").is_some());
    let patch = device(devices, "patch-a").unwrap();
    let accuracy = |d: &serde_json::Value| d["agreement"]["accuracy"].as_f64().unwrap();
    assert!(accuracy(&patch) > accuracy(&patch["as_exported"]) + 0.1, "{patch}");
    assert_eq!(patch["clock"]["points"][0]["shift_ms"], 180_000);
    let text = unwrapped(&study(&["compare", night]).ends(0).stdout);
    assert!(text.contains("ring-a-1: left out from 02:10 to 03:00 by decision"), "{text}");
    assert!(text.contains("the same with what was left out on purpose"), "{text}");
    study(&["report", "-o", "r.html"]).ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(html.contains("fell &#60;off&#62;") || html.contains("fell &lt;off&gt;"));
    assert!(html.contains("loose strap") && html.contains("after looking<small>") && html.contains("with it "));
    assert!(html.contains("1 of 3 after looking at results"));
    study(&["report", "--with-excluded", "-o", "all.html"]).ends(0);
    let all = std::fs::read_to_string(bench.path("all.html")).unwrap();
    assert!(all.contains("loose strap") && all.contains("asked to count all of it nevertheless"));
    // What is left out of another device is no matter of this one.
    study(&["report", "--device", "patch-a", "-o", "patch.html"]).ends(0);
    assert!(!std::fs::read_to_string(bench.path("patch.html")).unwrap().contains("loose strap"));
    let alone = unwrapped(&study(&["compare", night, "--device", "patch-a"]).ends(0).stdout);
    assert!(!alone.contains("was left out on purpose"), "{alone}");
    let idle = ["exclude", night, "--source", "patch-a", "--from", "20:00", "--until", "20:10"];
    study(&[&idle[..], &["--looked", "before", "--reason", "before bed"]].concat()).ends(0);
    let same = unwrapped(&study(&["compare", night, "--device", "patch-a"]).ends(0).stdout);
    assert!(same.contains("What was left out on purpose changes no number over all nights."), "{same}");
    assert!(!same.contains("the same with what was left out"), "{same}");
    assert!(html.contains("its clock is corrected by +3:00 min") && html.contains("on its own clock: n "));
    let everything = study(&["compare", night, "--with-excluded", "--format", "json"]).ends(0).json();
    assert!(device(&everything["nights"][0]["devices"], "band-a").is_some() && everything["with_excluded"].is_null());
}
