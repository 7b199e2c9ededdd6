//! The canonical dump: the store as text, the same for the same study whatever the machine.

use crate::{StoreError, Study};
use rusqlite::types::ValueRef;
use std::fmt::Write as _;

/// What is dumped of each table: names instead of the row numbers that SQLite hands out, so that two
/// stores are the same when they say the same. `letter` and `epoch_number` are the same in every store,
/// and `meta` tells of the program.
pub(crate) const TABLES: &[(&str, &str)] = &[
    (
        "acceptance",
        "SELECT a.decision, a.code, n.participant, n.label, a.recording, a.locator, a.reason, a.by, a.at FROM acceptance a JOIN night n ON n.id = a.night_id",
    ),
    ("blanked", "SELECT decision, original, received, fields FROM blanked"),
    (
        "choice",
        "SELECT c.decision, n.participant, n.label, c.source, c.place, c.reason, c.by, c.at FROM choice c JOIN night n ON n.id = c.night_id",
    ),
    (
        "claim",
        "SELECT r.key, c.seq, c.quantity, c.value, c.rounding, c.locator FROM claim c JOIN recording r ON r.id = c.recording_id",
    ),
    (
        "clock_reading",
        "SELECT c.decision, n.participant, n.label, c.source, c.shown_ms, c.true_ms, c.precision_ms, c.picture, c.text FROM clock_reading c JOIN night n ON n.id = c.night_id",
    ),
    (
        "clock_setting",
        "SELECT c.decision, n.participant, n.label, c.source, c.points, c.reason, c.by, c.at FROM clock_setting c JOIN night n ON n.id = c.night_id",
    ),
    ("decision", "SELECT n, at, by, act, hash FROM decision"),
    ("definition", "SELECT sha256, id, text FROM definition"),
    ("device", "SELECT name FROM device"),
    (
        "exclusion",
        "SELECT e.decision, n.participant, n.label, e.source, e.from_ms, e.until_ms, e.looked, e.reason, e.by, e.at FROM exclusion e JOIN night n ON n.id = e.night_id",
    ),
    (
        "finding",
        "SELECT n.participant, n.label, r.key, f.origin, f.code, f.severity, f.message, f.help, f.file, f.locator, f.line, f.count FROM finding f JOIN night n ON n.id = f.night_id LEFT JOIN recording r ON r.id = f.recording_id",
    ),
    ("night", "SELECT participant, label, kind, zone, from_ms, until_ms, lights_off_ms, lights_on_ms FROM night"),
    (
        "night_note",
        "SELECT o.decision, n.participant, n.label, o.source, o.at_ms, o.until_ms, o.precision_ms, o.kind, o.text FROM night_note o JOIN night n ON n.id = o.night_id",
    ),
    (
        "note",
        "SELECT r.key, o.seq, o.at_ms, o.until_ms, o.precision_ms, o.kind, o.text, o.locator FROM note o JOIN recording r ON r.id = o.recording_id",
    ),
    ("offset_stretch", "SELECT zone, from_ms, until_ms, offset_seconds FROM offset_stretch"),
    ("original", "SELECT sha256, bytes FROM original"),
    ("participant", "SELECT code FROM participant"),
    ("picture", "SELECT decision, seq, original, file FROM picture"),
    (
        "recording",
        "SELECT r.key, n.participant, n.label, r.unit, r.scorer, r.version, r.place, b.key, r.file, r.original, r.definition, r.decision, r.zone, r.time_basis, r.raw_time, r.rules_version, r.second_rules_version, r.vocabulary, r.step_ms, r.precision_ms, r.withdrawn_by FROM recording r JOIN night n ON n.id = r.night_id LEFT JOIN recording b ON b.id = r.replaced_by",
    ),
    ("scorer", "SELECT code, scored_by FROM scorer"),
    (
        "settlement",
        "SELECT decision, first, second, rows, rows_differing, within_ms, seconds, seconds_differing FROM settlement",
    ),
    (
        "span",
        "SELECT r.key, s.seq, s.start_ms, s.end_ms, s.mark, s.label, s.locator FROM span s JOIN recording r ON r.id = s.recording_id",
    ),
    ("strip", "SELECT r.key, s.start_ms, s.letters, s.contents FROM strip s JOIN recording r ON r.id = s.recording_id"),
    ("unit", "SELECT name, device FROM unit"),
    (
        "wearing",
        "SELECT w.unit, n.participant, n.label, w.site, w.side, w.firmware, w.app, w.before_unit, b.participant, b.label FROM wearing w JOIN night n ON n.id = w.night_id LEFT JOIN night b ON b.id = w.before_night_id",
    ),
    ("withdrawal", "SELECT decision, by_decision, reason FROM withdrawal"),
];

impl Study {
    /// Returns every row of every table as one line of text, tables and rows in a fixed order.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn canonical_dump(&self) -> Result<String, StoreError> {
        let mut out = String::new();
        for (table, select) in TABLES {
            let mut lines = self.lines_of(select)?;
            lines.sort_unstable();
            for line in lines {
                let _ = writeln!(out, "{table}\t{line}");
            }
        }
        Ok(out)
    }

    fn lines_of(&self, select: &str) -> Result<Vec<String>, StoreError> {
        let mut select = self.db().prepare(select)?;
        let n = select.column_count();
        let mut rows = select.query([])?;
        let mut lines = Vec::new();
        while let Some(row) = rows.next()? {
            let mut line = String::new();
            for i in 0..n {
                line.push('\t');
                line.push_str(&cell_text(row.get_ref(i)?));
            }
            lines.push(line.split_off(1));
        }
        Ok(lines)
    }
}

/// Returns a value as the dump writes it.
pub(crate) fn cell_text(value: ValueRef<'_>) -> String {
    match value {
        ValueRef::Null => "-".to_owned(),
        ValueRef::Integer(v) => v.to_string(),
        ValueRef::Real(v) => format!("{v:?}"),
        ValueRef::Text(t) => format!("{:?}", String::from_utf8_lossy(t)),
        ValueRef::Blob(b) => format!("x{}", crate::decisions::hex(b)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Access;

    #[test]
    fn every_table_is_dumped_or_left_out_on_purpose() {
        let dir = tempfile::tempdir().unwrap();
        let toml = "version = 1\nname = \"t\"\nzone = \"UTC\"\n";
        Study::create(dir.path(), toml, "test").unwrap();
        let study = Study::open(dir.path(), Access::Read).unwrap();
        let answer = study
            .db()
            .prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
            .unwrap()
            .query_map([], |r| r.get::<_, String>(0))
            .unwrap()
            .map(Result::unwrap)
            .collect::<Vec<_>>();
        let mut known: Vec<&str> = TABLES.iter().map(|t| t.0).chain(["epoch_number", "letter", "meta"]).collect();
        known.sort_unstable();
        assert_eq!(
            answer, known,
            "list every table of schemas/store.sql in TABLES, or with the three that are left out"
        );
    }
}
