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

fn edit(bench: &Bench, from: &str, to: &str) {
    let toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    assert!(toml.contains(from), "{toml}");
    bench.write("s/study.toml", toml.replace(from, to));
}

fn query(bench: &Bench, sql: &str) -> String {
    bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout
}

/// Where the original of a file is kept.
fn original(bench: &Bench) -> std::path::PathBuf {
    let sha = query(bench, "SELECT original FROM recording").lines().nth(1).unwrap().to_owned();
    bench.path("s/originals").join(&sha[..2]).join(&sha)
}

fn make_writable(path: &std::path::Path) {
    let mut permissions = std::fs::metadata(path).unwrap().permissions();
    #[expect(clippy::permissions_set_readonly_false, reason = "a file of this test alone")]
    permissions.set_readonly(false);
    std::fs::set_permissions(path, permissions).unwrap();
}

#[test]
fn an_edited_study_toml_runs_the_checks_before_anything_is_computed() {
    let bench = bench();
    let window = "label = \"2026-04-03\"\nwindow = [\"2026-04-03 23:00\", \"2026-04-04 01:00\"]";
    edit(&bench, "label = \"2026-04-03\"", window);
    let nights = bench.line("--study s nights --format json").ends(0).json();
    assert!(nights["nights"][0]["open_errors"].as_u64().unwrap() > 0, "{nights}");
    bench.line("--study s show 2026-04-03").ends(1);
    let said = bench.line("--study s rebuild").ends(0).stderr;
    assert!(said.contains("the same as before"), "{said}");
    // Local times are there also where a recording lies far outside the window of its night.
    edit(&bench, "[\"2026-04-03 23:00\", \"2026-04-04 01:00\"]", "[\"2026-05-03 23:00\", \"2026-05-04 01:00\"]");
    assert_eq!(query(&bench, "SELECT count(*) AS n FROM epoch_local"), "n\n960\n");
}

#[test]
fn a_log_that_lost_its_last_line_end_loses_nothing() {
    let bench = bench();
    let path = bench.path("s/decisions.jsonl");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.trim_end()).unwrap();
    bench.line("--study s check").ends(0);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
    assert_eq!(query(&bench, "SELECT count(*) AS n FROM recording"), "n\n1\n");
}

#[test]
fn going_back_to_the_first_definition_is_no_no_op() {
    let bench = bench();
    let minutes = || query(&bench, "SELECT minutes_light, minutes_wake FROM night_summary");
    assert_eq!(minutes(), "minutes_light,minutes_wake\n460,20\n");
    let shipped = bench.line("definition show ring-a").ends(0).stdout;
    let other = shipped.replace("\"Light\"", "\"W\"");
    assert_ne!(shipped, other);
    bench.write("s/importers/ring-a/importer.toml", &other);
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert_eq!(minutes(), "minutes_light,minutes_wake\n0,480\n");
    bench.write("s/importers/ring-a/importer.toml", &shipped);
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert_eq!(minutes(), "minutes_light,minutes_wake\n460,20\n");
}

#[test]
fn rows_around_a_declared_window_are_left_out_and_said_so() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    edit(
        &bench,
        "label = \"2026-04-03\"",
        "label = \"2026-04-03\"\nwindow = [\"2026-04-03 21:00\", \"2026-04-04 04:00\"]",
    );
    let early = ("2026-04-03T19:00:00+02:00", "2026-04-03T19:30:00+02:00", "awake");
    bench.write("ring.json", ring(&[early, GOOD[0]]));
    for words in ["ring.json --unit ring-a-1 --new-nights", "ring.json --unit ring-a-1"] {
        let run = import(&bench, words).ends(0);
        let said = run.stderr.replace('\n', " ").replace("  ", " ");
        assert!(said.contains("left out what lies around the declared windows of 2026-04-03 (1 span)"), "{said}");
        assert!(!said.contains("declares the night"), "{said}");
    }
    assert_eq!(query(&bench, "SELECT count(*) AS n FROM span"), "n\n1\n");
}

#[test]
fn a_report_never_takes_the_place_of_the_study() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let before = std::fs::read(bench.path("d/study/decisions.jsonl")).unwrap();
    for target in [
        "d/study/decisions.jsonl",
        "d/study/study.toml",
        "d/study/study.db",
        "d/study/originals/x",
        "d/study/../study/study.db",
    ] {
        let said = bench.line(&format!("--study d/study report -o {target}")).ends(2).stderr;
        assert!(said.contains("belongs to the study"), "{said}");
    }
    let said = bench.line("--study d/study report -o /dev/null").ends(2).stderr;
    assert!(said.contains("not a regular file"), "{said}");
    assert_eq!(std::fs::read(bench.path("d/study/decisions.jsonl")).unwrap(), before);
    bench.line("--study d/study nights").ends(0);
}

#[test]
fn an_acceptance_does_not_cover_what_comes_later() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    edit(
        &bench,
        "[[device]]\nname = \"band-a\"",
        "[[unit]]\nname = \"ring-a-2\"\ndevice = \"ring-a\"\n[[device]]\nname = \"band-a\"",
    );
    let doubled = |stage| ring(&[GOOD[0], ("2026-04-03T22:10:00+02:00", "2026-04-04T06:00:00+02:00", stage)]);
    bench.write("one.json", doubled("shallow"));
    bench.write("two.json", doubled("deep"));
    import(&bench, "one.json --unit ring-a-1").ends(1);
    let nobody =
        bench.run(&["--study", "s", "accept", "spans-overlap", "2026-04-03", "--reason", "seen"]).ends(2).stderr;
    assert!(nobody.contains("say who decides"), "{nobody}");
    bench.run(&["--study", "s", "accept", "spans-overlap", "2026-04-03", "--reason", "seen", "--author", "me"]).ends(0);
    bench.line("--study s check").ends(0);
    import(&bench, "two.json --unit ring-a-2").ends(1);
    bench.line("--study s check").ends(1);
}

#[test]
fn a_rebuild_says_what_it_could_be_compared_with() {
    let bench = bench();
    let db = bench.path("s/study.db");
    let behind = std::fs::read(&db).unwrap();
    let rebuilt = || bench.line("--study s rebuild").ends(0).stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(rebuilt().contains("made study.db anew from 1 decision; its contents are the same as before"));
    std::fs::remove_file(&db).unwrap();
    let said = rebuilt();
    assert!(said.contains("there was none before, so there is nothing to compare it with"), "{said}");
    assert!(rebuilt().contains("the same as before"));
    std::fs::write(&db, "").unwrap();
    assert!(rebuilt().contains("there was none before"));
    std::fs::write(&db, "no store at all").unwrap();
    assert!(rebuilt().contains("the one before could not be read"));
    bench
        .run(&["--study", "s", "--author", "me", "exclude", "2026-04-03", "--looked", "before", "--reason", "x"])
        .ends(0);
    std::fs::write(&db, behind).unwrap();
    let said = rebuilt();
    assert!(said.contains("had not taken in the last 1 decision"), "{said}");
    assert!(rebuilt().contains("the same as before"));
}

#[test]
fn a_rebuild_that_cannot_be_done_leaves_the_store_as_it_was() {
    let bench = bench();
    let before = query(&bench, "SELECT * FROM span");
    let path = original(&bench);
    let bytes = std::fs::read(&path).unwrap();
    make_writable(&path);
    std::fs::write(&path, b"{}").unwrap();
    let said = bench.line("--study s rebuild").ends(2).stderr.replace('\n', " ");
    assert!(said.contains("the original of ring.json") && said.contains("was changed on disk"), "{said}");
    assert_eq!(query(&bench, "SELECT * FROM span"), before);
    let said = import(&bench, "ring.json --unit ring-a-1").ends(0).stderr;
    assert!(said.contains("is whole again"), "{said}");
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
    std::fs::remove_file(&path).unwrap();
    let said = bench.line("--study s rebuild").ends(2).stderr.replace('\n', " ");
    assert!(said.contains("the original of ring.json") && said.contains("is not in originals/"), "{said}");
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    edit(&bench, "label = \"2026-04-03\"", "label = \"2026-04-09\"");
    let said = bench.line("--study s rebuild").ends(2).stderr.replace('\n', " ");
    assert!(said.contains("P01 has no night `2026-04-03` in study.toml any more"), "{said}");
    let nights = bench.line("--study s nights").ends(0).stdout;
    assert!(nights.contains("(not in study.toml)") || nights.contains("(not in"), "{nights}");
    edit(&bench, "label = \"2026-04-09\"", "label = \"2026-04-03\"");
    bench.line("--study s rebuild").ends(0);
    assert_eq!(query(&bench, "SELECT * FROM span"), before);
}

#[test]
fn one_file_for_two_people_is_pointed_out() {
    let bench = bench();
    edit(
        &bench,
        "\n[[scorer]]\ncode",
        "\n[[participant]]\ncode = \"P02\"\n[[night]]\nparticipant = \"P02\"\nlabel = \"2026-04-03\"\n[[scorer]]\ncode",
    );
    let said = import(&bench, "ring.json --unit ring-a-1 --participant P02").ends(0).stderr.replace("\n ", "");
    assert!(said.contains("the same file was imported for P01 before"), "{said}");
    edit(&bench, "\nname = \"ring-a-1\"", "\nname = \"ring-a-1\"\nparticipant = \"P01\"");
    let said = import(&bench, "ring.json --unit ring-a-1 --participant P02").ends(2).stderr.replace('\n', " ");
    assert!(said.contains("P01 wears `ring-a-1`"), "{said}");
}

#[cfg(unix)]
#[test]
fn study_toml_keeps_its_permissions_and_is_left_alone_where_nothing_changes() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let toml = bench.path("s/study.toml");
    std::fs::set_permissions(&toml, std::fs::Permissions::from_mode(0o600)).unwrap();
    let before = std::fs::metadata(&toml).unwrap().modified().unwrap();
    bench.write("ring.json", ring(GOOD));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert_eq!(std::fs::metadata(&toml).unwrap().modified().unwrap(), before);
    bench.write("later.json", ring(&[("2026-04-08T22:00:00+02:00", "2026-04-09T06:00:00+02:00", "deep")]));
    import(&bench, "later.json --unit ring-a-1 --new-nights").ends(0);
    assert_eq!(std::fs::metadata(&toml).unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn a_wide_answer_is_laid_out_in_blocks() {
    let bench = bench();
    let text = bench.run(&["--study", "s", "query", "SELECT * FROM night_summary"]).ends(0).stdout;
    assert!(text.contains("\nrecording         P01/2026-04-03/ring-a-1\n"), "{text}");
}
