use crate::common::Bench;
use crate::import::{import, ring, study};

const PIECES: &[(&str, &str, &str)] = &[
    ("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:00+02:00", "awake"),
    ("2026-04-03T22:20:00+02:00", "2026-04-04T06:00:00+02:00", "shallow"),
];

#[test]
fn a_file_beyond_a_limit_is_refused_with_the_way_out_and_read_when_the_limit_is_raised() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(PIECES));
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}\n[limits]\nrows = 1\n"));
    let said = import(&bench, "ring.json").ends(2).stderr;
    assert!(said.contains("row 2 is more than the limit of 1 (rows)"), "{said}");
    assert!(said.contains("raise the limit: --limit rows=2, or in study.toml under [limits]"), "{said}");
    assert!(!bench.path("s/decisions.jsonl").exists());
    import(&bench, "ring.json --limit rows=2").ends(0);
    // What was not as usual is kept, and a rebuild reads with it whatever study.toml says now.
    let log = std::fs::read_to_string(bench.path("s/decisions.jsonl")).unwrap();
    assert!(log.contains(r#""limits":{"rows":2}"#), "{log}");
    std::fs::remove_file(bench.path("s/study.db")).unwrap();
    bench.line("--study s rebuild").ends(0);
    // Another limit changes nothing of what is read, so the same file is the same import.
    let run = import(&bench, "ring.json --limit rows=900").ends(0);
    assert!(run.stderr.contains("imported before in the same way"), "{}", run.stderr);
}

#[test]
fn a_size_is_written_with_its_unit_on_the_command_line_and_in_study_toml() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(PIECES));
    let said = import(&bench, "ring.json --limit bytes=100").ends(2).stderr;
    assert!(said.contains("the limit of 100 (bytes)") && said.contains("--limit bytes=200"), "{said}");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}\n[limits]\nrow_bytes = \"128 MiB\"\n"));
    import(&bench, "ring.json --limit bytes=1MiB").ends(0);
    let log = std::fs::read_to_string(bench.path("s/decisions.jsonl")).unwrap();
    assert!(log.contains(r#""limits":{"bytes":1048576,"row_bytes":134217728}"#), "{log}");
}

#[test]
fn a_limit_that_does_not_exist_or_cannot_be_is_named() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("ring.json", ring(PIECES));
    for (said, why) in [
        ("row=5", "there is no limit `row`; there are `beside_bytes`, `bytes`"),
        ("rows", "write NAME=VALUE"),
        ("rows=many", "`many` is no whole number"),
        ("depth=5000", "can be from 1 to 120"),
    ] {
        let run = import(&bench, &format!("ring.json --limit {said}")).ends(2);
        assert!(run.stderr.contains(why), "{}", run.stderr);
    }
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}\n[limits]\nrwos = 5\n"));
    let said = import(&bench, "ring.json").ends(2).stderr;
    assert!(said.contains("[limits] of study.toml: there is no limit `rwos`"), "{said}");
}
