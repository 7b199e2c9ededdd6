//! `query`: SQL that can only read, and cannot run for ever.

use crate::{StoreError, Study};
use rusqlite::hooks::{AuthAction, AuthContext, Authorization};
use rusqlite::limits::Limit;
use rusqlite::types::ValueRef;
use std::collections::HashSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// A value of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum SqlValue {
    /// Nothing.
    Null,
    /// An integer.
    Integer(i64),
    /// A real number.
    Real(f64),
    /// A text.
    Text(String),
    /// Bytes.
    Blob(Vec<u8>),
}

/// What a statement gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Rows, each as long as `columns`.
    pub rows: Vec<Vec<SqlValue>>,
    /// Whether there were more rows than are given.
    pub cut: bool,
}

/// Steps of SQLite's machine after which a statement is stopped: about a minute of work.
const MOST_STEPS: u64 = 3_000_000_000;
/// Bytes of an answer after which it is cut.
const MOST_BYTES: usize = 256 << 20;
/// Bytes of a text or of other bytes.
const MOST_LENGTH: i32 = 10_000_000;
/// Bytes that SQLite may take for a statement.
const MOST_MEMORY: u64 = 512 << 20;
/// The progress handler is asked once in so many steps.
const STEPS_BETWEEN: i32 = 100_000;

/// What may be read beside the tables and views of the store: the schema, lists of JSON, and rows that stand in the
/// statement itself. SQLite has tables of its own too (`dbstat`, `pragma_table_info`, …): they tell of the file and
/// not of the study.
const OTHER_TABLES: [&str; 4] = ["", "json_each", "sqlite_master", "sqlite_schema"];

/// Functions that only compute. Whatever is not here, such as `load_extension`, is refused.
const FUNCTIONS: &[&str] = &[
    "abs",
    "avg",
    "ceil",
    "ceiling",
    "char",
    "coalesce",
    "concat",
    "concat_ws",
    "count",
    "cume_dist",
    "date",
    "datetime",
    "dense_rank",
    "exp",
    "first_value",
    "floor",
    "format",
    "glob",
    "group_concat",
    "hex",
    "ifnull",
    "iif",
    "instr",
    "json",
    "json_array",
    "json_array_length",
    "json_each",
    "json_extract",
    "json_group_array",
    "json_group_object",
    "json_object",
    "julianday",
    "lag",
    "last_value",
    "lead",
    "length",
    "like",
    "ln",
    "log",
    "log10",
    "lower",
    "ltrim",
    "max",
    "min",
    "mod",
    "nth_value",
    "ntile",
    "nullif",
    "percent_rank",
    "pow",
    "power",
    "printf",
    "quote",
    "rank",
    "replace",
    "round",
    "row_number",
    "rtrim",
    "sign",
    "sqrt",
    "strftime",
    "string_agg",
    "substr",
    "substring",
    "sum",
    "time",
    "timediff",
    "total",
    "trim",
    "trunc",
    "typeof",
    "unicode",
    "unixepoch",
    "upper",
];

impl Study {
    /// Runs one statement that only reads, and returns at most `most` rows.
    ///
    /// The steps of a statement are counted, and a single step may still be long (a pattern with many wildcards on
    /// a long text): a caller that must end by a certain time has to watch the clock itself.
    ///
    /// # Errors
    /// The statement would write, attach, load, set anything or read the schema's own settings, is more
    /// than one statement, fails, or takes more than about a minute.
    pub fn query(&mut self, sql: &str, most: usize) -> Result<Answer, StoreError> {
        let db = self.db_mut();
        db.set_limit(Limit::SQLITE_LIMIT_SQL_LENGTH, 1_000_000)?;
        db.set_limit(Limit::SQLITE_LIMIT_LENGTH, MOST_LENGTH)?;
        db.set_limit(Limit::SQLITE_LIMIT_EXPR_DEPTH, 200)?;
        db.set_limit(Limit::SQLITE_LIMIT_COMPOUND_SELECT, 50)?;
        db.set_limit(Limit::SQLITE_LIMIT_ATTACHED, 0)?;
        // Sorting and gathering stay in memory, and memory ends here: no statement fills the disk.
        db.pragma_update(None, "temp_store", "MEMORY")?;
        db.query_row(&format!("PRAGMA hard_heap_limit = {MOST_MEMORY}"), [], |_| Ok(()))?;
        let mut tables: HashSet<String> =
            db.prepare("SELECT name FROM sqlite_schema")?.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
        tables.extend(OTHER_TABLES.map(str::to_owned));
        db.authorizer(Some(move |context: AuthContext<'_>| allow(&context.action, &tables)))?;
        let steps = Arc::new(AtomicU64::new(0));
        let counter = Arc::clone(&steps);
        db.progress_handler(
            STEPS_BETWEEN,
            Some(move || counter.fetch_add(STEPS_BETWEEN.unsigned_abs().into(), Ordering::Relaxed) > MOST_STEPS),
        )?;
        let answer = run(db, sql, most);
        db.progress_handler(0, None::<fn() -> bool>)?;
        db.authorizer(None::<fn(AuthContext<'_>) -> Authorization>)?;
        answer.map_err(|e| explain(e, steps.load(Ordering::Relaxed) > MOST_STEPS))
    }
}

fn allow(action: &AuthAction<'_>, tables: &HashSet<String>) -> Authorization {
    let allowed = match action {
        AuthAction::Select | AuthAction::Recursive => true,
        AuthAction::Read { table_name, .. } => tables.contains(&table_name.to_ascii_lowercase()),
        AuthAction::Function { function_name } => {
            FUNCTIONS.contains(&function_name.to_ascii_lowercase().as_str()) || matches!(*function_name, "->" | "->>")
        }
        _ => false,
    };
    if allowed { Authorization::Allow } else { Authorization::Deny }
}

fn run(db: &rusqlite::Connection, sql: &str, most: usize) -> Result<Answer, rusqlite::Error> {
    let mut statement = db.prepare(sql)?;
    let columns: Vec<String> = statement.column_names().map(str::to_owned).collect();
    let mut rows = statement.query([])?;
    let mut answer = Answer { columns, rows: Vec::new(), cut: false };
    let mut bytes = 0;
    while let Some(row) = rows.next()? {
        if answer.rows.len() == most || bytes > MOST_BYTES {
            answer.cut = true;
            break;
        }
        let cells = (0..answer.columns.len()).map(|i| row.get_ref(i).map(value)).collect::<Result<Vec<_>, _>>()?;
        bytes += cells.iter().map(size).sum::<usize>();
        answer.rows.push(cells);
    }
    Ok(answer)
}

/// About how much memory a value takes.
fn size(value: &SqlValue) -> usize {
    32 + match value {
        SqlValue::Null | SqlValue::Integer(_) | SqlValue::Real(_) => 0,
        SqlValue::Text(t) => t.len(),
        SqlValue::Blob(b) => b.len(),
    }
}

fn value(v: ValueRef<'_>) -> SqlValue {
    match v {
        ValueRef::Null => SqlValue::Null,
        ValueRef::Integer(i) => SqlValue::Integer(i),
        ValueRef::Real(x) => SqlValue::Real(x),
        ValueRef::Text(t) => SqlValue::Text(String::from_utf8_lossy(t).into_owned()),
        ValueRef::Blob(b) => SqlValue::Blob(b.to_vec()),
    }
}

fn explain(error: rusqlite::Error, out_of_time: bool) -> StoreError {
    use rusqlite::ErrorCode::{AuthorizationForStatementDenied, OperationInterrupted, OutOfMemory, TooBig};
    let denied = error.sqlite_error_code() == Some(AuthorizationForStatementDenied);
    let text = match &error {
        _ if out_of_time && error.sqlite_error_code() == Some(OperationInterrupted) => {
            "the statement was stopped after about a minute of work; ask for less, for one participant or night".to_owned()
        }
        other if denied || other.to_string().starts_with("not authorized") => {
            "`query` only reads: SELECT from the tables and views of schemas/store.sql, with functions that only compute".to_owned()
        }
        other if other.sqlite_error_code() == Some(OutOfMemory) => {
            format!("the statement needs more than {} MB of memory; ask for less, for one participant or night", MOST_MEMORY >> 20)
        }
        other if other.sqlite_error_code() == Some(TooBig) => {
            format!("a text or the statement is longer than `query` takes ({MOST_LENGTH} bytes for a text)")
        }
        rusqlite::Error::MultipleStatement => "give one statement at a time".to_owned(),
        rusqlite::Error::SqlInputError { msg, sql, offset, .. } => {
            let at = usize::try_from(*offset).unwrap_or(0).min(sql.len());
            let column = sql.get(..at).map_or(0, |s| s.chars().count());
            format!("{msg}\n  {}\n  {}^", sql.replace(['\n', '\t'], " "), " ".repeat(column))
        }
        other if other.to_string().starts_with("no such table") => {
            format!("{other}; for people there are the views epoch_local, night_summary and open_finding, and schemas/store.sql describes every table")
        }
        other => other.to_string(),
    };
    StoreError::Query(text)
}
