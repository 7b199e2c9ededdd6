//! Files that hold many kinds of row: a field says which kind, and one kind has the stages.

use super::plan::Block;
use super::tables::{Field, Kind, Table};
use std::collections::BTreeMap;

/// A file has few kinds of row.
const MOST_KINDS: usize = 40;

/// Returns the tables of single kinds of row, for each field that may say the kind.
pub(super) fn tables(table: &Table) -> Vec<Table> {
    if table.kind != Kind::Rows || table.keep.is_some() || table.rows() < 6 {
        return Vec::new();
    }
    table.fields.iter().filter(|f| f.up == 0 && !f.key).flat_map(|field| of_field(table, field)).collect()
}

fn of_field(table: &Table, field: &Field) -> Vec<Table> {
    let mut kinds: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (n, text) in field.cells.iter().enumerate().filter_map(|(n, c)| Some((n, c.text()?))) {
        kinds.entry(text).or_default().push(n);
        if kinds.len() > MOST_KINDS {
            return Vec::new();
        }
    }
    let several = kinds.len() > 1;
    let enough = |rows: &&(&str, Vec<usize>)| several && rows.1.len() > 2;
    let kinds: Vec<(&str, Vec<usize>)> = kinds.into_iter().collect();
    kinds.iter().filter(enough).map(|(text, rows)| only(table, field, text, rows)).collect()
}

fn only(table: &Table, field: &Field, text: &str, rows: &[usize]) -> Table {
    let cut = |f: &Field| Field { cells: rows.iter().map(|n| f.cells[*n].clone()).collect(), ..f.clone() };
    Table {
        fields: table.fields.iter().map(cut).collect(),
        groups: rows.iter().map(|n| table.groups[*n]).collect(),
        keep: Some((field.path.clone(), text.to_owned())),
        ..table.clone()
    }
}

/// Says whether a block of one kind of row is worth more than those of all rows: its words are plain, and they
/// are not the words that say the kind.
pub(super) fn is_worth(block: &Block, table: &Table) -> bool {
    let label = block.stage.as_ref().map(|(origin, _)| origin);
    let itself = matches!((label, &table.keep), (Some(super::plan::Origin::At { at, .. }), Some((field, _))) if at == std::slice::from_ref(field));
    block.rank.known >= 2 && !itself
}
