//! A study of every kind of decision: proven, done again aside, and hurt.
#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod common;

use common::{MARKS, NOW, START, import, recording, ring, scorer, study};
use counterpane_model::{ClockPoint, Finding, Instant, Looked, NightFacts, NoteKind};
use counterpane_store::verify::{FaultKind, Skip, differences, made_by, verify};
use counterpane_store::{
    Act, ClockSeenAct, ClockSetAct, Deed, ExcludeAct, NewRecording, NoteAct, Original, Picture, Study,
};
use std::path::Path;

const P: &str = "P01";
const NIGHT: &str = "2026-04-04";

fn nothing(_: &NightFacts<'_>) -> Vec<Finding> {
    Vec::new()
}

/// One of each kind of decision beside imports; the last one takes the exclusion back.
fn acts(picture: Picture) -> Vec<Act> {
    let (participant, night, source) = (P.to_owned(), NIGHT.to_owned(), "ring-a-1".to_owned());
    let text = "seen in the morning".to_owned();
    let points = vec![ClockPoint { at: Instant(START), shift_ms: -60_000 }];
    let exclude = ExcludeAct {
        participant: participant.clone(),
        night: night.clone(),
        source: Some(source.clone()),
        stretch: Some((Instant(START), Instant(START + 60_000))),
        looked: Looked::After,
        reason: text.clone(),
    };
    let note = NoteAct {
        participant: participant.clone(),
        night: night.clone(),
        source: None,
        at: Instant(START),
        until: None,
        precision_ms: 60_000,
        kind: NoteKind::FellOff,
        text: text.clone(),
    };
    let seen = ClockSeenAct {
        participant: participant.clone(),
        night: night.clone(),
        source: source.clone(),
        shown: Instant(START + 60_000),
        truth: Instant(START),
        precision_ms: 1000,
        picture: Some(picture),
        text: text.clone(),
    };
    let set =
        ClockSetAct { participant: participant.clone(), night: night.clone(), source, points, reason: text.clone() };
    let accept =
        Act::Accept { code: "gap".into(), participant, night, recording: None, locator: None, reason: text.clone() };
    let count = Act::Count { recording: format!("{P}/{NIGHT}/ring-a-1#2"), reason: text.clone() };
    let withdraw = Act::Withdraw { decision: 4, reason: text };
    vec![Act::Exclude(exclude), Act::Note(note), Act::ClockSeen(seen), Act::ClockSet(set), accept, count, withdraw]
}

/// Three imports, then a decision of each kind.
fn every_kind(root: &Path) {
    let mut study = study(root);
    import(&mut study, b"one", "d", &recording(ring(), &MARKS), None);
    import(&mut study, b"two", "d", &recording(ring(), &MARKS[..2]), None);
    import(&mut study, b"three", "d", &recording(scorer(), &MARKS), None);
    let kept = study.originals().keep(&b"a picture"[..]).unwrap();
    let picture = Picture { sha256: kept.sha256, bytes: kept.bytes, file: "clock.png".into(), blanked: None };
    for act in acts(picture) {
        study.decide(NOW, &act, &nothing).unwrap();
    }
}

/// Does every decision of a study again in a store that stands aside.
fn again(root: &Path, store: &Path) -> Study {
    let mut study = Study::open_aside(root, store).unwrap();
    for decision in study.pending().unwrap() {
        let deed = Deed::Logged(&decision);
        let Act::Import(act) = &decision.act else {
            study.decide(deed, &decision.act, &nothing).unwrap();
            continue;
        };
        let marks = if decision.n == 2 { &MARKS[..2] } else { &MARKS[..] };
        let source = if decision.n == 3 { scorer() } else { ring() };
        let bytes = if decision.n == 3 { 5 } else { 3 };
        let original = Original { sha256: act.original.clone(), bytes };
        let new = NewRecording { recording: recording(source, marks), raw_time: "23:00".into(), findings: Vec::new() };
        study.import(deed, act, std::slice::from_ref(&original), "d", &[new], &nothing).unwrap();
    }
    study
}

fn faults(root: &Path) -> Vec<(FaultKind, String, String)> {
    verify(root, &mut |_, _| ()).unwrap().faults.into_iter().map(|f| (f.kind, f.place, f.message)).collect()
}

#[test]
fn decisions_of_every_kind_are_proven_and_give_the_same_rows_again() {
    let (dir, aside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    every_kind(dir.path());
    let proof = verify(dir.path(), &mut |_, _| ()).unwrap();
    assert_eq!(proof.faults, []);
    assert!(proof.can_go_on());
    let stored = proof.stored(aside.path()).unwrap();
    let derived = again(dir.path(), &aside.path().join("derived.db"));
    assert_eq!(differences(&stored, &derived, &Skip::default()).unwrap(), Default::default());
    assert_eq!(stored.canonical_dump().unwrap(), derived.canonical_dump().unwrap());
    let made = made_by(&stored).unwrap();
    assert_eq!((made.tool.as_deref(), made.other_rules.len(), made.definitions.len()), (Some("test"), 0, 1));
}

#[test]
fn the_lost_row_of_any_decision_is_named() {
    let tables = [
        ("night_note", 5),
        ("clock_reading", 6),
        ("clock_setting", 7),
        ("acceptance", 8),
        ("choice", 9),
        ("withdrawal", 10),
    ];
    for (table, decision) in tables {
        let dir = tempfile::tempdir().unwrap();
        every_kind(dir.path());
        let db = rusqlite::Connection::open(dir.path().join("study.db")).unwrap();
        db.execute_batch(&format!("DELETE FROM {table}")).unwrap();
        let found = faults(dir.path());
        let named = found.iter().any(|(kind, place, message)| {
            *kind == FaultKind::StoreRows && *place == format!("decision {decision}") && message.contains(table)
        });
        assert!(named, "{table}: {found:?}");
    }
}

#[test]
fn a_row_that_nobody_decided_is_named() {
    let dir = tempfile::tempdir().unwrap();
    every_kind(dir.path());
    let db = rusqlite::Connection::open(dir.path().join("study.db")).unwrap();
    // What was taken back is put in again.
    db.execute_batch(
        "INSERT INTO exclusion (decision, night_id, looked, reason, by, at) VALUES (4, 1, 'before', 'x', 'me', 'now')",
    )
    .unwrap();
    let found = faults(dir.path());
    let named = |f: &(FaultKind, String, String)| f.1 == "decision 4" && f.2.contains("by the log none");
    assert!(found.iter().any(named), "{found:?}");
}

#[test]
fn a_changed_picture_is_named_by_the_file_that_it_came_from() {
    let dir = tempfile::tempdir().unwrap();
    every_kind(dir.path());
    let study = Study::open(dir.path(), counterpane_store::Access::Read).unwrap();
    let Act::ClockSeen(act) = &study.decisions()[5].act else { panic!("decision 6 is what a clock showed") };
    let path = study.originals().path_of(&act.picture.as_ref().unwrap().sha256);
    std::fs::remove_file(&path).unwrap();
    std::fs::write(&path, b"another picture").unwrap();
    let found = faults(dir.path());
    assert!(
        matches!(found.as_slice(), [(FaultKind::OriginalChanged, _, said)] if said.contains("clock.png")),
        "{found:?}"
    );
}

#[test]
fn a_store_that_stands_aside_writes_nothing_into_the_study() {
    let (dir, aside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    every_kind(dir.path());
    let names = || {
        let mut names: Vec<_> = std::fs::read_dir(dir.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
        names.sort();
        let read = |name: &str| std::fs::read(dir.path().join(name)).unwrap();
        (names, read("study.db"), read("decisions.jsonl"), read("study.toml"))
    };
    let before = names();
    again(dir.path(), &aside.path().join("derived.db"));
    assert!(names() == before);
}
