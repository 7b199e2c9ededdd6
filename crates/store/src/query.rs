//! `query`: SQL that can only read, and cannot run for ever.

use crate::{StoreError, Study};
use rusqlite::hooks::{AuthAction, AuthContext, Authorization};
use rusqlite::limits::Limit;
use rusqlite::types::ValueRef;
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
/// The progress handler is asked once in so many steps.
const STEPS_BETWEEN: i32 = 100_000;

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
    /// # Errors
    /// The statement would write, attach, load, set anything or read the schema's own settings, is more
    /// than one statement, fails, or takes more than about a minute.
    pub fn query(&mut self, sql: &str, most: usize) -> Result<Answer, StoreError> {
        let db = self.db_mut();
        db.set_limit(Limit::SQLITE_LIMIT_SQL_LENGTH, 1_000_000)?;
        db.set_limit(Limit::SQLITE_LIMIT_LENGTH, 10_000_000)?;
        db.set_limit(Limit::SQLITE_LIMIT_EXPR_DEPTH, 200)?;
        db.set_limit(Limit::SQLITE_LIMIT_COMPOUND_SELECT, 50)?;
        db.set_limit(Limit::SQLITE_LIMIT_ATTACHED, 0)?;
        db.authorizer(Some(|context: AuthContext<'_>| allow(&context.action)))?;
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

fn allow(action: &AuthAction<'_>) -> Authorization {
    let allowed = match action {
        AuthAction::Select | AuthAction::Read { .. } | AuthAction::Recursive => true,
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
    use rusqlite::ErrorCode::{AuthorizationForStatementDenied, OperationInterrupted};
    let denied = error.sqlite_error_code() == Some(AuthorizationForStatementDenied);
    let text = match &error {
        _ if out_of_time && error.sqlite_error_code() == Some(OperationInterrupted) => {
            "the statement was stopped after about a minute of work; ask for less, for one participant or night".to_owned()
        }
        other if denied || other.to_string().starts_with("not authorized") => {
            "`query` only reads: SELECT from the tables and views of schemas/store.sql, with functions that only compute".to_owned()
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
