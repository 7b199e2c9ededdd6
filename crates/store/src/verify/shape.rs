//! The database by itself: whole, and with the tables and views of this program.

use super::{Fault, FaultKind};
use crate::{StoreError, migrations};
use rusqlite::Connection;
use std::collections::BTreeSet;
use std::path::Path;

/// Every column of every table, every view, index and trigger, every reference, and the rows that are the same in
/// every store. Columns and not the text of tables, because a step of the schema adds columns.
const SHAPE: &str = "
    SELECT s.name || '.' || c.name || ' ' || c.type || ' ' || c.\"notnull\" || ' ' || c.pk || ' ' || c.hidden
      FROM sqlite_schema s JOIN pragma_table_xinfo(s.name) c WHERE s.type = 'table'
    UNION ALL SELECT type || ' ' || name || ': ' || sql FROM sqlite_schema WHERE type <> 'table' AND sql IS NOT NULL
    UNION ALL SELECT s.name || '.' || f.\"from\" || ' -> ' || f.\"table\" || '.' || f.\"to\"
      FROM sqlite_schema s JOIN pragma_foreign_key_list(s.name) f WHERE s.type = 'table'
    UNION ALL SELECT 'letter ' || letter || ' = ' || word FROM letter
    UNION ALL SELECT 'epoch_number ' || count(*) || ' ' || min(i) || ' ' || max(i) FROM epoch_number";

/// How many faults of one kind are named.
const NAMED: usize = 20;

/// Proves the database by what it says of itself.
pub(super) fn prove(db: &Connection) -> Result<Vec<Fault>, StoreError> {
    let mut faults = damage(db)?;
    let mut fresh = Connection::open_in_memory()?;
    migrations::bring_up_to_date(&mut fresh, Path::new("study.db"))?;
    let (found, expected) = (lines(db)?, lines(&fresh)?);
    let mut differ = |line: &String, message: &str| {
        let first = line.lines().next().unwrap_or_default();
        faults.push(Fault {
            kind: FaultKind::StoreShape,
            place: "study.db".into(),
            message: format!("{message}: {first}"),
        });
    };
    expected.difference(&found).take(NAMED).for_each(|line| differ(line, "not there as it should be"));
    found.difference(&expected).take(NAMED).for_each(|line| differ(line, "there and not of this program"));
    Ok(faults)
}

fn damage(db: &Connection) -> Result<Vec<Fault>, StoreError> {
    let mut faults = Vec::new();
    let mut fault = |message: String| {
        faults.push(Fault { kind: FaultKind::StoreDamaged, place: "study.db".into(), message });
    };
    let mut integrity = db.prepare(&format!("PRAGMA integrity_check({NAMED})"))?;
    for line in integrity.query_map([], |r| r.get::<_, String>(0))? {
        let line = line?;
        if line != "ok" {
            fault(line);
        }
    }
    let mut foreign = db.prepare("SELECT \"table\", rowid, parent FROM pragma_foreign_key_check LIMIT 20")?;
    let rows = foreign.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?;
    for row in rows {
        let (table, id, parent): (String, Option<i64>, String) = row?;
        let id = id.map(|id| format!(" {id}")).unwrap_or_default();
        fault(format!("a row of `{table}`{id} refers to a row of `{parent}` that is not there"));
    }
    Ok(faults)
}

fn lines(db: &Connection) -> Result<BTreeSet<String>, StoreError> {
    let mut select = db.prepare(SHAPE)?;
    let rows = select.query_map([], |r| r.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}
