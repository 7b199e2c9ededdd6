//! Files that hold many kinds of row: a field says which kind, and one kind has the stages.

use super::plan::{Block, Pick};
use super::tables::{Field, Kind, Sample, Table};
use super::wording::rows;
use super::write::quoted;
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
    kinds.iter().filter(enough).map(|(text, rows)| only(table, field, &[(*text).to_owned()], rows)).collect()
}

/// Returns some rows of a table, which are those that have one of these texts in a field.
pub(super) fn only(table: &Table, field: &Field, texts: &[String], rows: &[usize]) -> Table {
    let cut = |f: &Field| Field { cells: rows.iter().map(|n| f.cells[*n].clone()).collect(), ..f.clone() };
    Table {
        fields: table.fields.iter().map(cut).collect(),
        groups: rows.iter().map(|n| table.groups[*n]).collect(),
        keep: Some((field.path.clone(), texts.to_vec())),
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

/// Returns the block of a file in which several sources speak of the same time: each is fit to be read, all together
/// are not, and which one is wanted is asked.
pub(super) fn of_sources(blocks: Vec<Block>, sample: &Sample) -> Option<Block> {
    let field = |b: &Block| sample.tables[b.table].keep.as_ref().map(|(field, _)| field.clone());
    let mut close: Vec<Block> =
        blocks.into_iter().filter(|b| b.rank.close && is_worth(b, &sample.tables[b.table])).collect();
    close.sort_by_key(|b| std::cmp::Reverse(b.rank));
    let best = close.first()?.clone();
    let alike =
        |b: &&Block| field(b) == field(&best) && b.shape == best.shape && label(b) == label(&best) && b.rank.known >= 2;
    let mut same: Vec<&Block> = close.iter().filter(alike).collect();
    same.sort_by_key(|b| sample.tables[b.table].keep.clone());
    same.dedup_by_key(|b| b.table);
    let mut out = best.clone();
    let mut options = Vec::new();
    for block in &same {
        let table = &sample.tables[block.table];
        let (field, texts) = table.keep.as_ref()?;
        options.push((keep(field, texts), rows(table.rows())));
        for (word, used) in &block.words {
            out.words.entry(word.clone()).or_insert_with(|| used.clone());
        }
    }
    let why = format!("sources that `{}` tells apart speak of the same time", field(&best)?);
    out.keep = (same.len() > 1).then(|| Pick::open(options, why));
    Some(out)
}

fn label(block: &Block) -> Option<&super::plan::Origin> {
    block.stage.as_ref().map(|(origin, _)| origin)
}

/// Returns a rule that keeps rows, as a definition writes it.
pub(super) fn keep(field: &str, texts: &[String]) -> String {
    let texts: Vec<String> = texts.iter().map(|t| quoted(t)).collect();
    format!("{{ at = {}, in = [{}] }}", quoted(field), texts.join(", "))
}
