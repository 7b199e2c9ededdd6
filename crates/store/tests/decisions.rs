//! What the reviewer decides: carried out, read back, taken back, and done again by a rebuild.
#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod common;

use common::{MARKS, NOW, START, import, recording, ring, scorer, study};
use counterpane_model::{ClockPoint, Decided, Instant, Looked, NoteKind};
use counterpane_store::{
    Access, Act, ClockSeenAct, ClockSetAct, Deed, ExcludeAct, NoteAct, SqlValue, StoreError, Study,
};

fn decide(study: &mut Study, act: &Act) -> Result<u64, StoreError> {
    study.decide(NOW, act, &|_| Vec::new())?;
    Ok(study.decisions().len() as u64)
}

fn exclude(source: Option<&str>, minutes: Option<(i64, i64)>) -> Act {
    let at = |m: i64| Instant(START + m * 60_000);
    Act::Exclude(ExcludeAct {
        participant: "P01".into(),
        night: "2026-04-04".into(),
        source: source.map(str::to_owned),
        stretch: minutes.map(|(from, until)| (at(from), at(until))),
        looked: Looked::Before,
        reason: "fell off".into(),
    })
}

fn fell_off() -> Act {
    Act::Note(NoteAct {
        participant: "P01".into(),
        night: "2026-04-04".into(),
        source: Some("ring-a-1".into()),
        at: Instant(START),
        until: None,
        precision_ms: 300_000,
        kind: NoteKind::FellOff,
        text: "found under the pillow".into(),
    })
}

fn seen(shown_minutes: i64) -> Act {
    Act::ClockSeen(ClockSeenAct {
        participant: "P01".into(),
        night: "2026-04-04".into(),
        source: "ring-a-1".into(),
        shown: Instant(START + shown_minutes * 60_000),
        truth: Instant(START),
        precision_ms: 1000,
        picture: None,
        text: String::new(),
    })
}

fn set(minutes: &[i64]) -> Act {
    let point = |m: &i64| ClockPoint { at: Instant(START), shift_ms: m * 60_000 };
    Act::ClockSet(ClockSetAct {
        participant: "P01".into(),
        night: "2026-04-04".into(),
        source: "ring-a-1".into(),
        points: minutes.iter().map(point).collect(),
        reason: "the phone was late".into(),
    })
}

fn withdraw(study: &mut Study, decision: u64) -> Result<u64, StoreError> {
    decide(study, &Act::Withdraw { decision, reason: "a slip".into() })
}

fn decided(study: &Study) -> Decided {
    study.decided("P01", "2026-04-04").unwrap()
}

fn counting(study: &Study) -> Vec<(String, bool)> {
    let stored = study.recordings("P01", "2026-04-04").unwrap();
    stored.into_iter().map(|s| (s.recording.key.replace("P01/2026-04-04/", ""), s.counts)).collect()
}

#[test]
fn what_is_left_out_reads_back_and_knows_whom_it_concerns() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    decide(&mut study, &exclude(Some("ring-a-1"), Some((10, 40)))).unwrap();
    decide(&mut study, &exclude(Some("S1"), None)).unwrap();
    let decided = decided(&study);
    let minutes = |s: &(Instant, Instant)| ((s.0.0 - START) / 60_000, (s.1.0 - START) / 60_000);
    assert_eq!(decided.stretches_of(&ring()).iter().map(minutes).collect::<Vec<_>>(), [(10, 40)]);
    assert_eq!(decided.stretches_of(&scorer()), []);
    assert_eq!(decided.excludes(&ring()), None);
    assert_eq!(decided.excludes(&scorer()).map(|e| (e.decision, e.reason.as_str())), Some((2, "fell off")));
}

#[test]
fn an_exclusion_without_a_source_concerns_everyone() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    decide(&mut study, &exclude(None, None)).unwrap();
    assert!(decided(&study).excludes(&ring()).is_some() && decided(&study).excludes(&scorer()).is_some());
}

#[test]
fn notes_and_readings_read_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    decide(&mut study, &fell_off()).unwrap();
    decide(&mut study, &seen(3)).unwrap();
    let decided = decided(&study);
    assert_eq!(decided.notes[0].note.text, "found under the pillow");
    assert_eq!(decided.readings[0].shift_ms(), -180_000);
}

#[test]
fn the_newest_clock_setting_applies_to_what_is_checked_and_not_to_what_is_stored() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), None);
    decide(&mut study, &set(&[5])).unwrap();
    let starts = std::cell::RefCell::new(Vec::new());
    let checker = |night: &counterpane_model::NightFacts<'_>| {
        starts.borrow_mut().push((night.recordings[0].spans[0].start.0 - START) / 60_000);
        Vec::new()
    };
    study.decide(NOW, &set(&[-3]), &checker).unwrap();
    study.decide(NOW, &set(&[]), &checker).unwrap();
    assert_eq!(*starts.borrow(), [-3, 0]);
    assert_eq!(study.recordings("P01", "2026-04-04").unwrap()[0].recording.spans[0].start.0, START);
    assert_eq!(decided(&study).clocks, []);
}

#[test]
fn a_choice_decides_which_export_counts_also_after_it_is_read_again() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), None);
    import(&mut study, b"two", "d", &recording(ring(), &MARKS[..2]), None);
    let act = Act::Count { recording: "P01/2026-04-04/ring-a-1#2".into(), reason: "protocol".into() };
    let n = decide(&mut study, &act).unwrap();
    assert_eq!(counting(&study), [("ring-a-1#2".into(), true), ("ring-a-1".into(), false)]);
    import(&mut study, b"two", "mended", &recording(ring(), &MARKS[..3]), None);
    assert_eq!(counting(&study), [("ring-a-1#3".into(), true), ("ring-a-1".into(), false)]);
    let told = study.query("SELECT recording FROM night_summary WHERE counts", 9).unwrap().rows;
    assert_eq!(told, [[SqlValue::Text("P01/2026-04-04/ring-a-1#3".into())]]);
    withdraw(&mut study, n).unwrap();
    assert_eq!(counting(&study), [("ring-a-1".into(), true), ("ring-a-1#3".into(), false)]);
}

#[test]
fn an_import_that_is_taken_back_lets_what_it_replaced_stand_again() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    import(&mut study, b"one", "d", &recording(ring(), &MARKS[..1]), None);
    import(&mut study, b"one", "mended", &recording(ring(), &MARKS), None);
    import(&mut study, b"one", "mended twice", &recording(ring(), &MARKS), None);
    withdraw(&mut study, 2).unwrap();
    assert_eq!(counting(&study), [("ring-a-1#3".into(), true)]);
    withdraw(&mut study, 3).unwrap();
    assert_eq!(counting(&study), [("ring-a-1".into(), true)]);
    let laid_out = study.query("SELECT DISTINCT recording FROM epoch_local", 9).unwrap().rows;
    assert_eq!(laid_out, [[SqlValue::Text("P01/2026-04-04/ring-a-1".into())]]);
    withdraw(&mut study, 1).unwrap();
    assert_eq!(counting(&study), []);
    // The same may be imported again, and stands as a recording of its own.
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), None);
    assert_eq!(counting(&study), [("ring-a-1#4".into(), true)]);
}

#[test]
fn every_decision_but_a_withdrawal_can_be_taken_back_once() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    for act in [exclude(None, None), fell_off(), seen(3), set(&[5])] {
        let n = decide(&mut study, &act).unwrap();
        withdraw(&mut study, n).unwrap();
        assert_eq!(decided(&study), Decided::default(), "{act:?} was not taken back");
    }
    let said = |study: &mut Study, n| withdraw(study, n).unwrap_err().to_string();
    assert_eq!(said(&mut study, 1), "decision 1 cannot be taken back: it was taken back before");
    assert_eq!(
        said(&mut study, 2),
        "decision 2 cannot be taken back: it takes another one back itself; decide that one anew instead"
    );
    assert_eq!(said(&mut study, 9), "decision 9 cannot be taken back: there is no such decision");
    assert_eq!(study.decisions().len(), 8, "what was refused is not logged");
}

#[test]
fn what_the_log_holds_is_done_again_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let mut first = study(dir.path());
    for act in [exclude(Some("ring-a-1"), Some((0, 9))), fell_off(), seen(3), set(&[5, 6]), exclude(None, None)] {
        decide(&mut first, &act).unwrap();
    }
    withdraw(&mut first, 5).unwrap();
    let dump = first.canonical_dump().unwrap();
    drop(first);
    let mut anew = Study::open_beside(dir.path()).unwrap();
    for decision in anew.pending().unwrap() {
        anew.decide(Deed::Logged(&decision), &decision.act, &|_| Vec::new()).unwrap();
    }
    assert_eq!(anew.canonical_dump().unwrap(), dump);
}

#[test]
fn an_older_store_is_brought_up_to_date_and_a_copy_of_it_kept() {
    let dir = tempfile::tempdir().unwrap();
    let mut first = study(dir.path());
    import(&mut first, b"one", "d", &recording(ring(), &MARKS), None);
    let (dump, shape) = (first.canonical_dump().unwrap(), shape_of(&dir.path().join("study.db")));
    drop(first);
    as_schema_1(&dir.path().join("study.db"));
    assert!(matches!(Study::open(dir.path(), Access::Read), Err(StoreError::Older)));
    let mut migrated = Study::open(dir.path(), Access::Write).unwrap();
    // What the first schema did not know is worked out with the checks.
    assert!(migrated.needs_recheck().unwrap());
    migrated.recheck(&|_| Vec::new()).unwrap();
    assert_eq!(migrated.canonical_dump().unwrap(), dump);
    assert_eq!(shape_of(&dir.path().join("study.db")), shape, "the steps must lead to what schemas/store.sql makes");
    assert!(dir.path().join("study.schema-1.db").is_file());
}

/// Makes a store as the first schema had it, with the contents of a store of today.
fn as_schema_1(path: &std::path::Path) {
    let today = path.with_file_name("today.db");
    std::fs::rename(path, &today).unwrap();
    let db = rusqlite::Connection::open(path).unwrap();
    db.execute_batch(include_str!("data/store-1.sql")).unwrap();
    db.execute("ATTACH ?1 AS today", [today.to_str().unwrap()]).unwrap();
    let tables: Vec<String> = db
        .prepare("SELECT name FROM main.sqlite_schema WHERE type = 'table'")
        .unwrap()
        .query_map([], |r| r.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    for table in tables {
        let columns: String = db
            .query_row("SELECT group_concat('\"' || name || '\"') FROM pragma_table_info(?1)", [&table], |r| r.get(0))
            .unwrap();
        db.execute_batch(&format!("INSERT INTO main.{table} ({columns}) SELECT {columns} FROM today.{table}")).unwrap();
    }
    db.pragma_update(None, "application_id", 0x6370_616e).unwrap();
    db.pragma_update(None, "user_version", 1).unwrap();
    drop(db);
    std::fs::remove_file(&today).unwrap();
}

/// Every column of every table, and every view and index, as text.
fn shape_of(path: &std::path::Path) -> String {
    let db = rusqlite::Connection::open(path).unwrap();
    let sql = "SELECT group_concat(line, char(10) ORDER BY line) FROM (
        SELECT s.name || '.' || c.name || ' ' || c.type || ' ' || c.\"notnull\" || ' ' || c.pk || ' ' || c.hidden AS line
          FROM sqlite_schema s JOIN pragma_table_xinfo(s.name) c WHERE s.type = 'table'
        UNION ALL SELECT sql FROM sqlite_schema WHERE type IN ('view', 'index') AND sql IS NOT NULL
        UNION ALL SELECT s.name || ' -> ' || f.\"table\" || '.' || f.\"to\" || ' ' || f.\"from\"
          FROM sqlite_schema s JOIN pragma_foreign_key_list(s.name) f WHERE s.type = 'table')";
    db.query_row(sql, [], |r| r.get(0)).unwrap()
}
