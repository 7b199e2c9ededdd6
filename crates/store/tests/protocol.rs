//! What was laid down, when, and whether anybody had looked by then.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod common;

use common::{MARKS, NOW, TOML, import, recording, ring, study};
use counterpane_model::{Looked, Plan};
use counterpane_store::{Access, Act, Study};
use std::path::Path;

fn laid_down(study: &Study) -> Vec<(u64, bool, Looked)> {
    study.laid_down().into_iter().map(|l| (l.decision, l.act.text.is_empty(), l.act.looked)).collect()
}

/// Writes study.toml with a protocol and opens the study as a command that writes does.
fn with_protocol(root: &Path, protocol: &str) -> Study {
    std::fs::write(root.join("study.toml"), format!("{TOML}{protocol}")).unwrap();
    let mut study = Study::open(root, Access::Write).unwrap();
    study.note_protocol(NOW).unwrap();
    study
}

#[test]
fn a_protocol_is_noted_when_first_seen_and_at_each_change_with_whether_anybody_had_looked() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    study.note_protocol(NOW).unwrap();
    assert!(laid_down(&study).is_empty(), "no protocol is nothing to note");
    drop(study);
    let mut study = with_protocol(dir.path(), "[protocol]\nprimary = \"kappa\"\n");
    assert_eq!(laid_down(&study), [(1, false, Looked::Before)]);
    study.note_looked(NOW, "compare").unwrap();
    study.note_looked(NOW, "report").unwrap();
    assert_eq!(study.decisions().len(), 2, "the first look is noted and no other");
    drop(study);
    let study = with_protocol(dir.path(), "# a comment\n[protocol]\nmissing = \"left-out\"\nprimary = \"kappa\"\n");
    assert_eq!(study.laid_down().len(), 1, "the same in other words is no change");
    drop(study);
    let study = with_protocol(dir.path(), "[protocol]\nprimary = \"accuracy\"\n");
    drop(study);
    let study_again = with_protocol(dir.path(), "");
    let seen = [(1, false, Looked::Before), (3, false, Looked::After), (4, true, Looked::After)];
    assert_eq!(laid_down(&study_again), seen);
    let text = Plan { primary: Some(counterpane_model::PlanMeasure::Accuracy), ..Plan::default() }.text();
    assert_eq!(study_again.laid_down()[1].act.text, text);
}

#[test]
fn neither_a_protocol_nor_a_look_is_taken_back() {
    let dir = tempfile::tempdir().unwrap();
    drop(study(dir.path()));
    let mut study = with_protocol(dir.path(), "[protocol]\nprimary = \"kappa\"\n");
    study.note_looked(NOW, "compare").unwrap();
    let mut back = |decision| {
        study.decide(NOW, &Act::Withdraw { decision, reason: "r".into() }, &|_| Vec::new()).unwrap_err().to_string()
    };
    assert!(back(1).contains("a protocol is changed in study.toml"));
    assert!(back(2).contains("what was looked at was seen"));
}

#[test]
fn the_newest_export_counts_where_the_protocol_says_so_in_the_program_and_in_sql() {
    let dir = tempfile::tempdir().unwrap();
    let mut study = study(dir.path());
    for (bytes, marks) in [(&b"first"[..], &MARKS[..2]), (b"second", &MARKS[..3])] {
        import(&mut study, bytes, "text", &recording(ring(), marks), None);
    }
    drop(study);
    let counting = |study: &mut Study| -> (Vec<String>, String) {
        let stored = study.recordings("P01", "2026-04-04").unwrap();
        let keys = stored.iter().filter(|s| s.counts).map(|s| s.recording.key.clone()).collect();
        let answer = study.query("SELECT recording FROM night_summary WHERE counts", 10).unwrap();
        (keys, format!("{:?}", answer.rows))
    };
    let mut study = with_protocol(dir.path(), "");
    let (keys, sql) = counting(&mut study);
    assert_eq!(keys, ["P01/2026-04-04/ring-a-1"]);
    assert!(sql.contains("ring-a-1\"") && !sql.contains("#2"), "{sql}");
    drop(study);
    let mut study = with_protocol(dir.path(), "[protocol]\nexport = \"newest\"\n");
    let (keys, sql) = counting(&mut study);
    assert_eq!(keys, ["P01/2026-04-04/ring-a-1#2"]);
    assert!(sql.contains("#2"), "{sql}");
}
