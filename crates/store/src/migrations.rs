//! Schemas of the store, oldest first, and the step from each to the next.

use crate::StoreError;
use counterpane_model::Cell;
use rusqlite::Connection;
use std::path::Path;

/// Marks the file as a store of this program (SQLite's application id): the letters `cpan`.
pub(crate) const APPLICATION_ID: i32 = 0x6370_616e;

/// Newest schema: what `schemas/store.sql` makes, and what the steps make of an older one.
pub const SCHEMA: i64 = 1 + STEPS.len() as i64;

/// SQL that leads from schema `i + 1` to schema `i + 2`. Steps are never changed once released.
const STEPS: &[&str] = &[
    include_str!("../../../schemas/store-steps/1-to-2.sql"),
    include_str!("../../../schemas/store-steps/2-to-3.sql"),
    include_str!("../../../schemas/store-steps/3-to-4.sql"),
    include_str!("../../../schemas/store-steps/4-to-5.sql"),
    include_str!("../../../schemas/store-steps/5-to-6.sql"),
];

const NEWEST: &str = include_str!("../../../schemas/store.sql");

/// Number of epochs that the views can lay out: 48 h.
const EPOCHS: i64 = 5760;

/// Makes the tables of an empty database, or brings an older one up to date.
///
/// # Errors
/// The file is something else, or a later version made it; then it is left as it was.
pub(crate) fn bring_up_to_date(db: &mut Connection, path: &Path) -> Result<(), StoreError> {
    let id: i32 = db.query_row("PRAGMA application_id", [], |r| r.get(0))?;
    let found: i64 = db.query_row("PRAGMA user_version", [], |r| r.get(0))?;
    let tables: i64 = db.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get(0))?;
    match (id, found, tables) {
        (0, 0, 0) => create(db),
        (APPLICATION_ID, SCHEMA, _) => Ok(()),
        (APPLICATION_ID, found, _) if found > SCHEMA => Err(StoreError::Newer { found, known: SCHEMA }),
        (APPLICATION_ID, found, _) if found >= 1 => upgrade(db, path, found),
        _ => Err(StoreError::NotAStore(path.to_owned())),
    }
}

fn create(db: &mut Connection) -> Result<(), StoreError> {
    let tx = db.transaction_with_behavior(rusqlite::TransactionBehavior::Exclusive)?;
    tx.execute_batch(NEWEST)?;
    for cell in Cell::all() {
        let letter = cell.letter().to_string();
        tx.execute("INSERT INTO letter (letter, word) VALUES (?1, ?2)", (letter, cell.code()))?;
    }
    tx.execute(
        "INSERT INTO epoch_number (i) WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i + 1 < ?1) SELECT i FROM n",
        [EPOCHS],
    )?;
    tx.pragma_update(None, "application_id", APPLICATION_ID)?;
    tx.pragma_update(None, "user_version", SCHEMA)?;
    tx.commit()?;
    Ok(())
}

/// Keeps a copy beside the database, then takes the steps in one transaction.
fn upgrade(db: &mut Connection, path: &Path, found: i64) -> Result<(), StoreError> {
    let copy = path.with_extension(format!("schema-{found}.db"));
    if !copy.exists() {
        // It gets its name when it is whole: a half one, left by a kill, must never be taken for the copy.
        let part = path.with_extension(format!("schema-{found}.part"));
        crate::study::remove(&part)?;
        crate::study::remove(&path.with_extension(format!("schema-{found}.part-journal")))?;
        db.backup("main", &part, None::<fn(rusqlite::backup::Progress)>)?;
        std::fs::rename(&part, &copy).map_err(StoreError::io(&copy))?;
    }
    let tx = db.transaction_with_behavior(rusqlite::TransactionBehavior::Exclusive)?;
    for step in STEPS.iter().skip(usize::try_from(found - 1).unwrap_or(0)) {
        tx.execute_batch(step)?;
    }
    tx.pragma_update(None, "user_version", SCHEMA)?;
    tx.commit()?;
    Ok(())
}

/// Says whether a database that is only read has a schema that is known.
///
/// # Errors
/// As for [`bring_up_to_date`]; an older schema asks for a command that writes.
pub(crate) fn only_if_known(db: &Connection, path: &Path) -> Result<(), StoreError> {
    let id: i32 = db.query_row("PRAGMA application_id", [], |r| r.get(0))?;
    let found: i64 = db.query_row("PRAGMA user_version", [], |r| r.get(0))?;
    match (id, found) {
        (APPLICATION_ID, SCHEMA) => Ok(()),
        (APPLICATION_ID, found) if found > SCHEMA => Err(StoreError::Newer { found, known: SCHEMA }),
        (APPLICATION_ID, _) => Err(StoreError::Older),
        _ => Err(StoreError::NotAStore(path.to_owned())),
    }
}
