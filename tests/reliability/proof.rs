use crate::common::{Bench, Run};
use crate::study::{copy, files, state, study};

/// Changes the store behind the program's back.
pub(crate) fn tamper(bench: &Bench, sql: &str) {
    let db = rusqlite::Connection::open(bench.path("t/study.db")).unwrap();
    db.execute_batch(&format!("PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON; {sql}")).unwrap();
}

/// Returns what was printed as one line of text.
fn flat(run: &Run) -> String {
    run.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn an_untouched_study_is_proven_and_stays_untouched() {
    let bench = study();
    let before = state(&bench.path("s"));
    let quick = bench.line("--study s verify").ends(0);
    assert!(flat(&quick).contains("decisions.jsonl 2 decisions in order"), "{}", quick.stdout);
    assert!(quick.stderr.contains("proven: the log is whole"), "{}", quick.stderr);
    let full = bench.line("--study s verify --full").ends(0);
    assert!(flat(&full).contains("2 decisions were carried out again"), "{}", full.stdout);
    assert_eq!(state(&bench.path("s")), before, "verify wrote into the study");
    let json = bench.line("--study s verify --full --format json").ends(0).json();
    assert_eq!((json["proven"].as_bool(), json["full"].as_bool()), (Some(true), Some(true)));
}

/// What is done to the store, the code that names it, and words that say where; the quick proof sees it.
const SEEN_AT_ONCE: &[(&str, &str, &str)] = &[
    ("DELETE FROM recording WHERE scorer = 'S1'", "store-rows", "decision 2"),
    ("DELETE FROM strip", "store-rows", "P01/2026-04-03/ring-a-1: it is not laid out in epochs"),
    ("UPDATE decision SET by = 'somebody' WHERE n = 1", "store-rows", "decision 1"),
    ("UPDATE definition SET text = text || ' '", "store-rows", "the text of `code-per-line` is not what its hash"),
    ("DROP VIEW open_finding; CREATE VIEW open_finding AS SELECT 1", "store-shape", "view open_finding"),
    ("CREATE TRIGGER t AFTER INSERT ON span BEGIN DELETE FROM span; END", "store-shape", "trigger t"),
    ("UPDATE letter SET word = 'N3' WHERE letter = 'L'", "store-shape", "letter L = Light"),
    ("DELETE FROM epoch_number WHERE i = 7", "store-shape", "epoch_number 5760 0 5759"),
    ("ALTER TABLE span ADD COLUMN more TEXT", "store-shape", "span.more TEXT"),
    ("DELETE FROM night WHERE label = '2026-04-03'", "store-damaged", "a row of `night` that is not there"),
];

#[test]
fn what_the_log_or_the_program_contradicts_is_named_at_once() {
    let bench = study();
    for (sql, code, said) in SEEN_AT_ONCE {
        copy(&bench, "s", "t");
        tamper(&bench, sql);
        let run = bench.line("--study t verify").ends(1);
        let text = flat(&run);
        assert!(text.contains(&format!("difference[{code}]")) && text.contains(said), "{sql}: {}", run.stdout);
        assert!(run.stderr.contains("not proven"), "{sql}: {}", run.stderr);
        bench.line("--study t rebuild").ends(0);
        bench.line("--study t verify --full").ends(0);
    }
}

/// What only reading the originals again can see: the table and the place that must be named.
const SEEN_IN_FULL: &[(&str, &str, &str)] = &[
    ("UPDATE span SET mark = 'R' WHERE recording_id = 1 AND seq = 2", "span", "P01/2026-04-03/ring-a-1: 1 row"),
    ("UPDATE span SET start_ms = start_ms + 1 WHERE recording_id = 1", "span", "P01/2026-04-03/ring-a-1: 5 rows"),
    ("UPDATE strip SET letters = replace(letters, 'L', 'W') WHERE recording_id = 1", "strip", "ring-a-1: 1 row"),
    ("UPDATE recording SET file = 'other.json' WHERE id = 1", "recording", "stored: file \"other.json\""),
    ("UPDATE original SET bytes = bytes + 1", "original", "2 "),
    ("UPDATE night SET until_ms = until_ms + 1", "night", "P01/2026-04-03"),
    ("UPDATE offset_stretch SET offset_seconds = 0", "offset_stretch", "Europe/Berlin"),
    ("INSERT INTO scorer VALUES ('S9', 'human')", "scorer", "S9: 1 row"),
];

#[test]
fn a_changed_row_is_named_with_its_recording_and_table() {
    let bench = study();
    for (sql, table, said) in SEEN_IN_FULL {
        copy(&bench, "s", "t");
        tamper(&bench, sql);
        let run = bench.line("--study t verify --full").ends(1);
        let text = flat(&run);
        assert!(text.contains(&format!("of table `{table}`")) && text.contains(said), "{sql}: {}", run.stdout);
        assert!(text.contains("study.db was changed by something else"), "{sql}: {}", run.stdout);
    }
}

#[test]
fn rules_and_programs_of_another_day_are_told_from_tampering() {
    let bench = study();
    copy(&bench, "s", "t");
    tamper(&bench, "UPDATE recording SET rules_version = '2020a'");
    let run = bench.line("--study t verify --full").ends(0);
    assert!(flat(&run).contains("note: some recordings were read under other zone rules"), "{}", run.stdout);
    tamper(&bench, "UPDATE span SET start_ms = start_ms - 3600000 WHERE recording_id = 1 AND seq = 0");
    let json = bench.line("--study t verify --full --format json").ends(1).json();
    assert_eq!(json["differences"][0]["cause"], "zone-rules", "{json}");
    assert_eq!(json["differences"][0]["columns"][0], "start_ms", "{json}");
    copy(&bench, "s", "t");
    tamper(&bench, "UPDATE meta SET value = 'counterpane 0.0.1' WHERE key = 'tool'; UPDATE span SET label = 'x'");
    let json = bench.line("--study t verify --full --format json").ends(1).json();
    assert_eq!(json["differences"][0]["cause"], "program", "{json}");
}

#[test]
fn an_edited_study_toml_is_no_fault_and_is_told() {
    let bench = study();
    let toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", toml.replace("label = \"2026-04-05\"", "label = \"2026-04-06\""));
    let before = state(&bench.path("s"));
    let run = bench.line("--study s verify --full").ends(0);
    assert!(flat(&run).contains("study.toml is newer than the checks"), "{}", run.stdout);
    assert_eq!(state(&bench.path("s")), before);
}

#[test]
fn a_lost_or_changed_original_is_named_and_the_rest_is_still_compared() {
    let bench = study();
    for lost in [true, false] {
        copy(&bench, "s", "t");
        let originals = files(&bench.path("t/originals"));
        let ring = originals.iter().find(|f| std::fs::read_to_string(f).unwrap().contains("\"sleeps\"")).unwrap();
        if lost {
            std::fs::remove_file(ring).unwrap()
        } else {
            std::fs::write(ring, "{}").unwrap()
        }
        tamper(&bench, "UPDATE span SET mark = 'R' WHERE recording_id = 2 AND seq = 0");
        let run = bench.line("--study t verify --full").ends(1);
        let text = flat(&run);
        let code = if lost { "original-missing" } else { "original-changed" };
        assert!(text.contains(&format!("difference[{code}]")) && text.contains("it was ring.json"), "{}", run.stdout);
        assert!(text.contains("difference[not-repeatable]: decision 1"), "{}", run.stdout);
        assert!(text.contains("P01/2026-04-03/S1: 1 row of table `span`"), "{}", run.stdout);
        assert!(!text.contains("rows-differ]: P01/2026-04-03/ring-a-1"), "{}", run.stdout);
        bench.line("--study t import ring.json --unit ring-a-1").ends(0);
        bench.line("--study t verify").ends(0);
    }
}

#[cfg(unix)]
#[test]
fn an_original_that_leads_nowhere_is_named() {
    let bench = study();
    std::fs::create_dir(bench.path("s/originals/zz")).unwrap();
    std::os::unix::fs::symlink("nowhere", bench.path("s/originals/zz/abc")).unwrap();
    let run = bench.line("--study s verify").ends(1);
    assert!(flat(&run).contains("difference[original-missing]: originals/zz/abc: it cannot be read"), "{}", run.stdout);
}

#[test]
fn a_log_that_was_changed_or_shortened_is_named() {
    let bench = study();
    let text = std::fs::read_to_string(bench.path("s/decisions.jsonl")).unwrap();
    let first = format!("{}\n", text.lines().next().unwrap());
    let cases = [
        (text.replacen("P01", "P02", 1), "decisions.jsonl line 2: it does not follow from the line above"),
        (first, "study.db holds decision 2 and the log does not"),
        (String::new(), "study.db holds decision 1 and the log does not"),
        (text.replace("\"scorer\":\"S1\"", "\"scorer\":\"S2\""), "it is not the line that study.db was made from"),
    ];
    for (changed, said) in cases {
        copy(&bench, "s", "t");
        bench.write("t/decisions.jsonl", changed);
        let run = bench.line("--study t verify").ends(1);
        assert!(flat(&run).contains("difference[log-broken]") && flat(&run).contains(said), "{}", run.stdout);
    }
}

#[test]
fn what_is_no_study_cannot_be_proven() {
    let bench = study();
    bench.line("--study nowhere verify").ends(2);
    copy(&bench, "s", "t");
    tamper(&bench, "PRAGMA user_version = 99");
    assert!(bench.line("--study t verify").ends(2).stderr.contains("use a newer counterpane"));
    bench.write("t/study.toml", "version = 9\n");
    bench.line("--study t verify").ends(2);
    copy(&bench, "s", "t");
    bench.write("t/study.db", "");
    let said = bench.line("--study t verify --full").ends(0).stderr.replace('\n', " ");
    assert!(said.contains("the store lacks 2 decisions of the log"), "{said}");
    bench.write("t/study.db", "this is no database, whatever its name may be");
    assert!(bench.line("--study t verify").ends(1).stdout.contains("difference[store-damaged]"));
}

#[test]
fn every_kind_of_decision_is_done_again_and_gives_the_same() {
    let bench = study();
    bench.write("newer.json", crate::study::ring("2026-04-03", &["awake", "deep"]));
    bench.write("clock.png", b"\x89PNG an invented picture");
    let decided: &[&[&str]] = &[
        &["import", "newer.json", "--unit", "ring-a-1"],
        &[
            "exclude",
            "2026-04-03",
            "--source",
            "ring-a",
            "--from",
            "23:00",
            "--until",
            "23:10",
            "--looked",
            "before",
            "--reason",
            "off",
        ],
        &["note", "2026-04-03", "out-of-bed", "--at", "02:10", "--until", "02:20"],
        &["clock", "add", "2026-04-03", "ring-a-1", "--shown", "22:03", "--true", "22:00", "--picture", "clock.png"],
        &["clock", "set", "2026-04-03", "ring-a-1", "--as-seen", "--reason", "seen on the phone"],
        &["prefer", "P01/2026-04-03/ring-a-1#2", "--reason", "the protocol said so"],
        &["withdraw", "4", "--reason", "a slip"],
        &["withdraw", "3", "--reason", "the wrong file"],
    ];
    for words in decided {
        bench.run(&[&["--study", "s", "--author", "me"][..], words].concat()).ends(0);
        bench.line("--study s verify --full").ends(0);
    }
    let said = bench.line("--study s rebuild").ends(0).stderr;
    assert!(said.contains("the same as before"), "{said}");
    copy(&bench, "s", "t");
    let picture =
        files(&bench.path("t/originals")).into_iter().find(|f| std::fs::read(f).unwrap().starts_with(b"\x89PNG"));
    std::fs::write(picture.unwrap(), "another").unwrap();
    assert!(flat(&bench.line("--study t verify").ends(1)).contains("it was clock.png"));
}
