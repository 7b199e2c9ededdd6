//! The store as the commands use it: decide, apply, read back.
#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod common;

use common::{MARKS, NOW, TOML, import, in_each, recording, ring, scorer, study};
use counterpane_model::{Night, Recording};
use counterpane_store::{Access, Act, Deed, SqlValue, StoreError, Study};

fn accept(study: &mut Study, code: &str) {
    let act = Act::Accept {
        code: code.into(),
        participant: "P01".into(),
        night: "2026-04-04".into(),
        recording: Some("P01/2026-04-04/ring-a-1".into()),
        locator: None,
        reason: "seen on the phone".into(),
    };
    study.decide(NOW, &act, &|night| in_each("spans-overlap", night)).unwrap();
}

#[test]
fn what_was_stored_reads_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    let new = recording(ring(), &MARKS);
    assert_eq!(import(&mut study, b"one", "d", &new, None), ["P01/2026-04-04/ring-a-1"]);
    let stored = study.recordings("P01", "2026-04-04").unwrap();
    assert_eq!(stored.len(), 1);
    assert_eq!(stored[0].recording, Recording { key: "P01/2026-04-04/ring-a-1".into(), ..new });
    assert!(stored[0].counts);
    assert_eq!(study.pending().unwrap(), []);
}

#[test]
fn a_newer_export_stands_beside_the_older_and_the_first_counts() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), None);
    import(&mut study, b"two", "d", &recording(ring(), &MARKS[..2]), None);
    let stored = study.recordings("P01", "2026-04-04").unwrap();
    let told: Vec<_> = stored.iter().map(|s| (s.recording.key.as_str(), s.counts)).collect();
    assert_eq!(told, [("P01/2026-04-04/ring-a-1", true), ("P01/2026-04-04/ring-a-1#2", false)]);
}

#[test]
fn a_mended_definition_takes_the_place_of_the_first_reading() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"one", "d", &recording(ring(), &MARKS[..1]), Some("unmapped-label"));
    import(&mut study, b"two", "d", &recording(ring(), &MARKS), None);
    import(&mut study, b"one", "mended", &recording(ring(), &MARKS), None);
    let stored = study.recordings("P01", "2026-04-04").unwrap();
    let told: Vec<_> = stored.iter().map(|s| (s.recording.key.as_str(), s.counts)).collect();
    assert_eq!(told, [("P01/2026-04-04/ring-a-1#3", true), ("P01/2026-04-04/ring-a-1#2", false)]);
    assert_eq!(study.findings(None).unwrap(), [], "findings of the replaced reading no longer count");
}

#[test]
fn an_accepted_error_is_no_longer_open_and_says_why() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), Some("spans-overlap"));
    let open = |study: &Study| study.findings(None).unwrap().iter().filter(|f| f.is_open_error()).count();
    assert_eq!(open(&study), 1);
    accept(&mut study, "gap-inside");
    assert_eq!(open(&study), 1, "another code accepts nothing");
    accept(&mut study, "spans-overlap");
    assert_eq!(open(&study), 0);
    let findings = study.findings(Some(("P01", "2026-04-04"))).unwrap();
    assert_eq!(findings[0].accepted.as_ref().map(|a| a.reason.as_str()), Some("seen on the phone"));
    let answer = study.query("SELECT count(*) FROM open_finding", 10).unwrap();
    assert_eq!(answer.rows, [[SqlValue::Integer(0)]]);
}

#[test]
fn the_view_of_epochs_shows_local_time_over_the_clock_change() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"psg", "d", &recording(scorer(), &MARKS), None);
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), None);
    let sql = "SELECT local_start, utc_offset, stage FROM epoch_local WHERE source = 'ring-a' AND epoch IN (0, 239, 359, 360, 361)";
    let text = |v: &SqlValue| if let SqlValue::Text(t) = v { t.clone() } else { panic!("{v:?} is not a text") };
    let rows: Vec<String> =
        study.query(sql, 10).unwrap().rows.iter().map(|r| r.iter().map(text).collect::<Vec<_>>().join(" ")).collect();
    assert_eq!(
        rows,
        [
            "2026-04-04 23:00:00 +11:00 W",
            "2026-04-05 00:59:30 +11:00 Light",
            "2026-04-05 01:59:30 +11:00 N3",
            "2026-04-05 01:30:00 +10:30 R",
            "2026-04-05 01:30:30 +10:30 R",
        ]
    );
}

#[test]
fn an_act_that_was_logged_and_not_applied_is_pending() {
    let dir = tempfile::tempdir().unwrap();
    let mut first = study(dir.path());
    import(&mut first, b"one", "d", &recording(ring(), &MARKS), None);
    let store_before = std::fs::read(dir.path().join("study.db")).unwrap();
    accept(&mut first, "gap-inside");
    drop(first);
    // As a kill between the line in the log and the commit leaves it.
    std::fs::write(dir.path().join("study.db"), store_before).unwrap();
    let mut again = Study::open(dir.path(), Access::Write).unwrap();
    let pending = again.pending().unwrap();
    assert_eq!(pending.iter().map(|d| d.n).collect::<Vec<_>>(), [2]);
    again.decide(Deed::Logged(&pending[0]), &pending[0].act, &|_| Vec::new()).unwrap();
    assert_eq!(again.pending().unwrap(), []);
}

#[test]
fn what_the_store_refuses_is_never_logged() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    let act = Act::Accept {
        code: "gap-inside".into(),
        participant: "P01".into(),
        night: "1999-01-01".into(),
        recording: None,
        locator: None,
        reason: "no such night".into(),
    };
    assert!(matches!(study.decide(NOW, &act, &|_| Vec::new()), Err(StoreError::NightGone { .. })));
    assert_eq!(study.decisions(), []);
    assert_eq!(study.pending().unwrap(), []);
}

#[test]
fn a_store_made_anew_takes_the_old_ones_place_only_when_it_is_whole() {
    let dir = tempfile::tempdir().unwrap();
    let mut first = study(dir.path());
    import(&mut first, b"one", "d", &recording(ring(), &MARKS), None);
    let dump = first.canonical_dump().unwrap();
    drop(first);
    drop(Study::open_beside(dir.path()).unwrap()); // given up half-way
    assert_eq!(Study::open(dir.path(), Access::Read).unwrap().canonical_dump().unwrap(), dump);
}

#[test]
fn a_changed_study_toml_asks_for_the_checks_again() {
    let dir = tempfile::tempdir().unwrap();
    let mut first = study(dir.path());
    import(&mut first, b"one", "d", &recording(ring(), &MARKS), None);
    first.recheck(&|_| Vec::new()).unwrap();
    assert!(first.follows_config().unwrap());
    drop(first);
    let lights = TOML.replace("label = \"2026-04-04\"", "label = \"2026-04-04\"\nlights_off = \"22:30\"");
    std::fs::write(dir.path().join("study.toml"), lights).unwrap();
    assert!(!Study::open(dir.path(), Access::Read).unwrap().follows_config().unwrap());
    let mut again = Study::open(dir.path(), Access::Write).unwrap();
    assert!(again.needs_recheck().unwrap());
    again.recheck(&|_| Vec::new()).unwrap();
    assert!(again.follows_config().unwrap());
}

#[test]
fn one_name_for_a_unit_and_a_scorer_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let toml = TOML.replace("code = \"S1\"", "code = \"ring-a-1\"");
    let said = Study::create(dir.path(), &toml, "test").map_err(|e| e.to_string()).err().unwrap_or_default();
    assert!(said.contains("`ring-a-1` is a unit and a scorer"), "{said}");
}

#[test]
fn a_log_that_lost_a_line_is_noticed() {
    let dir = tempfile::tempdir().unwrap();
    let mut first = study(dir.path());
    import(&mut first, b"one", "d", &recording(ring(), &MARKS), None);
    drop(first);
    std::fs::write(dir.path().join("decisions.jsonl"), "").unwrap();
    assert!(matches!(Study::open(dir.path(), Access::Read), Err(StoreError::LogBehind { in_db: 1, in_log: 0 })));
}

#[test]
fn a_changed_last_line_of_the_log_is_noticed() {
    let dir = tempfile::tempdir().unwrap();
    let mut first = study(dir.path());
    import(&mut first, b"one", "d", &recording(ring(), &MARKS), None);
    drop(first);
    let path = dir.path().join("decisions.jsonl");
    let text = std::fs::read_to_string(&path).unwrap().replace("\"by\":\"me\"", "\"by\":\"ma\"");
    std::fs::write(&path, text).unwrap();
    assert!(matches!(Study::open(dir.path(), Access::Read), Err(StoreError::Log { line: 1, .. })));
}

#[test]
fn one_writer_at_a_time_and_any_number_of_readers() {
    let dir = tempfile::tempdir().unwrap();
    let _writer = study(dir.path());
    assert!(matches!(Study::open(dir.path(), Access::Write), Err(StoreError::Busy)));
    assert!(Study::open(dir.path(), Access::Read).is_ok());
}

#[test]
fn a_newer_store_is_refused_and_left_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    drop(study(dir.path()));
    let db = rusqlite::Connection::open(dir.path().join("study.db")).unwrap();
    db.pragma_update(None, "user_version", 99).unwrap();
    drop(db);
    for access in [Access::Read, Access::Write] {
        assert!(matches!(Study::open(dir.path(), access), Err(StoreError::Newer { found: 99, .. })));
    }
}

#[test]
fn somebody_elses_database_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("study.toml"), TOML).unwrap();
    let db = rusqlite::Connection::open(dir.path().join("study.db")).unwrap();
    db.execute_batch("CREATE TABLE mine (x)").unwrap();
    drop(db);
    assert!(matches!(Study::open(dir.path(), Access::Write), Err(StoreError::NotAStore(_))));
}

#[test]
fn a_query_only_reads() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), None);
    let before = study.canonical_dump().unwrap();
    let elsewhere = dir.path().join("elsewhere.db");
    let attacks = [
        "DELETE FROM span".to_owned(),
        "UPDATE recording SET zone = 'UTC'".into(),
        "INSERT INTO meta VALUES ('a', 'b')".into(),
        "DROP TABLE span".into(),
        "CREATE TABLE t (x)".into(),
        "CREATE TEMP TABLE t (x)".into(),
        format!("ATTACH '{}' AS a", elsewhere.display()),
        format!("VACUUM INTO '{}'", elsewhere.display()),
        "PRAGMA writable_schema = 1".into(),
        "PRAGMA journal_mode = WAL".into(),
        "SELECT load_extension('x')".into(),
        "SELECT readfile('/etc/passwd')".into(),
        "SELECT randomblob(1000000000)".into(),
        "SELECT zeroblob(1000000000)".into(),
        "BEGIN".into(),
        "SELECT 1; DELETE FROM span".into(),
        "WITH x AS (SELECT 1) DELETE FROM span".into(),
    ];
    for attack in attacks {
        assert!(matches!(study.query(&attack, 10), Err(StoreError::Query(_))), "`{attack}` was not refused");
    }
    assert_eq!(study.canonical_dump().unwrap(), before);
    assert!(!elsewhere.exists());
    assert_eq!(study.query("SELECT count(*) FROM span", 10).unwrap().rows, [[SqlValue::Integer(4)]]);
}

#[test]
fn a_mistake_in_sql_is_pointed_at() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    let said = |study: &mut Study, sql| study.query(sql, 10).map_err(|e| e.to_string()).err().unwrap_or_default();
    assert_eq!(
        said(&mut study, "SELECT stag FROM epoch_local"),
        "no such column: stag\n  SELECT stag FROM epoch_local\n         ^"
    );
    assert!(said(&mut study, "SELECT * FROM epoch_locl").contains("there are the views epoch_local,"));
}

#[test]
fn nights_are_declared_without_touching_what_stands() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    let night = Night { label: "2026-04-05".into(), ..study.nights()[0].clone() };
    let from = study.nights()[0].window.1;
    let night = Night { window: (from, from.plus_ms(86_400_000).unwrap()), ..night };
    study.declare_nights(std::slice::from_ref(&night)).unwrap();
    let text = std::fs::read_to_string(dir.path().join("study.toml")).unwrap();
    assert_eq!(text, format!("{TOML}\n[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-05\"\n"));
    assert_eq!(study.nights()[1], night);
    assert_eq!(study.night_rows(0, 10).unwrap().len(), 2);
}
