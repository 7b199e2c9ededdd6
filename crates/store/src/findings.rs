//! Findings and acceptances in and out of the store.

use crate::recordings::word;
use crate::{StoreError, Study};
use counterpane_model::{Acceptance, Finding, Place, Severity};
use rusqlite::{Connection, Row, Transaction};

/// A finding of the store.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredFinding {
    /// What was found.
    pub finding: Finding,
    /// The acceptance that covers it, if there is one.
    pub accepted: Option<Acceptance>,
}

impl StoredFinding {
    /// Says whether comparisons stop at it: an error that nobody accepted.
    #[must_use]
    pub fn is_open_error(&self) -> bool {
        self.finding.severity == Severity::Error && self.accepted.is_none()
    }
}

impl Study {
    /// Returns the findings of one night, or of all nights, by night, severity, recording and place.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn findings(&self, night: Option<(&str, &str)>) -> Result<Vec<StoredFinding>, StoreError> {
        // Two statements, because one for both would look at every finding to show a single night.
        let of_night = match night {
            Some(_) => "f.night_id = (SELECT id FROM night WHERE participant = ?1 AND label = ?2)",
            None => "?1 IS ?2",
        };
        let sql = format!(
            "SELECT {FINDING},
             a.decision, a.recording, a.locator, a.reason, a.by, a.at
           FROM finding f JOIN night n ON n.id = f.night_id LEFT JOIN recording r ON r.id = f.recording_id
           LEFT JOIN acceptance a ON a.decision = (SELECT min(x.decision) FROM acceptance x
             WHERE x.code = f.code AND x.night_id = f.night_id AND x.recording IS r.key
               AND (x.locator IS NULL OR x.locator = f.locator))
           WHERE (r.id IS NULL OR r.stands) AND {of_night}
           ORDER BY n.participant, n.label, CASE f.severity WHEN 'error' THEN 0 WHEN 'warning' THEN 1 ELSE 2 END, r.key, f.id"
        );
        let mut select = self.db().prepare_cached(&sql)?;
        let mut rows = select.query((night.map(|n| n.0), night.map(|n| n.1)))?;
        let mut out = Vec::new();
        while let Some(row) = rows.next()? {
            out.push(read(row)?);
        }
        Ok(out)
    }
}

/// Reads a finding and the acceptance that may cover it: [`FINDING`], then the columns of the acceptance.
fn read(r: &Row<'_>) -> Result<StoredFinding, StoreError> {
    let finding = finding_row(r)?;
    let (participant, night) = finding.night.clone().unwrap_or_default();
    let accepted = match r.get::<_, Option<u64>>(11)? {
        None => None,
        Some(decision) => Some(Acceptance {
            decision,
            code: finding.code.to_string(),
            participant,
            night,
            recording: r.get(12)?,
            locator: r.get(13)?,
            reason: r.get(14)?,
            by: r.get(15)?,
            at: r.get(16)?,
        }),
    };
    Ok(StoredFinding { finding, accepted })
}

/// Columns of a finding, its night and its recording.
const FINDING: &str =
    "f.code, f.severity, f.message, f.help, f.file, f.locator, f.line, f.count, n.participant, n.label, r.key";

/// Reads a finding from the columns [`FINDING`].
fn finding_row(r: &Row<'_>) -> Result<Finding, StoreError> {
    let (file, locator): (Option<String>, Option<String>) = (r.get(4)?, r.get(5)?);
    let place = match (file, locator) {
        (Some(file), Some(locator)) => {
            let line = r.get::<_, Option<String>>(6)?.unwrap_or_default();
            Some(Place { file, locator: word(&locator)?, line })
        }
        _ => None,
    };
    Ok(Finding {
        code: r.get::<_, String>(0)?.into(),
        severity: word(&r.get::<_, String>(1)?)?,
        recording: r.get(10)?,
        night: Some((r.get(8)?, r.get(9)?)),
        place,
        message: r.get(2)?,
        help: r.get(3)?,
        count: r.get(7)?,
    })
}

/// Returns what import found in the recordings of a night that stand, in the order in which it was found.
pub(crate) fn imported(db: &Connection, night: i64) -> Result<Vec<Finding>, StoreError> {
    let mut select = db.prepare_cached(&format!(
        "SELECT {FINDING}
         FROM finding f JOIN night n ON n.id = f.night_id LEFT JOIN recording r ON r.id = f.recording_id
         WHERE f.night_id = ?1 AND f.origin = 'import' AND (r.id IS NULL OR r.stands) ORDER BY f.id"
    ))?;
    let mut rows = select.query([night])?;
    let mut out = Vec::new();
    while let Some(row) = rows.next()? {
        out.push(finding_row(row)?);
    }
    Ok(out)
}

pub(crate) fn put_finding(
    tx: &Transaction<'_>,
    night: i64,
    recording: Option<i64>,
    origin: &str,
    finding: &Finding,
) -> Result<(), StoreError> {
    let place = finding.place.as_ref();
    tx.prepare_cached(
        "INSERT INTO finding (night_id, recording_id, origin, code, severity, message, help, file, locator, line, count)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
    )?
    .execute(rusqlite::params![
        night,
        recording,
        origin,
        finding.code,
        finding.severity.code(),
        finding.message,
        finding.help,
        place.map(|p| &p.file),
        place.map(|p| p.locator.to_string()),
        place.map(|p| &p.line),
        finding.count.max(1),
    ])?;
    Ok(())
}
