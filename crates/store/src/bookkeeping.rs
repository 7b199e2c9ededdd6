//! What the reviewer decides beside imports: into the store and out of it.

use crate::acts::{ClockSeenAct, ClockSetAct, ExcludeAct, NoteAct};
use crate::recordings::{Checker, night_id, night_id_of, put_blanked, word};
use crate::refresh::refresh_nights;
use crate::{Act, Decision, Deed, StoreError, Study, withdraw};
use counterpane_model::{Acceptance, ClockReading, ClockSetting, Decided, Exclusion, Instant, NightNote, Note};
use rusqlite::{Connection, OptionalExtension, Row, Transaction};

impl Study {
    /// Carries out any decision but an import, which needs its file.
    ///
    /// # Errors
    /// The store refuses: the night is not declared, the recording does not stand, the decision cannot be
    /// taken back. Then nothing is logged.
    pub fn decide(&mut self, deed: Deed<'_>, act: &Act, checker: Checker<'_>) -> Result<(), StoreError> {
        self.carry_out(deed, act.clone(), |tx, decision| match act {
            Act::Import(_) => Err(StoreError::Word("an import is carried out with its file".into())),
            Act::Accept { code, participant, night, recording, locator, reason } => {
                let night = night_id(tx, participant, night)?;
                tx.execute(
                    "INSERT INTO acceptance (decision, code, night_id, recording, locator, reason, by, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                    (decision.n, code, night, recording, locator, reason, &decision.by, &decision.at),
                )?;
                refresh_nights(tx, vec![night], checker)
            }
            Act::Exclude(act) => exclude(tx, decision, act, checker),
            Act::Note(act) => note(tx, decision, act),
            Act::ClockSeen(act) => clock_seen(tx, decision, act, checker),
            Act::ClockSet(act) => clock_set(tx, decision, act, checker),
            Act::Count { recording, reason } => count(tx, decision, recording, reason, checker),
            // Their line in the log is all there is to them.
            Act::Protocol(_) | Act::Looked { .. } => Ok(()),
            Act::Withdraw { decision: of, reason } => withdraw::withdraw(tx, decision, *of, reason, checker),
        })
    }

    /// Returns all that was decided about a night and not taken back; nothing for a night that is not there.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn decided(&self, participant: &str, label: &str) -> Result<Decided, StoreError> {
        let id = night_id_of(self.db(), participant, label)?;
        id.map_or_else(|| Ok(Decided::default()), |id| load_decided(self.db(), id))
    }
}

fn exclude(
    tx: &Transaction<'_>,
    decision: &Decision,
    act: &ExcludeAct,
    checker: Checker<'_>,
) -> Result<(), StoreError> {
    let night = night_id(tx, &act.participant, &act.night)?;
    tx.execute(
        "INSERT INTO exclusion (decision, night_id, source, from_ms, until_ms, looked, reason, by, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        rusqlite::params![
            decision.n,
            night,
            act.source,
            act.stretch.map(|s| s.0.0),
            act.stretch.map(|s| s.1.0),
            act.looked.code(),
            act.reason,
            decision.by,
            decision.at
        ],
    )?;
    refresh_nights(tx, vec![night], checker)
}

fn note(tx: &Transaction<'_>, decision: &Decision, act: &NoteAct) -> Result<(), StoreError> {
    let night = night_id(tx, &act.participant, &act.night)?;
    tx.execute(
        "INSERT INTO night_note (decision, night_id, source, at_ms, until_ms, precision_ms, kind, text) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        rusqlite::params![
            decision.n,
            night,
            act.source,
            act.at.0,
            act.until.map(|t| t.0),
            act.precision_ms,
            act.kind.code(),
            act.text
        ],
    )?;
    Ok(())
}

fn clock_seen(
    tx: &Transaction<'_>,
    decision: &Decision,
    act: &ClockSeenAct,
    checker: Checker<'_>,
) -> Result<(), StoreError> {
    let night = night_id(tx, &act.participant, &act.night)?;
    if let Some(picture) = &act.picture {
        tx.execute("INSERT OR IGNORE INTO original (sha256, bytes) VALUES (?1, ?2)", (&picture.sha256, picture.bytes))?;
        if let Some(blanked) = &picture.blanked {
            put_blanked(tx, decision.n, &picture.sha256, blanked)?;
        }
    }
    tx.execute(
        "INSERT INTO clock_reading (decision, night_id, source, shown_ms, true_ms, precision_ms, picture, text) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        rusqlite::params![
            decision.n,
            night,
            act.source,
            act.shown.0,
            act.truth.0,
            act.precision_ms,
            act.picture.as_ref().map(|p| &p.sha256),
            act.text
        ],
    )?;
    refresh_nights(tx, vec![night], checker)
}

fn clock_set(
    tx: &Transaction<'_>,
    decision: &Decision,
    act: &ClockSetAct,
    checker: Checker<'_>,
) -> Result<(), StoreError> {
    let night = night_id(tx, &act.participant, &act.night)?;
    let points = serde_json::to_string(&act.points).map_err(|e| StoreError::Word(e.to_string()))?;
    tx.execute(
        "INSERT INTO clock_setting (decision, night_id, source, points, reason, by, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        rusqlite::params![decision.n, night, act.source, points, act.reason, decision.by, decision.at],
    )?;
    refresh_nights(tx, vec![night], checker)
}

fn count(
    tx: &Transaction<'_>,
    decision: &Decision,
    recording: &str,
    reason: &str,
    checker: Checker<'_>,
) -> Result<(), StoreError> {
    let found: Option<(i64, String, i64)> = tx
        .prepare_cached("SELECT night_id, coalesce(unit, scorer), place FROM recording WHERE key = ?1 AND stands")?
        .query_row([recording], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))
        .optional()?;
    let (night, source, place) = found.ok_or_else(|| StoreError::NoRecording(recording.to_owned()))?;
    tx.execute(
        "INSERT INTO choice (decision, night_id, source, place, reason, by, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        rusqlite::params![decision.n, night, source, place, reason, decision.by, decision.at],
    )?;
    refresh_nights(tx, vec![night], checker)
}

/// Reads what was decided about a night.
pub(crate) fn load_decided(db: &Connection, night: i64) -> Result<Decided, StoreError> {
    Ok(Decided {
        acceptances: all(
            db,
            "SELECT a.decision, a.code, n.participant, n.label, a.recording, a.locator, a.reason, a.by, a.at
             FROM acceptance a JOIN night n ON n.id = a.night_id WHERE a.night_id = ?1 ORDER BY a.decision",
            night,
            |r| Ok(acceptance_row(r)?),
        )?,
        exclusions: all(
            db,
            "SELECT decision, source, from_ms, until_ms, looked, reason, by, at FROM exclusion WHERE night_id = ?1 ORDER BY decision",
            night,
            exclusion_row,
        )?,
        clocks: all(
            db,
            "SELECT decision, source, points, reason, by, at FROM clock_setting c WHERE night_id = ?1 AND points <> '[]'
               AND decision = (SELECT max(x.decision) FROM clock_setting x WHERE x.night_id = c.night_id AND x.source = c.source)
             ORDER BY decision",
            night,
            setting_row,
        )?,
        readings: all(
            db,
            "SELECT decision, source, shown_ms, true_ms, precision_ms, picture, text FROM clock_reading WHERE night_id = ?1 ORDER BY decision",
            night,
            |r| {
                Ok(ClockReading {
                    decision: r.get(0)?,
                    source: r.get(1)?,
                    shown: Instant(r.get(2)?),
                    truth: Instant(r.get(3)?),
                    precision_ms: r.get(4)?,
                    picture: r.get(5)?,
                    text: r.get(6)?,
                })
            },
        )?,
        notes: all(
            db,
            "SELECT decision, source, at_ms, until_ms, precision_ms, kind, text FROM night_note WHERE night_id = ?1 ORDER BY at_ms, decision",
            night,
            note_row,
        )?,
    })
}

fn all<T>(
    db: &Connection,
    sql: &str,
    night: i64,
    read: impl Fn(&Row<'_>) -> Result<T, StoreError>,
) -> Result<Vec<T>, StoreError> {
    let mut select = db.prepare_cached(sql)?;
    let mut rows = select.query([night])?;
    let mut out = Vec::new();
    while let Some(row) = rows.next()? {
        out.push(read(row)?);
    }
    Ok(out)
}

/// Reads an acceptance from the columns decision, code, participant, label, recording, locator, reason, by, at.
fn acceptance_row(r: &Row<'_>) -> rusqlite::Result<Acceptance> {
    Ok(Acceptance {
        decision: r.get(0)?,
        code: r.get(1)?,
        participant: r.get(2)?,
        night: r.get(3)?,
        recording: r.get(4)?,
        locator: r.get(5)?,
        reason: r.get(6)?,
        by: r.get(7)?,
        at: r.get(8)?,
    })
}

fn exclusion_row(r: &Row<'_>) -> Result<Exclusion, StoreError> {
    let (from, until): (Option<i64>, Option<i64>) = (r.get(2)?, r.get(3)?);
    Ok(Exclusion {
        decision: r.get(0)?,
        source: r.get(1)?,
        stretch: from.zip(until).map(|(from, until)| (Instant(from), Instant(until))),
        looked: word(&r.get::<_, String>(4)?)?,
        reason: r.get(5)?,
        by: r.get(6)?,
        at: r.get(7)?,
    })
}

fn setting_row(r: &Row<'_>) -> Result<ClockSetting, StoreError> {
    let points: String = r.get(2)?;
    Ok(ClockSetting {
        decision: r.get(0)?,
        source: r.get(1)?,
        points: serde_json::from_str(&points).map_err(|e| StoreError::Word(e.to_string()))?,
        reason: r.get(3)?,
        by: r.get(4)?,
        decided_at: r.get(5)?,
    })
}

fn note_row(r: &Row<'_>) -> Result<NightNote, StoreError> {
    Ok(NightNote {
        decision: r.get(0)?,
        source: r.get(1)?,
        note: Note {
            at: Instant(r.get(2)?),
            until: r.get::<_, Option<i64>>(3)?.map(Instant),
            precision_ms: r.get(4)?,
            kind: word(&r.get::<_, String>(5)?)?,
            text: r.get(6)?,
            locator: None,
        },
    })
}
