//! What follows from a night's recordings and decisions: its strips, and what the checks find.

use crate::StoreError;
use crate::decisions::hash;
use crate::recordings::{Checker, Stored, load_night, load_recordings};
use counterpane_model::contents::contents;
use counterpane_model::{Grid, Instant, Night, NightFacts, ReadBy, Recording, Twin, Wearing, WearingPair};
use rusqlite::{Connection, OptionalExtension, Row, Transaction};
use std::collections::BTreeSet;

/// Works nights out again that changed: their strips, their findings, and the findings of every other night
/// that has copies of what changed.
pub(crate) fn refresh_nights(
    tx: &Transaction<'_>,
    mut nights: Vec<i64>,
    checker: Checker<'_>,
) -> Result<(), StoreError> {
    nights.sort_unstable();
    nights.dedup();
    let before = contents_of(tx, &nights)?;
    let laid: Vec<(i64, Laid)> =
        nights.iter().map(|night| Ok((*night, lay(tx, *night)?))).collect::<Result<_, StoreError>>()?;
    let after = contents_of(tx, &nights)?;
    let mut others = BTreeSet::new();
    // Of two copies the later one is told, so only those after a recording depend on it: none, after one that is new.
    let mut later = tx.prepare_cached(
        "SELECT r.night_id FROM strip s JOIN recording r ON r.id = s.recording_id
         WHERE s.contents = ?1 AND s.recording_id > ?2",
    )?;
    for (recording, contents) in before.symmetric_difference(&after) {
        for night in later.query_map((contents, recording), |r| r.get::<_, i64>(0))? {
            others.insert(night?);
        }
    }
    for (night, laid) in &laid {
        others.remove(night);
        check(tx, *night, laid, checker)?;
    }
    others.into_iter().try_for_each(|night| check(tx, night, &Laid::of(tx, night)?, checker))
}

/// Returns each recording of the nights that has contents to compare, with their hash.
fn contents_of(tx: &Transaction<'_>, nights: &[i64]) -> Result<BTreeSet<(i64, String)>, StoreError> {
    let mut out = BTreeSet::new();
    let mut select = tx.prepare_cached(
        "SELECT s.recording_id, s.contents FROM recording r JOIN strip s ON s.recording_id = r.id
         WHERE r.night_id = ?1 AND s.contents <> ''",
    )?;
    for night in nights {
        for row in select.query_map([night], |r| Ok((r.get(0)?, r.get(1)?)))? {
            out.insert(row?);
        }
    }
    Ok(out)
}

/// A night with its recordings that stand: read once, because spans are most of the work.
pub(crate) struct Laid {
    night: Night,
    stored: Vec<Stored>,
}

impl Laid {
    fn of(db: &Connection, id: i64) -> Result<Laid, StoreError> {
        Ok(Laid { night: load_night(db, id)?, stored: load_recordings(db, id)? })
    }
}

/// Lays every recording of a night on the night's grid again, as its source gave it.
pub(crate) fn lay(tx: &Transaction<'_>, id: i64) -> Result<Laid, StoreError> {
    let laid = Laid::of(tx, id)?;
    let Laid { night, stored } = &laid;
    let anchor = stored
        .iter()
        .filter(|s| s.recording.source.is_reference() && s.counts)
        .find_map(|s| s.recording.bounds())
        .map(|b| b.0);
    tx.prepare_cached(
        "DELETE FROM strip WHERE recording_id IN (SELECT id FROM recording WHERE night_id = ?1 AND NOT stands)",
    )?
    .execute([id])?;
    for s in stored {
        put_strip(tx, s, anchor)?;
        if let Some((from, until)) = s.recording.bounds() {
            crate::study::put_stretches(tx, &night.zone, from, until)?;
        }
    }
    Ok(laid)
}

/// Runs the checks on a night that is laid out, on corrected clocks, and stores what they find.
pub(crate) fn check(tx: &Transaction<'_>, id: i64, laid: &Laid, checker: Checker<'_>) -> Result<(), StoreError> {
    let Laid { night, stored } = laid;
    tx.prepare_cached("DELETE FROM finding WHERE night_id = ?1 AND origin = 'check'")?.execute([id])?;
    let decided = crate::bookkeeping::load_decided(tx, id)?;
    let recordings: Vec<Recording> =
        stored.iter().filter(|s| s.counts).map(|s| decided.clocked(&s.recording)).collect();
    let counting = stored.iter().filter(|s| s.counts);
    let read_by: Vec<ReadBy> =
        counting.map(|s| ReadBy { recording: s.recording.key.clone(), definition: s.definition.clone() }).collect();
    let facts = NightFacts {
        night,
        recordings: &recordings,
        decided: &decided,
        imported: &crate::findings::imported(tx, id)?,
        wearings: &wearings(tx, id)?,
        twins: &twins(tx, stored)?,
        read_by: &read_by,
    };
    for finding in checker(&facts) {
        let of = finding.recording.as_ref().and_then(|key| stored.iter().find(|s| s.recording.key == *key));
        crate::findings::put_finding(tx, id, of.map(|s| s.id), "check", &finding)?;
    }
    Ok(())
}

/// Returns for each recording that counts the first one before it with the same contents: of another source, or of
/// another night, because a source that says the same again in a later export is no copy.
fn twins(db: &Connection, stored: &[Stored]) -> Result<Vec<Twin>, StoreError> {
    let mut select = db.prepare_cached(
        "SELECT o.key, (SELECT min(p.start_ms) FROM span p WHERE p.recording_id = o.id)
         FROM strip s JOIN strip t ON t.contents = s.contents JOIN recording o ON o.id = t.recording_id
           JOIN recording r ON r.id = s.recording_id
         WHERE s.recording_id = ?1 AND s.contents <> '' AND t.recording_id < s.recording_id AND o.stands
           AND (o.night_id <> r.night_id OR o.unit IS NOT r.unit OR o.scorer IS NOT r.scorer)
         ORDER BY t.recording_id LIMIT 1",
    )?;
    let mut out = Vec::new();
    for s in stored.iter().filter(|s| s.counts) {
        let twin = |r: &Row<'_>| {
            Ok(Twin { recording: s.recording.key.clone(), other: r.get(0)?, other_start: Instant(r.get(1)?) })
        };
        out.extend(select.query_row([s.id], twin).optional()?);
    }
    Ok(out)
}

fn wearings(db: &Connection, night: i64) -> Result<Vec<WearingPair>, StoreError> {
    let mut select = db.prepare_cached(
        "SELECT w.unit, u.device, n.participant, n.label, w.firmware, w.app, w.before_unit, w.before_night_id
         FROM wearing w JOIN unit u ON u.name = w.unit JOIN night n ON n.id = w.night_id
         WHERE w.night_id = ?1 ORDER BY w.unit",
    )?;
    let rows: Vec<(Wearing, Option<String>, Option<i64>)> =
        select.query_map([night], |r| Ok((wearing(r)?, r.get(6)?, r.get(7)?)))?.collect::<Result<_, _>>()?;
    let mut earlier = db.prepare_cached(
        "SELECT w.unit, u.device, n.participant, n.label, w.firmware, w.app
         FROM wearing w JOIN unit u ON u.name = w.unit JOIN night n ON n.id = w.night_id
         WHERE w.unit = ?1 AND w.night_id = ?2",
    )?;
    let mut out = Vec::with_capacity(rows.len());
    for (now, unit, night) in rows {
        let before = earlier.query_row((unit, night), wearing).optional()?;
        out.push(WearingPair { now, before });
    }
    Ok(out)
}

fn wearing(r: &Row<'_>) -> rusqlite::Result<Wearing> {
    Ok(Wearing {
        unit: r.get(0)?,
        device: r.get(1)?,
        participant: r.get(2)?,
        night: r.get(3)?,
        firmware: r.get(4)?,
        app: r.get(5)?,
    })
}

/// Epochs beyond this are not laid out: the views number them only so far.
const MOST_EPOCHS: usize = 5760;

fn put_strip(tx: &Transaction<'_>, stored: &Stored, anchor: Option<Instant>) -> Result<(), StoreError> {
    let Some((from, until)) = stored.recording.bounds() else { return Ok(()) };
    let mut grid = Grid::covering(anchor.unwrap_or(from), from, until);
    grid.n = grid.n.min(MOST_EPOCHS);
    let letters: String =
        counterpane_model::grid::project(&stored.recording.spans, grid).into_iter().map(|c| c.letter()).collect();
    // Spans never change once they are stored, so what was worked out of them stays.
    let known: Option<String> = tx
        .prepare_cached("SELECT contents FROM strip WHERE recording_id = ?1")?
        .query_row([stored.id], |r| r.get(0))
        .optional()?
        .flatten();
    let contents = known.unwrap_or_else(|| {
        contents(&stored.recording.spans).map_or_else(String::new, |c| hash(c.as_bytes())[..32].to_owned())
    });
    tx.prepare_cached(
        "INSERT OR REPLACE INTO strip (recording_id, start_ms, letters, contents) VALUES (?1, ?2, ?3, ?4)",
    )?
    .execute((stored.id, grid.start.0, letters, contents))?;
    Ok(())
}
