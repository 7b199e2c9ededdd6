//! Tables whose rows are stretches or changes of stage: shapes `interval`, `length`, `change`, and `arrays` and
//! `keyed`, whose elements are such rows.

use super::changes::changes;
use super::intervals::intervals;
use super::look::Look;
use super::plan::{Block, Origin, Rank, Use};
use super::stretches::with_length;
use super::tables::Kind;
use super::wording::{count, rows};
use super::words::{Label, labels, stage_of};

/// Returns the best block of a table for each of its labels.
pub(super) fn blocks(look: &Look<'_>) -> Vec<Block> {
    let key = look.table.fields.iter().position(|f| f.key);
    let labels: Vec<Label> =
        labels(look.table).into_iter().filter(|l| key.is_none_or(|k| l.field == k) && !look.is_time(l.field)).collect();
    let own = labels.iter().filter(|l| look.table.fields[l.field].up == 0);
    let mut out: Vec<Block> = own.filter_map(|label| best_of_label(look, label)).collect();
    // Rows that are grouped by their stage follow each other across the groups.
    let above: Vec<&Label> = labels.iter().filter(|l| look.table.fields[l.field].up > 0).collect();
    if out.iter().all(|b| b.rank.known < 2) && look.table.kind == Kind::Rows && !above.is_empty() {
        let table = super::tables::Table { groups: vec![0; look.table.rows()], ..look.table.clone() };
        let look = Look { table: &table, ..*look };
        out.extend(above.iter().filter_map(|label| best_of_label(&look, label)));
    }
    out
}

fn best_of_label(look: &Look<'_>, label: &Label) -> Option<Block> {
    let mut all: Vec<Block> = Vec::new();
    for start in look.columns.times.iter().filter(|t| t.up == 0 && t.fields != [label.field]) {
        all.extend(intervals(look, label, start));
        all.extend(with_length(look, label, start));
        all.extend(changes(look, label, start));
    }
    // Of equals the first by name wins, so that the order of rows decides nothing.
    all.into_iter().rev().max_by_key(|b| b.rank)
}

/// Begins a block with what its label says.
pub(super) fn base(look: &Look<'_>, label: &Label, shape: &'static str, why: String, seconds: &[Option<f64>]) -> Block {
    let field = &look.table.fields[label.field];
    let mut block = Block { table: look.number, shape, why, ..Block::default() };
    for (n, word) in field.cells.iter().enumerate().filter_map(|(n, c)| Some((n, c.word()?))) {
        let used =
            block.words.entry(word.to_owned()).or_insert_with(|| Use { perhaps: stage_of(word), ..Use::default() });
        used.rows += 1;
        if let Some(s) = seconds.get(n).copied().flatten() {
            *used.seconds.get_or_insert(0.0) += s;
        }
    }
    let origin = if field.key { Origin::Key } else { field.origin() };
    let present: usize = label.words.values().sum();
    let why = format!(
        "the source's word: {} in {present} of {}",
        count(label.words.len(), "distinct text"),
        rows(look.table.rows())
    );
    block.stage = Some((origin, why));
    match &look.table.kind {
        Kind::Rows => {}
        Kind::Arrays => block.shape = "arrays",
        Kind::Keyed(path) => {
            block.lists = Some(path.clone());
            block.shape = "keyed";
        }
    }
    if !field.key {
        block.has.extend(look.path_of(label.field));
    }
    block.rank = Rank { known: label.known.min(3), rows: look.table.rows(), ..Rank::default() };
    block
}

/// Returns how long each row lasts, where that is less than a day.
pub(super) fn minutes_of(starts: &[Option<f64>], ends: &[Option<f64>]) -> Vec<Option<f64>> {
    starts.iter().zip(ends).map(|(s, e)| Some((*e)? - (*s)?).filter(|d| (0.0..86_400.0).contains(d))).collect()
}
