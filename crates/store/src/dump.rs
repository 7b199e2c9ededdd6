//! The canonical dump: the store as text, the same for the same study whatever the machine.

use crate::{StoreError, Study};
use rusqlite::types::ValueRef;
use std::fmt::Write as _;

/// Tables that say something of the study; `letter` and `epoch_number` are the same in every store,
/// and `meta` tells of the program.
const TABLES: &[&str] = &[
    "acceptance",
    "claim",
    "decision",
    "definition",
    "device",
    "finding",
    "night",
    "note",
    "offset_stretch",
    "original",
    "participant",
    "recording",
    "scorer",
    "span",
    "strip",
    "unit",
    "wearing",
];

impl Study {
    /// Returns every row of every table as one line of text, tables and rows in a fixed order.
    ///
    /// Row numbers that SQLite hands out are left as they are: the store is always filled in the order
    /// of the decision log, so they are the same too.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn canonical_dump(&self) -> Result<String, StoreError> {
        let mut out = String::new();
        for table in TABLES {
            let mut lines = self.lines_of(table)?;
            lines.sort_unstable();
            for line in lines {
                let _ = writeln!(out, "{table}\t{line}");
            }
        }
        Ok(out)
    }

    fn lines_of(&self, table: &str) -> Result<Vec<String>, StoreError> {
        let mut select = self.db().prepare(&format!("SELECT * FROM {table}"))?;
        let n = select.column_count();
        let mut rows = select.query([])?;
        let mut lines = Vec::new();
        while let Some(row) = rows.next()? {
            let mut line = String::new();
            for i in 0..n {
                let _ = match row.get_ref(i)? {
                    ValueRef::Null => write!(line, "\t-"),
                    ValueRef::Integer(v) => write!(line, "\t{v}"),
                    ValueRef::Real(v) => write!(line, "\t{v:?}"),
                    ValueRef::Text(t) => write!(line, "\t{:?}", String::from_utf8_lossy(t)),
                    ValueRef::Blob(b) => write!(line, "\tx{}", crate::decisions::hex(b)),
                };
            }
            lines.push(line.split_off(1));
        }
        Ok(lines)
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
        let mut known: Vec<&str> = TABLES.iter().copied().chain(["epoch_number", "letter", "meta"]).collect();
        known.sort_unstable();
        assert_eq!(
            answer, known,
            "list every table of schemas/store.sql in TABLES, or with the three that are left out"
        );
    }
}
