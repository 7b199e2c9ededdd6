use crate::common::{Bench, Run, root};

pub(crate) const DECLARATIONS: &str = "
[[participant]]
code = \"P01\"
[[scorer]]
code = \"S1\"
scored_by = \"human\"
definition = \"edf-stages\"
[[device]]
name = \"ring-a\"
definition = \"ring-a\"
[[unit]]
name = \"ring-a-1\"
device = \"ring-a\"
[[device]]
name = \"band-a\"
definition = \"typed-table\"
[[unit]]
name = \"band-a-1\"
device = \"band-a\"
[[night]]
participant = \"P01\"
label = \"2026-04-03\"
";

/// A study `s` in a zone, with a participant, two devices, a scorer and one night.
pub(crate) fn study(bench: &Bench, zone: &str) {
    bench.line(&format!("new s --zone {zone}")).ends(0);
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}{DECLARATIONS}"));
}

pub(crate) fn import(bench: &Bench, words: &str) -> Run {
    bench.line(&format!("--study s import {words}"))
}

/// An export of ring-a with pieces given as `FROM TO DEPTH`, of the evening 2026-04-03.
pub(crate) fn ring(pieces: &[(&str, &str, &str)]) -> String {
    let piece = |(from, to, depth): &(&str, &str, &str)| serde_json::json!({"from": from, "to": to, "depth": depth});
    let pieces: Vec<_> = pieces.iter().map(piece).collect();
    serde_json::json!({"made_by": "ring-a (invented)", "account": "P01", "sleeps": [{"evening": "2026-04-03", "pieces": pieces}]}).to_string()
}

const GOOD: &[(&str, &str, &str)] = &[
    ("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:00+02:00", "awake"),
    ("2026-04-03T22:20:00+02:00", "2026-04-04T06:00:00+02:00", "shallow"),
];

fn rows(bench: &Bench, sql: &str) -> String {
    bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout
}

#[test]
fn the_same_file_twice_changes_nothing() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(GOOD));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    let before = rows(&bench, "SELECT * FROM span");
    let again = import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert!(again.stderr.contains("imported before in the same way (2026-04-03); nothing to do"), "{}", again.stderr);
    // Under another name it is the same original.
    std::fs::copy(bench.path("ring.json"), bench.path("copy.json")).unwrap();
    import(&bench, "copy.json --unit ring-a-1").ends(0);
    assert_eq!(rows(&bench, "SELECT * FROM span"), before);
    assert_eq!(rows(&bench, "SELECT count(*) AS n FROM decision"), "n\n1\n");
}

#[test]
fn a_newer_export_stands_beside_the_older_which_counts() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("one.json", ring(GOOD));
    bench.write("two.json", ring(&GOOD[1..]));
    import(&bench, "one.json --unit ring-a-1").ends(0);
    import(&bench, "two.json --unit ring-a-1").ends(0);
    let got = rows(&bench, "SELECT recording, counts FROM night_summary ORDER BY recording");
    assert_eq!(got, "recording,counts\nP01/2026-04-03/ring-a-1,1\nP01/2026-04-03/ring-a-1#2,0\n");
    let shown = bench.line("--study s show 2026-04-03").ends(0).stdout;
    assert!(shown.contains("~ring-a"), "{shown}");
}

#[test]
fn a_mended_definition_reads_the_same_original_again() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let odd = [GOOD[0], ("2026-04-03T22:20:00+02:00", "2026-04-04T06:00:00+02:00", "dozing")];
    bench.write("ring.json", ring(&odd));
    let first = import(&bench, "ring.json --unit ring-a-1").ends(1);
    assert!(first.stdout.contains("error[unmapped-label]: `dozing`"), "{}", first.stdout);
    bench.line("--study s compare").ends(2);
    let text = std::fs::read_to_string(root().join("importers/ring-a/importer.toml")).unwrap();
    bench.write("s/importers/ring-a/importer.toml", text.replace("[stages]\n", "[stages]\ndozing = \"Light\"\n"));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    let got = rows(&bench, "SELECT recording, minutes_light, errors FROM night_summary");
    assert_eq!(got, "recording,minutes_light,errors\nP01/2026-04-03/ring-a-1#2,460,0\n");
    bench.line("--study s check").ends(0);
}

#[test]
fn a_dry_run_says_what_would_be_stored_and_stores_nothing() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(GOOD));
    let run = import(&bench, "ring.json --unit ring-a-1 --dry-run").ends(0);
    for words in [
        "would store P01/2026-04-03",
        "$.sleeps[0].pieces[0].depth  awake",
        "04-03 22:00:00 - 22:20:00  W",
        "of 2 rows: 2 became stages",
        "nothing was stored; without --dry-run this would store 1 recording",
    ] {
        assert!(run.stdout.contains(words), "{words}: {}", run.stdout);
    }
    assert_eq!(rows(&bench, "SELECT count(*) AS n FROM recording"), "n\n0\n");
    assert!(!bench.path("s/decisions.jsonl").exists());
    assert_eq!(std::fs::read_dir(bench.path("s/originals")).unwrap().count(), 0);
}

#[test]
fn nights_that_are_not_declared_are_left_out_and_named_or_taken() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let later = ("2026-04-05T22:00:00+02:00", "2026-04-06T05:00:00+02:00", "deep");
    bench.write("ring.json", ring(&[GOOD[0], GOOD[1], later]));
    let run = import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert!(run.stderr.contains("left out 1 night that study.toml does not declare: 2026-04-05"), "{}", run.stderr);
    assert_eq!(rows(&bench, "SELECT count(*) AS n FROM recording"), "n\n1\n");
    let run = import(&bench, "ring.json --unit ring-a-1 --new-nights").ends(0);
    assert!(run.stderr.contains("declares the night 2026-04-05 of P01"), "{}", run.stderr);
    assert_eq!(rows(&bench, "SELECT night FROM night_summary ORDER BY night"), "night\n2026-04-03\n2026-04-05\n");
    let toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    assert!(toml.ends_with("[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-05\"\n"), "{toml}");
    let said = bench.line("--study s rebuild").ends(0).stderr;
    assert!(said.contains("the same as before"), "{said}");
}

#[test]
fn a_night_that_the_file_does_not_hold_is_answered_with_those_it_holds() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}[[night]]\nparticipant = \"P01\"\nlabel = \"2026-05-01\"\n"));
    bench.write("ring.json", ring(GOOD));
    let said = import(&bench, "ring.json --unit ring-a-1 --night 2026-05-01").ends(2).stderr;
    assert!(said.contains("ring.json: it does not hold the night `2026-05-01`; it holds 2026-04-03"), "{said}");
    let said = import(&bench, "ring.json --unit ring-a-1 --night 2026-06-01").ends(2).stderr;
    assert!(said.contains("P01 has no night `2026-06-01`; declared are 2026-04-03 and 2026-05-01"), "{said}");
}

#[test]
fn names_that_study_toml_does_not_have_are_answered_with_the_lines_to_add() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(GOOD));
    let said = |words: &str| import(&bench, words).ends(2).stderr;
    assert!(said("ring.json --unit ring-9").contains("[[unit]]\nname = \"ring-9\""));
    assert!(
        said("ring.json --device ring-z").contains("device `ring-z` is not in study.toml; it has ring-a and band-a")
    );
    assert!(said("ring.json --scorer S9").contains("[[scorer]]\ncode = \"S9\""));
    assert!(said("ring.json --unit ring-a-1 --participant P9").contains("[[participant]]\ncode = \"P9\""));
    assert!(said("ring.json --unit ring-a-1 --scorer S1").contains("give one of them"));
    assert!(
        said("ring.json --unit ring-a-1 --definition ring-q").contains("there is no definition `ring-q`; there are")
    );
    assert!(said("ring.json --unit ring-a-1 --zone Mars/Olympus").contains("`Mars/Olympus` is not an IANA time zone"));
}

#[test]
fn the_usual_definition_makes_the_daily_command_short() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(GOOD));
    let run = import(&bench, "ring.json").ends(0);
    assert!(run.stdout.contains("stored P01/2026-04-03/ring-a-1"), "{}", run.stdout);
}

#[test]
fn another_zone_than_the_studys_keeps_the_instants_and_is_pointed_out() {
    let bench = Bench::new();
    study(&bench, "Asia/Kathmandu");
    bench.write("ring.json", ring(GOOD));
    let run = import(&bench, "ring.json --unit ring-a-1");
    assert!(run.code < 2, "{}", run.stderr);
    // 22:00 at +02:00 is 20:00 UTC, which is 01:45 in Kathmandu.
    let first = rows(&bench, "SELECT local_start, utc_offset FROM epoch_local WHERE epoch = 0");
    assert_eq!(first, "local_start,utc_offset\n2026-04-04 01:45:00,+05:45\n");
    assert!(run.stdout.contains("warning[zone-"), "the offset in the file is not the night's: {}", run.stdout);
}

#[test]
fn a_night_on_which_zone_databases_differ_is_warned_about() {
    let bench = Bench::new();
    study(&bench, "America/Vancouver");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap().replace("2026-04-03", "2026-11-20");
    bench.write("s/study.toml", text);
    bench.write("band.tsv", "clock\tstage\n23:00\twake\n23:30\tlight\n05:00\tend\n");
    let run = import(&bench, "band.tsv --unit band-a-1 --night 2026-11-20").ends(0);
    assert!(run.stdout.contains("warning[zone-rules-differ]"), "{}", run.stdout);
}

#[test]
fn a_time_that_never_happened_and_one_that_happened_twice_are_errors_at_their_line() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap().replace("2026-04-03", "2026-03-28");
    bench.write("s/study.toml", text);
    bench.write("band.tsv", "clock\tstage\n23:00\twake\n02:30\tlight\n05:00\tend\n");
    let run = import(&bench, "band.tsv --unit band-a-1 --night 2026-03-28").ends(1);
    assert!(run.stdout.contains("error[time-skipped]"), "{}", run.stdout);
    assert!(
        run.stdout.contains("band.tsv, line 3:1\n  | 02:30 light") || run.stdout.contains("line 3:1\n  | 02:30"),
        "{}",
        run.stdout
    );
}

#[test]
fn overlaps_gaps_and_claims_are_found_before_anything_is_computed() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let pieces = [
        ("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:00+02:00", "awake"),
        ("2026-04-03T22:10:00+02:00", "2026-04-04T01:00:00+02:00", "shallow"),
        ("2026-04-04T02:00:00+02:00", "2026-04-04T06:00:00+02:00", "deep"),
        ("2026-04-04T06:00:00+02:00", "2026-04-04T06:00:00+02:00", "deep"),
    ];
    bench.write("ring.json", ring(&pieces));
    let run = import(&bench, "ring.json --unit ring-a-1").ends(1);
    for code in ["error[spans-overlap]", "error[length-not-positive]", "warning[gap-inside]"] {
        assert!(run.stdout.contains(code), "{code}: {}", run.stdout);
    }
    let json = bench.line("--study s check --format json").ends(1).json();
    assert_eq!(json["open_errors"], 2);
    let shown = bench.line("--study s show 2026-04-03").ends(1).stdout;
    assert!(shown.contains("spans-overlap"), "{shown}");
}
