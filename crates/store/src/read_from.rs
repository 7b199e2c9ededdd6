//! What the rows of a sheet were read from: pictures, and the two readings that a settled sheet follows from.

use crate::{ImportAct, Original, StoreError};
use rusqlite::{Connection, Transaction};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// The two readings that a settled sheet follows from, and how far they were apart.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settles {
    /// The first reading.
    pub first: ReadingKept,
    /// The second, by somebody who had not seen the first.
    pub second: ReadingKept,
    /// Rows, once those that belong together were laid beside each other.
    pub rows: u64,
    /// How many of them differed, beyond the two precisions together.
    pub rows_differing: u64,
    /// That much, in milliseconds.
    pub within_ms: i64,
    /// Seconds of which at least one reading says something.
    pub seconds: i64,
    /// How many of them the two told differently, precision or not.
    pub seconds_differing: i64,
}

/// A reading that is kept as an original.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingKept {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Number of bytes.
    pub bytes: u64,
    /// Its name as it was received.
    pub file: String,
}

impl ImportAct {
    /// Returns the originals that its rows were read from: pictures and readings.
    #[must_use]
    pub fn read_from(&self) -> Vec<Original> {
        let pictures = self.pictures.iter().map(|p| (&p.sha256, p.bytes));
        let readings = self.settles.iter().flat_map(|s| [&s.first, &s.second]).map(|r| (&r.sha256, r.bytes));
        pictures.chain(readings).map(|(sha256, bytes)| Original { sha256: sha256.clone(), bytes }).collect()
    }

    /// Says whether this import has all the pictures and readings that another one would bring.
    pub(crate) fn has_all_of(&self, other: &ImportAct) -> bool {
        let has = |sha256: &str, received: Option<&str>| {
            self.pictures.iter().any(|p| {
                let own = p.blanked.as_ref().map(|b| b.received.as_str());
                p.sha256 == sha256 || (own.is_some() && own == received)
            })
        };
        let pictures = other.pictures.iter().all(|p| has(&p.sha256, p.blanked.as_ref().map(|b| b.received.as_str())));
        pictures && (other.settles.is_none() || other.settles == self.settles)
    }
}

type PictureRow = (u64, u64, String, String);
type SettlementRow = (u64, [String; 2], [i64; 5]);

fn picture_rows(decision: u64, act: &ImportAct) -> impl Iterator<Item = PictureRow> {
    (0..).zip(&act.pictures).map(move |(seq, p)| (decision, seq, p.sha256.clone(), p.file.clone()))
}

fn settlement_row(decision: u64, act: &ImportAct) -> Option<SettlementRow> {
    let s = act.settles.as_ref()?;
    let whole = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
    let numbers = [whole(s.rows), whole(s.rows_differing), s.within_ms, s.seconds, s.seconds_differing];
    Some((decision, [s.first.sha256.clone(), s.second.sha256.clone()], numbers))
}

/// Stores what the rows of an import were read from; the originals themselves are there already.
pub(crate) fn put(tx: &Transaction<'_>, decision: u64, act: &ImportAct) -> Result<(), StoreError> {
    for row in picture_rows(decision, act) {
        tx.execute("INSERT INTO picture (decision, seq, original, file) VALUES (?1, ?2, ?3, ?4)", row)?;
    }
    if let Some((decision, [first, second], [rows, differing, within, seconds, apart])) = settlement_row(decision, act)
    {
        tx.execute(
            "INSERT INTO settlement (decision, first, second, rows, rows_differing, within_ms, seconds, seconds_differing)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            (decision, first, second, rows, differing, within, seconds, apart),
        )?;
    }
    Ok(())
}

/// Returns the decisions of whose pictures and readings the store and the log say different things.
pub(crate) fn differing<'a>(
    db: &Connection,
    imports: impl Iterator<Item = (u64, &'a ImportAct)> + Clone,
) -> Result<BTreeSet<u64>, StoreError> {
    let should: BTreeSet<PictureRow> = imports.clone().flat_map(|(n, act)| picture_rows(n, act)).collect();
    let mut select = db.prepare("SELECT decision, seq, original, file FROM picture")?;
    let rows = select.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))?;
    let is: BTreeSet<PictureRow> = rows.collect::<Result<_, _>>()?;
    let mut out: BTreeSet<u64> = should.symmetric_difference(&is).map(|row| row.0).collect();
    let should: BTreeSet<SettlementRow> = imports.filter_map(|(n, act)| settlement_row(n, act)).collect();
    let mut select = db.prepare(
        "SELECT decision, first, second, rows, rows_differing, within_ms, seconds, seconds_differing FROM settlement",
    )?;
    let rows = select.query_map([], |r| {
        let numbers = [r.get(3)?, r.get(4)?, r.get(5)?, r.get(6)?, r.get(7)?];
        Ok((r.get(0)?, [r.get(1)?, r.get(2)?], numbers))
    })?;
    let is: BTreeSet<SettlementRow> = rows.collect::<Result<_, _>>()?;
    out.extend(should.symmetric_difference(&is).map(|row| row.0));
    Ok(out)
}
