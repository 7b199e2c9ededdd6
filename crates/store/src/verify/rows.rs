//! The rows of the store counted against the log.

use super::{Fault, FaultKind, count};
use crate::decisions::{Log, hash};
use crate::{Act, Decision, StoreError, read_from};
use rusqlite::Connection;
use std::collections::{BTreeMap, BTreeSet};

/// How many faults of one kind are named.
const NAMED: usize = 20;

/// Proves that the store holds the decisions of the log, and for each of them the rows that it should have.
/// Returns what was counted, the faults, and how many decisions the store has still to take in.
pub(super) fn prove(db: &Connection, log: &Log) -> Result<(String, Vec<Fault>, u64), StoreError> {
    let mut faults = Vec::new();
    let applied = decisions(db, log, &mut faults)?;
    let pending = log.decisions().len().saturating_sub(applied.len()) as u64;
    deeds(db, applied, &mut faults)?;
    kept(db, applied, &mut faults)?;
    strips(db, &mut faults)?;
    let n = |sql: &str| db.query_row(sql, [], |r| r.get::<_, u64>(0));
    let said = format!(
        "{}, {} of {}, {}",
        count(n("SELECT count(*) FROM night")?, "night"),
        count(n("SELECT count(*) FROM recording")?, "recording"),
        count(applied.len() as u64, "decision"),
        count(n("SELECT count(*) FROM span")?, "span")
    );
    Ok((said, faults, pending))
}

fn fault(place: impl Into<String>, message: String) -> Fault {
    Fault { kind: FaultKind::StoreRows, place: place.into(), message }
}

/// Compares the table `decision` with the log; returns the decisions that the store holds.
fn decisions<'l>(db: &Connection, log: &'l Log, faults: &mut Vec<Fault>) -> Result<&'l [Decision], StoreError> {
    let mut select = db.prepare("SELECT n, at, by, act, hash FROM decision ORDER BY n")?;
    let mut rows = select.query([])?;
    let mut n = 0;
    while let Some(row) = rows.next()? {
        let number: u64 = row.get(0)?;
        let line = log.decisions().get(n);
        let Some(line) = line.filter(|d| d.n == number) else {
            let message = format!(
                "study.db holds decision {number} and the log does not: decisions.jsonl was shortened or changed"
            );
            faults.push(Fault { kind: FaultKind::LogBroken, place: "decisions.jsonl".into(), message });
            break;
        };
        let (at, by, act, sha): (String, String, String, String) = (row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?);
        if sha != log.hash_of(number) {
            let message = "it is not the line that study.db was made from".into();
            let place = format!("decisions.jsonl line {number}");
            faults.push(Fault { kind: FaultKind::LogBroken, place, message });
        } else if at != line.at || by != line.by || serde_json::from_str::<Act>(&act).ok().as_ref() != Some(&line.act) {
            faults.push(fault(format!("decision {number}"), "its row differs from its line in the log".into()));
        }
        n += 1;
    }
    Ok(log.decisions().get(..n).unwrap_or_default())
}

/// The table that holds the one row of a decision which is no import.
fn table_of(act: &Act) -> Option<&'static str> {
    match act {
        Act::Import(_) | Act::Protocol(_) | Act::Looked { .. } => None,
        Act::Accept { .. } => Some("acceptance"),
        Act::Exclude(_) => Some("exclusion"),
        Act::Note(_) => Some("night_note"),
        Act::ClockSeen(_) => Some("clock_reading"),
        Act::ClockSet(_) => Some("clock_setting"),
        Act::Count { .. } => Some("choice"),
        Act::Withdraw { .. } => Some("withdrawal"),
    }
}

/// Looks for the rows of each decision.
fn deeds(db: &Connection, applied: &[Decision], faults: &mut Vec<Fault>) -> Result<(), StoreError> {
    let withdrawn: BTreeSet<u64> = applied
        .iter()
        .filter_map(|d| if let Act::Withdraw { decision, .. } = &d.act { Some(*decision) } else { None })
        .collect();
    let mut expected: BTreeMap<(&str, u64), Vec<String>> = BTreeMap::new();
    for decision in applied {
        match (&decision.act, table_of(&decision.act)) {
            (Act::Import(act), _) => {
                let nights = act.nights.iter().map(|n| format!("{}/{}", act.participant, n.label)).collect();
                expected.insert(("recording", decision.n), nights);
            }
            (_, Some(table)) if !withdrawn.contains(&decision.n) => {
                expected.insert((table, decision.n), vec![String::new()]);
            }
            _ => {}
        }
    }
    expected.values_mut().for_each(|nights| nights.sort_unstable());
    let found = rows_by_decision(db)?;
    let numbers: BTreeSet<&(&str, u64)> = expected.keys().chain(found.keys()).collect();
    let none = Vec::new();
    for key in numbers {
        let (should, is) = (expected.get(key).unwrap_or(&none), found.get(key).unwrap_or(&none));
        if should != is && faults.len() < NAMED {
            let told = |rows: &[String]| match rows {
                [] => "none".to_owned(),
                rows if rows.iter().all(String::is_empty) => rows.len().to_string(),
                rows => rows.join(", "),
            };
            let message = format!("rows of `{}`: {}, and by the log {}", key.0, told(is), told(should));
            faults.push(fault(format!("decision {}", key.1), message));
        }
    }
    Ok(())
}

/// The nights of the recordings of each import, each once, and an empty text for each row of other decisions.
fn rows_by_decision(db: &Connection) -> Result<BTreeMap<(&'static str, u64), Vec<String>>, StoreError> {
    let mut out: BTreeMap<(&'static str, u64), Vec<String>> = BTreeMap::new();
    let mut add = |table: &'static str, sql: &str| -> Result<(), StoreError> {
        let mut select = db.prepare(sql)?;
        let mut rows = select.query([])?;
        while let Some(row) = rows.next()? {
            out.entry((table, row.get(0)?)).or_default().push(row.get(1)?);
        }
        Ok(())
    };
    add(
        "recording",
        "SELECT DISTINCT r.decision, n.participant || '/' || n.label FROM recording r JOIN night n ON n.id = r.night_id ORDER BY 1, 2",
    )?;
    for table in ["acceptance", "exclusion", "night_note", "clock_reading", "clock_setting", "choice"] {
        add(table, &format!("SELECT decision, '' FROM {table}"))?;
    }
    add("withdrawal", "SELECT by_decision, '' FROM withdrawal")?;
    Ok(out)
}

/// Compares the tables `original` and `definition` with what the log names.
fn kept(db: &Connection, applied: &[Decision], faults: &mut Vec<Fault>) -> Result<(), StoreError> {
    let named: Vec<_> = applied.iter().flat_map(|d| d.act.kept()).collect();
    for (table, is_definition) in [("original", false), ("definition", true)] {
        let should: BTreeSet<&str> =
            named.iter().filter(|k| k.is_definition == is_definition).map(|k| k.sha256.as_str()).collect();
        let mut select = db.prepare(&format!("SELECT sha256 FROM {table}"))?;
        let is: BTreeSet<String> = select.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
        let is: BTreeSet<&str> = is.iter().map(String::as_str).collect();
        for sha in should.difference(&is).take(NAMED) {
            faults.push(fault(format!("table {table}"), format!("the log names {sha}, and the table does not")));
        }
        for sha in is.difference(&should).take(NAMED) {
            faults.push(fault(format!("table {table}"), format!("it names {sha}, and no decision does")));
        }
    }
    blanked(db, applied, faults)?;
    let imports = applied.iter().filter_map(|d| if let Act::Import(act) = &d.act { Some((d.n, &**act)) } else { None });
    for n in read_from::differing(db, imports)?.into_iter().take(NAMED) {
        let message = "its pictures, or the readings that it settles, are other ones in the log and in the tables";
        faults.push(fault(format!("decision {n}"), message.into()));
    }
    let mut select = db.prepare("SELECT sha256, id, text FROM definition")?;
    let mut rows = select.query([])?;
    while let Some(row) = rows.next()? {
        let (sha, id, text): (String, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
        if hash(text.as_bytes()) != sha {
            faults.push(fault("table definition", format!("the text of `{id}` is not what its hash was made from")));
        }
    }
    Ok(())
}

/// Compares the table `blanked` with what the log says of files as received.
fn blanked(db: &Connection, applied: &[Decision], faults: &mut Vec<Fault>) -> Result<(), StoreError> {
    let kept = applied.iter().flat_map(|d| d.act.kept().into_iter().map(move |k| (d.n, k)));
    let should: BTreeSet<(u64, String, String)> =
        kept.filter_map(|(n, k)| k.received.map(|received| (n, k.sha256, received))).collect();
    let mut select = db.prepare("SELECT decision, original, received FROM blanked")?;
    let rows = select.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?;
    let is: BTreeSet<(u64, String, String)> = rows.collect::<Result<_, _>>()?;
    for (n, original, received) in should.symmetric_difference(&is).take(NAMED) {
        let message = format!(
            "that {received} was received and is kept as {original} stands in the log or the table, not in both"
        );
        faults.push(fault(format!("decision {n}"), message));
    }
    Ok(())
}

/// A recording that stands and has spans has a strip, and no other has.
fn strips(db: &Connection, faults: &mut Vec<Fault>) -> Result<(), StoreError> {
    let sql = "SELECT r.key, s.recording_id IS NULL FROM recording r LEFT JOIN strip s ON s.recording_id = r.id
       WHERE (s.recording_id IS NOT NULL) <> (r.stands AND EXISTS (SELECT 1 FROM span p WHERE p.recording_id = r.id)) LIMIT 20";
    let mut select = db.prepare(sql)?;
    let mut rows = select.query([])?;
    while let Some(row) = rows.next()? {
        let (key, lacks): (String, bool) = (row.get(0)?, row.get(1)?);
        let message = if lacks { "it is not laid out in epochs" } else { "it is laid out in epochs and should not be" };
        faults.push(fault(key, message.into()));
    }
    Ok(())
}
