//! Rows of the view `night_summary`, for lists of nights.

use crate::{StoreError, Study};

/// One declared night and what the store holds of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NightRow {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub label: String,
    /// IANA zone.
    pub zone: String,
    /// Kind, as a word.
    pub kind: String,
    /// Codes of the scorers whose references are there.
    pub references: Vec<String>,
    /// Names of the devices whose recordings are there.
    pub devices: Vec<String>,
    /// Names of devices of which there are claims only.
    pub claims_only: Vec<String>,
    /// Names of the sources of which there are notes only, such as a diary.
    pub diaries: Vec<String>,
    /// Errors that nobody accepted.
    pub open_errors: u64,
    /// Warnings.
    pub warnings: u64,
}

/// Holds for a recording `r` that has notes and nothing else.
const NOTES_ONLY: &str = "(EXISTS (SELECT 1 FROM note o WHERE o.recording_id = r.id)
  AND NOT EXISTS (SELECT 1 FROM span s WHERE s.recording_id = r.id) AND NOT EXISTS (SELECT 1 FROM claim c WHERE c.recording_id = r.id))";

impl Study {
    /// Returns the declared nights by participant and label, `most` of them after the first `skip`.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn night_rows(&self, skip: u64, most: u64) -> Result<Vec<NightRow>, StoreError> {
        let sql = format!("SELECT n.participant, n.label, n.zone, n.kind,
             (SELECT json_group_array(DISTINCT r.scorer ORDER BY r.scorer) FROM recording r WHERE r.night_id = n.id AND r.stands AND r.scorer IS NOT NULL AND NOT {NOTES_ONLY}),
             (SELECT json_group_array(DISTINCT u.device ORDER BY u.device) FROM recording r JOIN unit u ON u.name = r.unit WHERE r.night_id = n.id AND r.stands
               AND EXISTS (SELECT 1 FROM span s WHERE s.recording_id = r.id)),
             (SELECT json_group_array(DISTINCT u.device ORDER BY u.device) FROM recording r JOIN unit u ON u.name = r.unit WHERE r.night_id = n.id AND r.stands
               AND NOT EXISTS (SELECT 1 FROM span s WHERE s.recording_id = r.id) AND NOT {NOTES_ONLY}),
             (SELECT json_group_array(DISTINCT coalesce(u.device, r.scorer) ORDER BY coalesce(u.device, r.scorer)) FROM recording r LEFT JOIN unit u ON u.name = r.unit
               WHERE r.night_id = n.id AND r.stands AND {NOTES_ONLY}),
             (SELECT count(*) FROM open_finding o WHERE o.participant = n.participant AND o.night = n.label AND o.severity = 'error'),
             (SELECT count(*) FROM open_finding o WHERE o.participant = n.participant AND o.night = n.label AND o.severity = 'warning')
           FROM night n ORDER BY n.participant, n.label LIMIT ?2 OFFSET ?1");
        let mut select = self.db().prepare_cached(&sql)?;
        let rows = select.query_map((skip, most), |r| {
            let names = |i| Ok::<_, rusqlite::Error>(serde_json::from_str(&r.get::<_, String>(i)?).unwrap_or_default());
            Ok(NightRow {
                participant: r.get(0)?,
                label: r.get(1)?,
                zone: r.get(2)?,
                kind: r.get(3)?,
                references: names(4)?,
                devices: names(5)?,
                claims_only: names(6)?,
                diaries: names(7)?,
                open_errors: r.get(8)?,
                warnings: r.get(9)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Returns the number of declared nights.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn night_count(&self) -> Result<u64, StoreError> {
        Ok(self.db().query_row("SELECT count(*) FROM night", [], |r| r.get(0))?)
    }
}

/// What the store holds of one source on one night.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Received {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub label: String,
    /// Unit or scorer.
    pub source: String,
    /// Ids of the definitions that read what stands, one for each recording.
    pub definitions: Vec<String>,
    /// Errors of these recordings that nobody accepted.
    pub open_errors: u64,
}

impl Study {
    /// Returns what stands of each source on each night, by participant, label and source.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn received(&self) -> Result<Vec<Received>, StoreError> {
        let sql = "SELECT n.participant, n.label, coalesce(r.unit, r.scorer) AS source, json_group_array(d.id ORDER BY r.place),
             sum((SELECT count(*) FROM open_finding o WHERE o.recording = r.key AND o.participant = n.participant
               AND o.night = n.label AND o.severity = 'error'))
           FROM recording r JOIN night n ON n.id = r.night_id JOIN definition d ON d.sha256 = r.definition
           WHERE r.stands GROUP BY n.id, source ORDER BY n.participant, n.label, source";
        let mut select = self.db().prepare(sql)?;
        let rows = select.query_map([], |r| {
            Ok(Received {
                participant: r.get(0)?,
                label: r.get(1)?,
                source: r.get(2)?,
                definitions: serde_json::from_str(&r.get::<_, String>(3)?).unwrap_or_default(),
                open_errors: r.get(4)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
