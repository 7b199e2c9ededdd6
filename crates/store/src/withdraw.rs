//! Decisions that are taken back. The log keeps both lines; nothing is overwritten.

use crate::recordings::Checker;
use crate::refresh::refresh_nights;
use crate::{Act, Decision, StoreError};
use rusqlite::{OptionalExtension, Transaction};

/// Tables that hold one row for one decision and speak of a night.
const OF_A_NIGHT: [&str; 6] = ["acceptance", "exclusion", "night_note", "clock_reading", "clock_setting", "choice"];

/// Takes decision `of` back.
pub(crate) fn withdraw(
    tx: &Transaction<'_>,
    decision: &Decision,
    of: u64,
    reason: &str,
    checker: Checker<'_>,
) -> Result<(), StoreError> {
    let not = |why| Err(StoreError::NotWithdrawable { decision: of, why });
    let back: Option<u64> =
        tx.query_row("SELECT by_decision FROM withdrawal WHERE decision = ?1", [of], |r| r.get(0)).optional()?;
    if back.is_some() {
        return not("it was taken back before");
    }
    let is_withdrawal: bool =
        tx.query_row("SELECT count(*) FROM withdrawal WHERE by_decision = ?1", [of], |r| Ok(r.get::<_, i64>(0)? > 0))?;
    if is_withdrawal {
        return not("it takes another one back itself; decide that one anew instead");
    }
    let there: bool =
        tx.query_row("SELECT count(*) FROM decision WHERE n = ?1", [of], |r| Ok(r.get::<_, i64>(0)? > 0))?;
    if !there || of >= decision.n {
        return not("there is no such decision");
    }
    let act: String = tx.query_row("SELECT act FROM decision WHERE n = ?1", [of], |r| r.get(0))?;
    match serde_json::from_str(&act).map_err(|e| StoreError::Word(e.to_string()))? {
        Act::Protocol(_) => return not("a protocol is changed in study.toml, and the log keeps what it was"),
        Act::Looked { .. } => return not("what was looked at was seen"),
        _ => {}
    }
    let mut nights = take_back_recordings(tx, decision.n, of)?;
    for table in OF_A_NIGHT {
        let mut delete = tx.prepare(&format!("DELETE FROM {table} WHERE decision = ?1 RETURNING night_id"))?;
        let of_table: Vec<i64> = delete.query_map([of], |r| r.get(0))?.collect::<Result<_, _>>()?;
        nights.extend(of_table);
    }
    tx.execute("INSERT INTO withdrawal (decision, by_decision, reason) VALUES (?1, ?2, ?3)", (of, decision.n, reason))?;
    refresh_nights(tx, nights, checker)
}

/// Marks the recordings of an import as taken back and lets what they replaced stand again. Returns the
/// nights that they belong to.
fn take_back_recordings(tx: &Transaction<'_>, by: u64, of: u64) -> Result<Vec<i64>, StoreError> {
    let rows: Vec<(i64, i64, Option<i64>)> = tx
        .prepare("SELECT id, night_id, replaced_by FROM recording WHERE decision = ?1")?
        .query_map([of], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?
        .collect::<Result<_, _>>()?;
    for (id, _, successor) in &rows {
        tx.execute("UPDATE recording SET withdrawn_by = ?1 WHERE id = ?2", (by, id))?;
        // What it took the place of is followed by what took its own place, or stands again.
        tx.execute("UPDATE recording SET replaced_by = ?1 WHERE replaced_by = ?2", (successor, id))?;
    }
    Ok(rows.into_iter().map(|r| r.1).collect())
}
