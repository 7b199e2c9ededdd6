//! Two stores row by row: what is stored, and what the originals give.

use crate::dump::{TABLES, cell_text};
use crate::{StoreError, Study};
use rusqlite::types::{Value, ValueRef};
use rusqlite::{Rows, Statement};
use std::cmp::Ordering;

/// What differs of one recording, night or decision in one table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The table.
    pub table: &'static str,
    /// Key of the recording; else the night, the decision or the row.
    pub place: String,
    /// The first row that is stored and would not be made again, as columns with their values; only those columns
    /// that differ where `derived` has the same row.
    pub stored: Option<String>,
    /// The first row that would be made and is not stored.
    pub derived: Option<String>,
    /// The columns that differ, where both rows are there.
    pub columns: Vec<String>,
    /// How many rows differ.
    pub rows: u64,
}

/// What differs between two stores.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Differences {
    /// The first of them, by table and place.
    pub named: Vec<Difference>,
    /// How many more there are.
    pub more: u64,
}

/// What is not compared, because a decision could not be carried out again.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Skip {
    /// Numbers of the decisions.
    pub decisions: Vec<u64>,
    /// Keys of the first recordings that they would have made: `participant/night/unit`.
    pub recordings: Vec<String>,
    /// The nights that they touch, as `participant/night`: their grids and findings may follow from what is absent.
    pub nights: Vec<String>,
}

/// How many differences are named.
const NAMED: usize = 50;

/// Compares what two stores of a study say, row by row, without holding more than a row of each.
///
/// # Errors
/// A store cannot be read.
pub fn differences(stored: &Study, derived: &Study, skip: &Skip) -> Result<Differences, StoreError> {
    let mut out = Differences::default();
    for (table, select) in TABLES {
        compare_table(table, select, stored, derived, skip, &mut out)?;
    }
    Ok(out)
}

type Cells = Vec<Value>;

fn compare_table(
    table: &'static str,
    select: &str,
    stored: &Study,
    derived: &Study,
    skip: &Skip,
    out: &mut Differences,
) -> Result<(), StoreError> {
    let plain = stored.db().prepare(select)?;
    let columns: Vec<String> = plain.column_names().map(str::to_owned).collect();
    let order: Vec<String> = (1..=columns.len()).map(|i| i.to_string()).collect();
    let sql = format!("{select} ORDER BY {}", order.join(", "));
    let (mut left, mut right) = (stored.db().prepare(&sql)?, derived.db().prepare(&sql)?);
    let (mut left, mut right) = (Side::new(&mut left)?, Side::new(&mut right)?);
    let mut groups = Groups { table, columns: &columns, open: Vec::new(), out };
    loop {
        let which = match (&left.row, &right.row) {
            (None, None) => break,
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (Some(a), Some(b)) => compare_rows(a, b),
        };
        if which != Ordering::Greater {
            let row = left.take()?;
            if which == Ordering::Less && !skipped(table, &row, skip) {
                groups.add(row, true);
            }
        }
        if which != Ordering::Less {
            let row = right.take()?;
            if which == Ordering::Greater && !skipped(table, &row, skip) {
                groups.add(row, false);
            }
        }
    }
    groups.close();
    Ok(())
}

/// One of the two stores, a row ahead.
struct Side<'s> {
    rows: Rows<'s>,
    n: usize,
    row: Option<Cells>,
}

impl<'s> Side<'s> {
    fn new(statement: &'s mut Statement<'_>) -> Result<Side<'s>, StoreError> {
        let n = statement.column_count();
        let mut side = Side { rows: statement.query([])?, n, row: None };
        side.take()?;
        Ok(side)
    }

    /// Returns the row and reads the next one.
    fn take(&mut self) -> Result<Cells, StoreError> {
        let next = match self.rows.next()? {
            None => None,
            // A text that is no text any more is compared as the bytes that it is.
            Some(row) => Some(
                (0..self.n)
                    .map(|i| match row.get_ref(i)? {
                        ValueRef::Text(t) => Ok(Value::Text(String::from_utf8_lossy(t).into_owned())),
                        other => Ok(other.try_into().unwrap_or(Value::Null)),
                    })
                    .collect::<Result<Cells, rusqlite::Error>>()?,
            ),
        };
        Ok(std::mem::replace(&mut self.row, next).unwrap_or_default())
    }
}

/// Orders rows as SQLite does.
fn compare_rows(a: &Cells, b: &Cells) -> Ordering {
    a.iter().zip(b).map(|(a, b)| compare_values(a, b)).find(|o| o.is_ne()).unwrap_or(Ordering::Equal)
}

fn compare_values(a: &Value, b: &Value) -> Ordering {
    let rank = |v: &Value| match v {
        Value::Null => 0,
        Value::Integer(_) | Value::Real(_) => 1,
        Value::Text(_) => 2,
        Value::Blob(_) => 3,
    };
    #[expect(clippy::cast_precision_loss, reason = "a column of numbers holds one kind; this is for a damaged store")]
    match (a, b) {
        (Value::Integer(a), Value::Integer(b)) => a.cmp(b),
        (Value::Real(a), Value::Real(b)) => a.total_cmp(b),
        (Value::Integer(a), Value::Real(b)) => (*a as f64).total_cmp(b).then(Ordering::Less),
        (Value::Real(a), Value::Integer(b)) => a.total_cmp(&(*b as f64)).then(Ordering::Greater),
        (Value::Text(a), Value::Text(b)) => a.as_bytes().cmp(b.as_bytes()),
        (Value::Blob(a), Value::Blob(b)) => a.cmp(b),
        _ => rank(a).cmp(&rank(b)),
    }
}

/// Says whether a row is there or absent because a decision could not be carried out.
fn skipped(table: &str, row: &Cells, skip: &Skip) -> bool {
    if skip.decisions.is_empty() {
        return false;
    }
    let texts: Vec<&str> =
        row.iter().filter_map(|v| if let Value::Text(t) = v { Some(t.as_str()) } else { None }).collect();
    let of_recording = |key: &String| texts.iter().any(|t| t.strip_prefix(key.as_str()).is_some_and(is_version));
    let of_night = |night: &String| {
        let below = |t: &&str| t.strip_prefix(night.as_str()).is_some_and(|rest| rest.starts_with('/'));
        texts.iter().any(below) || texts.windows(2).any(|pair| night.split_once('/') == Some((pair[0], pair[1])))
    };
    match table {
        // These are compared with the log, whatever could be carried out.
        "decision" | "definition" | "original" => true,
        "finding" | "strip" => skip.nights.iter().any(of_night),
        _ => {
            let of_decision = |n: &u64| place_of(table, row) == format!("decision {n}");
            skip.recordings.iter().any(of_recording) || skip.decisions.iter().any(of_decision)
        }
    }
}

/// Says whether this is what follows the key of a first recording in the keys of itself and later ones.
fn is_version(rest: &str) -> bool {
    rest.is_empty() || rest.starts_with('#')
}

/// Differing rows of a table, gathered by what they speak of.
struct Groups<'g> {
    table: &'static str,
    columns: &'g [String],
    open: Vec<Group>,
    out: &'g mut Differences,
}

/// The rows that differ of one recording, night or decision: the first on either side, and how many.
#[derive(Default)]
struct Group {
    place: String,
    stored: Option<Cells>,
    derived: Option<Cells>,
    rows: (u64, u64),
}

impl Groups<'_> {
    fn add(&mut self, row: Cells, is_stored: bool) {
        let place = place_of(self.table, &row);
        let at = self.open.iter().position(|g| g.place == place);
        if at.is_none() && self.out.named.len() + self.open.len() >= NAMED {
            self.out.more += 1;
            return;
        }
        let at = at.unwrap_or_else(|| {
            self.open.push(Group { place, ..Group::default() });
            self.open.len() - 1
        });
        let Some(group) = self.open.get_mut(at) else { return };
        if is_stored {
            group.rows.0 += 1;
            group.stored.get_or_insert(row);
        } else {
            group.rows.1 += 1;
            group.derived.get_or_insert(row);
        }
    }

    fn close(mut self) {
        for group in std::mem::take(&mut self.open) {
            let both = group.stored.as_ref().zip(group.derived.as_ref());
            let differs = |i: &usize| both.is_none_or(|(a, b)| a.get(*i) != b.get(*i));
            let shown: Vec<usize> = (0..self.columns.len()).filter(differs).collect();
            let told =
                |row: &Option<Cells>, other: &Option<Cells>| Some(self.told(row.as_ref()?, other.as_ref(), &shown));
            self.out.named.push(Difference {
                table: self.table,
                stored: told(&group.stored, &group.derived),
                derived: told(&group.derived, &group.stored),
                columns: if both.is_some() {
                    shown.iter().map(|i| self.columns[*i].clone()).collect()
                } else {
                    Vec::new()
                },
                // A row that was changed is there on both sides and is one row.
                rows: group.rows.0.max(group.rows.1),
                place: group.place,
            });
        }
    }

    fn told(&self, row: &Cells, other: Option<&Cells>, shown: &[usize]) -> String {
        let cell = |i: &usize| {
            let text = cell_text((&row[*i]).into());
            let beside = other.map(|o| cell_text((&o[*i]).into()));
            format!("{} {}", self.columns[*i], around(&text, beside.as_deref()))
        };
        shown.iter().map(cell).collect::<Vec<_>>().join(", ")
    }
}

/// How many characters of a value are shown.
const SHOWN: usize = 60;

/// Returns a value, or the part of a long one around the first character in which it differs from another.
fn around(text: &str, other: Option<&str>) -> String {
    let same = other.map_or(0, |o| text.chars().zip(o.chars()).take_while(|(a, b)| a == b).count());
    let n = text.chars().count();
    if n <= SHOWN {
        return text.to_owned();
    }
    let from = same.saturating_sub(SHOWN / 3).min(n - SHOWN);
    let part: String = text.chars().skip(from).take(SHOWN).collect();
    let after = if from + SHOWN < n { "…" } else { "" };
    if from == 0 { format!("{part}{after}") } else { format!("…{part}{after} (from character {})", from + 1) }
}

/// Returns what a row of the dump speaks of.
fn place_of(table: &str, row: &Cells) -> String {
    let text = |i: usize| match row.get(i) {
        Some(Value::Text(t)) => t.clone(),
        Some(Value::Integer(n)) => n.to_string(),
        _ => String::new(),
    };
    match table {
        "claim" | "note" | "recording" | "span" | "strip" => text(0),
        "finding" if matches!(row.get(2), Some(Value::Text(_))) => text(2),
        "finding" | "night" => format!("{}/{}", text(0), text(1)),
        "wearing" => format!("{}/{} {}", text(1), text(2), text(0)),
        "original" | "definition" | "participant" | "device" | "unit" | "scorer" | "offset_stretch" => text(0),
        _ => format!("decision {}", text(0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_value_is_shown_where_it_differs() {
        let (a, b) = ("W".repeat(200), format!("{}R{}", "W".repeat(100), "W".repeat(99)));
        assert_eq!(around(&b, Some(&a)), format!("…{}R{}… (from character 81)", "W".repeat(20), "W".repeat(39)));
        assert_eq!(around("abc", Some("abd")), "abc");
    }

    #[test]
    fn rows_are_ordered_as_sqlite_orders_them() {
        let db = rusqlite::Connection::open_in_memory().unwrap();
        db.execute_batch(
            "CREATE TABLE t (v); INSERT INTO t VALUES (NULL), (-1), (2), (1.5), ('a'), ('Z'), ('ä'), (x'00')",
        )
        .unwrap();
        let sorted: Vec<Value> = db
            .prepare("SELECT v FROM t ORDER BY 1")
            .unwrap()
            .query_map([], |r| r.get(0))
            .unwrap()
            .map(Result::unwrap)
            .collect();
        let mut ours = sorted.clone();
        ours.reverse();
        ours.sort_by(compare_values);
        assert_eq!(ours, sorted);
    }

    #[test]
    fn what_follows_from_an_absent_decision_is_skipped_and_nothing_else() {
        let row = |cells: &[&str]| cells.iter().map(|c| Value::Text((*c).to_owned())).collect::<Cells>();
        let skip = Skip {
            decisions: vec![3],
            recordings: vec!["P01/2026-04-04/ring-a-1".into()],
            nights: vec!["P01/2026-04-04".into()],
        };
        assert!(skipped("span", &row(&["P01/2026-04-04/ring-a-1#2", "x"]), &skip));
        assert!(!skipped("span", &row(&["P01/2026-04-04/ring-a-11", "x"]), &skip));
        assert!(skipped("strip", &row(&["P01/2026-04-04/mat-a-1"]), &skip));
        assert!(skipped("finding", &row(&["P01", "2026-04-04"]), &skip));
        assert!(!skipped("finding", &row(&["P01", "2026-04-05"]), &skip));
        assert!(skipped("exclusion", &vec![Value::Integer(3)], &skip));
        assert!(!skipped("exclusion", &vec![Value::Integer(4)], &skip));
    }
}
