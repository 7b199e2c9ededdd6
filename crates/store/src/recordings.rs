//! Recordings in and out of the store.

use crate::read_from;
use crate::refresh::{check, lay, refresh_nights};
use crate::{Act, Blanked, Deed, ImportAct, NightTaken, Original, StoreError, Study};
use counterpane_model::zone::{rules_version, second_rules_version};
use counterpane_model::{
    Claim, Finding, Instant, Lights, Mark, Night, NightFacts, NightKind, Note, Quantity, Recording, ScoredBy, Source,
    Span, TimeBasis, Vocabulary,
};
use rusqlite::{Connection, OptionalExtension, Row, Transaction};

/// A recording to be stored. Its `key` is given by the store.
#[derive(Clone, Debug)]
pub struct NewRecording {
    /// What the source says.
    pub recording: Recording,
    /// The first time of the source as it stands there.
    pub raw_time: String,
    /// What import found in it.
    pub findings: Vec<Finding>,
}

/// A recording of the store.
#[derive(Clone, Debug, PartialEq)]
pub struct Stored {
    /// Row of the table `recording`.
    pub id: i64,
    /// What the source says.
    pub recording: Recording,
    /// Which of several recordings of the same source and night it is, from 1.
    pub version: u32,
    /// Whether it is the one that counts in comparisons.
    pub counts: bool,
    /// SHA-256 of its original.
    pub original: String,
    /// Id of the definition that read it.
    pub definition: String,
    /// SHA-256 of that definition's text.
    pub definition_sha256: String,
    /// Number of the decision that brought it in.
    pub decision: u64,
    /// Version of the zone rules that decided.
    pub rules_version: String,
    /// Version of the zone rules that gave the second opinion.
    pub second_rules_version: String,
    /// The first time of the source as it stands there.
    pub raw_time: String,
}

/// Runs the checks on a night.
pub type Checker<'a> = &'a dyn Fn(&NightFacts<'_>) -> Vec<Finding>;

impl Study {
    /// Says whether the recording of that night which stands was read from the same original, by the same
    /// definition, with the same bindings: taking it again would change nothing.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn has_taken(&self, act: &ImportAct, night: &NightTaken) -> Result<bool, StoreError> {
        let mut select = self.db().prepare_cached(
            "SELECT r.decision FROM recording r JOIN night n ON n.id = r.night_id
             WHERE n.participant = ?1 AND n.label = ?2 AND r.original = ?3 AND r.unit IS ?4 AND r.scorer IS ?5
               AND r.stands",
        )?;
        let rows = select.query_map((&act.participant, &night.label, &act.original, &act.unit, &act.scorer), |r| {
            r.get::<_, u64>(0)
        })?;
        for n in rows {
            let index = usize::try_from(n?).ok().and_then(|n| n.checked_sub(1));
            let decision = index.and_then(|i| self.decisions().get(i));
            if decision.is_some_and(|d| matches!(&d.act, Act::Import(earlier) if earlier.took(act, night))) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Applies an import to the store: decision, originals (the file, those beside it, and what its rows were read from), definition, recordings, findings, strips and
    /// the checks of every night that it touches, in one transaction.
    ///
    /// Returns the keys of the recordings, in the order given.
    ///
    /// # Errors
    /// The store refuses; then nothing of it is stored, and nothing is logged.
    pub fn import(
        &mut self,
        deed: Deed<'_>,
        act: &ImportAct,
        originals: &[Original],
        definition_text: &str,
        recordings: &[NewRecording],
        checker: Checker<'_>,
    ) -> Result<Vec<String>, StoreError> {
        self.carry_out(deed, Act::Import(Box::new(act.clone())), |tx, decision| {
            for original in originals.iter().chain(&act.read_from()) {
                tx.execute(
                    "INSERT OR IGNORE INTO original (sha256, bytes) VALUES (?1, ?2)",
                    (&original.sha256, original.bytes),
                )?;
            }
            tx.execute(
                "INSERT OR IGNORE INTO definition (sha256, id, text) VALUES (?1, ?2, ?3)",
                (&act.definition_sha256, &act.definition, definition_text),
            )?;
            if let Some(blanked) = &act.blanked {
                put_blanked(tx, decision.n, &act.original, blanked)?;
            }
            for picture in &act.pictures {
                if let Some(blanked) = &picture.blanked {
                    put_blanked(tx, decision.n, &picture.sha256, blanked)?;
                }
            }
            read_from::put(tx, decision.n, act)?;
            let mut keys = Vec::new();
            let mut nights = Vec::new();
            for new in recordings {
                let night = night_id(tx, &new.recording.participant, &new.recording.night)?;
                keys.push(put_recording(tx, decision.n, act, night, new)?);
                if !nights.contains(&night) {
                    nights.push(night);
                }
            }
            refresh_nights(tx, nights, checker)?;
            Ok(keys)
        })
    }

    /// Runs the checks again on every night, each in its own transaction.
    ///
    /// # Errors
    /// The store cannot be read or written.
    pub fn recheck(&mut self, checker: Checker<'_>) -> Result<(), StoreError> {
        // A night looks for copies in others: what an earlier schema did not know comes first.
        self.each_night(
            "SELECT DISTINCT r.night_id FROM strip s JOIN recording r ON r.id = s.recording_id WHERE s.contents IS NULL",
            &|tx, night| lay(tx, night).map(drop),
        )?;
        self.each_night(
            "SELECT night_id FROM recording UNION SELECT night_id FROM acceptance UNION SELECT night_id FROM exclusion",
            &|tx, night| lay(tx, night).and_then(|laid| check(tx, night, &laid, checker)),
        )?;
        self.db().execute("DELETE FROM meta WHERE key = 'recheck'", [])?;
        Ok(())
    }

    /// Runs the checks again on one night.
    ///
    /// # Errors
    /// The night is not there; the store cannot be read or written.
    pub fn recheck_night(&mut self, participant: &str, label: &str, checker: Checker<'_>) -> Result<(), StoreError> {
        let tx = self.db_mut().transaction()?;
        let night = night_id(&tx, participant, label)?;
        refresh_nights(&tx, vec![night], checker)?;
        Ok(tx.commit()?)
    }

    fn each_night(
        &mut self,
        select: &str,
        work: &dyn Fn(&Transaction<'_>, i64) -> Result<(), StoreError>,
    ) -> Result<(), StoreError> {
        let ids: Vec<i64> = self.db().prepare(select)?.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
        for night in ids {
            let tx = self.db_mut().transaction()?;
            work(&tx, night)?;
            tx.commit()?;
        }
        Ok(())
    }

    /// Returns a night as the store knows it.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn stored_night(&self, participant: &str, label: &str) -> Result<Option<Night>, StoreError> {
        let id = night_id_of(self.db(), participant, label)?;
        id.map(|id| load_night(self.db(), id)).transpose()
    }

    /// Returns the recordings of a night that stand, references first, then by name and version.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn recordings(&self, participant: &str, label: &str) -> Result<Vec<Stored>, StoreError> {
        let id = night_id_of(self.db(), participant, label)?;
        id.map_or_else(|| Ok(Vec::new()), |id| load_recordings(self.db(), id))
    }
}

/// Returns the row of a night, if it is there.
pub(crate) fn night_id_of(db: &Connection, participant: &str, label: &str) -> Result<Option<i64>, StoreError> {
    let mut find = db.prepare_cached("SELECT id FROM night WHERE participant = ?1 AND label = ?2")?;
    Ok(find.query_row((participant, label), |r| r.get(0)).optional()?)
}

/// Returns the row of a night that a decision speaks of.
pub(crate) fn night_id(tx: &Transaction<'_>, participant: &str, label: &str) -> Result<i64, StoreError> {
    night_id_of(tx, participant, label)?
        .ok_or_else(|| StoreError::NightGone { participant: participant.to_owned(), label: label.to_owned() })
}

/// Stores that an original is kept without what identifies a person.
pub(crate) fn put_blanked(
    tx: &Transaction<'_>,
    decision: u64,
    original: &str,
    blanked: &Blanked,
) -> Result<(), StoreError> {
    let fields = serde_json::to_string(&blanked.fields).map_err(|e| StoreError::Word(e.to_string()))?;
    tx.execute(
        "INSERT OR IGNORE INTO blanked (decision, original, received, fields) VALUES (?1, ?2, ?3, ?4)",
        (decision, original, &blanked.received, fields),
    )?;
    Ok(())
}

fn put_recording(
    tx: &Transaction<'_>,
    decision: u64,
    act: &ImportAct,
    night: i64,
    new: &NewRecording,
) -> Result<String, StoreError> {
    let recording = &new.recording;
    let mut earlier = tx.prepare_cached(
        "SELECT id, place, original, stands FROM recording WHERE night_id = ?1 AND unit IS ?2 AND scorer IS ?3 ORDER BY version",
    )?;
    let rows: Vec<(i64, i64, String, bool)> = earlier
        .query_map((night, &act.unit, &act.scorer), |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))?
        .collect::<Result<_, _>>()?;
    let version = rows.len() as i64 + 1;
    let replaced = rows.iter().find(|(_, _, original, stands)| *stands && *original == act.original);
    let name = act.unit.as_deref().or(act.scorer.as_deref()).unwrap_or_default();
    let mut key = format!("{}/{}/{name}", recording.participant, recording.night);
    if version > 1 {
        key.push_str(&format!("#{version}"));
    }
    let words: Vec<&str> = recording.vocabulary.0.iter().map(|s| s.code()).collect();
    tx.prepare_cached(
        "INSERT INTO recording (key, night_id, unit, scorer, version, place, file, original, definition, decision, zone,
           time_basis, raw_time, rules_version, second_rules_version, vocabulary, step_ms, precision_ms)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18)",
    )?
    .execute(rusqlite::params![
        key,
        night,
        act.unit,
        act.scorer,
        version,
        replaced.map_or(version, |r| r.1),
        recording.file,
        act.original,
        act.definition_sha256,
        decision,
        recording.zone,
        recording.time_basis.code(),
        new.raw_time,
        rules_version(),
        second_rules_version(),
        words.join(" "),
        recording.step_ms,
        recording.precision_ms,
    ])?;
    let id = tx.last_insert_rowid();
    if let Some((old, ..)) = replaced {
        tx.execute("UPDATE recording SET replaced_by = ?1 WHERE id = ?2", (id, old))?;
    }
    put_contents(tx, id, recording)?;
    for finding in &new.findings {
        crate::findings::put_finding(tx, night, Some(id), "import", finding)?;
    }
    Ok(key)
}

fn put_contents(tx: &Transaction<'_>, id: i64, recording: &Recording) -> Result<(), StoreError> {
    let mut span = tx.prepare_cached(
        "INSERT INTO span (recording_id, seq, start_ms, end_ms, mark, label, locator) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?;
    for (seq, s) in recording.spans.iter().enumerate() {
        span.execute((id, seq, s.start.0, s.end.0, s.mark.code(), &s.label, s.locator.to_string()))?;
    }
    let mut claim = tx.prepare_cached(
        "INSERT INTO claim (recording_id, seq, quantity, value, rounding, locator) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?;
    for (seq, c) in recording.claims.iter().enumerate() {
        claim.execute((id, seq, c.quantity.code(), c.value, c.rounding, c.locator.to_string()))?;
    }
    let mut note = tx.prepare_cached(
        "INSERT INTO note (recording_id, seq, at_ms, until_ms, precision_ms, kind, text, locator) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    for (seq, n) in recording.notes.iter().enumerate() {
        let locator = n.locator.as_ref().map(ToString::to_string);
        note.execute((id, seq, n.at.0, n.until.map(|t| t.0), n.precision_ms, n.kind.code(), &n.text, locator))?;
    }
    Ok(())
}

/// Reads a word of the database as a value of the model.
pub(crate) fn word<T: std::str::FromStr>(text: &str) -> Result<T, StoreError>
where
    T::Err: std::fmt::Display,
{
    text.parse().map_err(|e: T::Err| StoreError::Word(e.to_string()))
}

pub(crate) fn load_night(db: &Connection, id: i64) -> Result<Night, StoreError> {
    let (night, kind) = db.prepare_cached("SELECT participant, label, kind, zone, from_ms, until_ms, lights_off_ms, lights_on_ms FROM night WHERE id = ?1")?.query_row([id], |r| {
        let at = |i| Ok::<_, rusqlite::Error>(r.get::<_, Option<i64>>(i)?.map(Instant));
        let night = Night {
            participant: r.get(0)?,
            label: r.get(1)?,
            kind: NightKind::Night,
            zone: r.get(3)?,
            window: (Instant(r.get(4)?), Instant(r.get(5)?)),
            lights: Lights { off: at(6)?, on: at(7)? },
        };
        Ok((night, r.get::<_, String>(2)?))
    })?;
    let kinds = [NightKind::Night, NightKind::Day, NightKind::Nap];
    let kind = kinds.into_iter().find(|k| k.code() == kind).ok_or(StoreError::Word(kind))?;
    Ok(Night { kind, ..night })
}

/// A row of `recording` before its words are read.
struct RecordingRow {
    stored: Stored,
    place: i64,
    time_basis: String,
    vocabulary: String,
}

pub(crate) fn load_recordings(db: &Connection, night: i64) -> Result<Vec<Stored>, StoreError> {
    let mut select = db.prepare_cached(
        "SELECT r.id, r.key, n.participant, n.label, r.unit, u.device, r.scorer, sc.scored_by, r.version, r.place, r.file,
           r.original, d.id, r.definition, r.decision, r.zone, r.time_basis, r.rules_version, r.second_rules_version,
           r.vocabulary, r.step_ms, r.raw_time, r.precision_ms
         FROM recording r JOIN night n ON n.id = r.night_id JOIN definition d ON d.sha256 = r.definition
         LEFT JOIN unit u ON u.name = r.unit LEFT JOIN scorer sc ON sc.code = r.scorer
         WHERE r.night_id = ?1 AND r.stands
         ORDER BY r.scorer IS NULL, coalesce(u.device, r.scorer), coalesce(r.unit, r.scorer),
           (SELECT max(c.decision) FROM choice c WHERE c.night_id = r.night_id AND c.place = r.place
              AND c.source = coalesce(r.unit, r.scorer)) DESC NULLS LAST,
           CASE (SELECT value FROM meta WHERE key = 'export_rule') WHEN 'newest' THEN -r.place ELSE r.place END",
    )?;
    let rows: Vec<RecordingRow> = select.query_map([night], recording_row)?.collect::<Result<_, _>>()?;
    let mut out: Vec<Stored> = Vec::with_capacity(rows.len());
    for mut row in rows {
        row.stored.counts = !out.iter().any(|s| s.recording.source == row.stored.recording.source);
        out.push(filled(db, row)?);
    }
    Ok(out)
}

fn recording_row(r: &Row<'_>) -> rusqlite::Result<RecordingRow> {
    let unit: Option<String> = r.get(4)?;
    let source = match unit {
        Some(unit) => Source::Device { device: r.get(5)?, unit },
        None => {
            let by: String = r.get(7)?;
            let scored_by = if by == "algorithm" { ScoredBy::Algorithm } else { ScoredBy::Human };
            Source::Reference { scorer: r.get(6)?, scored_by }
        }
    };
    let recording = Recording {
        key: r.get(1)?,
        source,
        participant: r.get(2)?,
        night: r.get(3)?,
        zone: r.get(15)?,
        time_basis: TimeBasis::ZoneOfNight,
        vocabulary: Vocabulary::default(),
        step_ms: r.get(20)?,
        precision_ms: r.get(22)?,
        spans: Vec::new(),
        claims: Vec::new(),
        notes: Vec::new(),
        file: r.get(10)?,
    };
    let stored = Stored {
        id: r.get(0)?,
        recording,
        version: r.get(8)?,
        counts: false,
        original: r.get(11)?,
        definition: r.get(12)?,
        definition_sha256: r.get(13)?,
        decision: r.get(14)?,
        rules_version: r.get(17)?,
        second_rules_version: r.get(18)?,
        raw_time: r.get(21)?,
    };
    Ok(RecordingRow { stored, place: r.get(9)?, time_basis: r.get(16)?, vocabulary: r.get(19)? })
}

fn filled(db: &Connection, row: RecordingRow) -> Result<Stored, StoreError> {
    let mut stored = row.stored;
    debug_assert!(row.place >= 1);
    let recording = &mut stored.recording;
    recording.time_basis =
        TimeBasis::ALL.into_iter().find(|b| b.code() == row.time_basis).ok_or(StoreError::Word(row.time_basis))?;
    recording.vocabulary = Vocabulary(row.vocabulary.split_whitespace().map(word).collect::<Result<_, _>>()?);
    recording.spans = load_spans(db, stored.id)?;
    recording.claims = load_claims(db, stored.id)?;
    recording.notes = load_notes(db, stored.id)?;
    Ok(stored)
}

fn load_spans(db: &Connection, id: i64) -> Result<Vec<Span>, StoreError> {
    let mut select = db.prepare_cached(
        "SELECT start_ms, end_ms, mark, label, locator FROM span WHERE recording_id = ?1 ORDER BY seq",
    )?;
    let mut rows = select.query([id])?;
    let mut out = Vec::new();
    while let Some(r) = rows.next()? {
        out.push(Span {
            start: Instant(r.get(0)?),
            end: Instant(r.get(1)?),
            mark: word::<Mark>(r.get_ref(2)?.as_str().map_err(rusqlite::Error::from)?)?,
            label: r.get(3)?,
            locator: word(r.get_ref(4)?.as_str().map_err(rusqlite::Error::from)?)?,
        });
    }
    Ok(out)
}

fn load_claims(db: &Connection, id: i64) -> Result<Vec<Claim>, StoreError> {
    let mut select =
        db.prepare_cached("SELECT quantity, value, rounding, locator FROM claim WHERE recording_id = ?1 ORDER BY seq")?;
    let mut rows = select.query([id])?;
    let mut out = Vec::new();
    while let Some(r) = rows.next()? {
        out.push(Claim {
            quantity: word::<Quantity>(&r.get::<_, String>(0)?)?,
            value: r.get(1)?,
            rounding: r.get(2)?,
            locator: word(&r.get::<_, String>(3)?)?,
        });
    }
    Ok(out)
}

fn load_notes(db: &Connection, id: i64) -> Result<Vec<Note>, StoreError> {
    let mut select = db.prepare_cached(
        "SELECT at_ms, until_ms, precision_ms, kind, text, locator FROM note WHERE recording_id = ?1 ORDER BY seq",
    )?;
    let mut rows = select.query([id])?;
    let mut out = Vec::new();
    while let Some(r) = rows.next()? {
        out.push(Note {
            at: Instant(r.get(0)?),
            until: r.get::<_, Option<i64>>(1)?.map(Instant),
            precision_ms: r.get(2)?,
            kind: word(&r.get::<_, String>(3)?)?,
            text: r.get(4)?,
            locator: r.get::<_, Option<String>>(5)?.map(|t| word(&t)).transpose()?,
        });
    }
    Ok(out)
}
