//! Which of the blocks that a sample could be read by are proposed.

use super::DraftError;
use super::plan::{Block, Origin};
use super::tables::{Field, Sample};
use super::wording::rows;
use super::{columns, words};

/// What is proposed: one block, or rivals; and what else looks like stages.
pub(super) struct Chosen {
    pub(super) blocks: Vec<Block>,
    /// Rows that hold words for stages and are not proposed, each in words.
    pub(super) passed_over: Vec<String>,
}

/// Rivals that are shown side by side.
const MOST_RIVALS: usize = 4;

/// Returns the best block, or the rivals that nothing tells apart.
pub(super) fn choose(mut all: Vec<Block>, sample: &Sample) -> Result<Chosen, DraftError> {
    // Totals are of use only where there are no times of stages.
    let timed = all.iter().any(|b| b.totals.is_empty() && (b.rank.known > 0 || b.rank.close));
    if timed || all.iter().all(|b| b.totals.is_empty()) {
        all.retain(|b| b.totals.is_empty());
    } else {
        all.retain(|b| !b.totals.is_empty());
    }
    all.sort_by_key(|b| std::cmp::Reverse(b.rank));
    let Some(best) = all.first().map(|b| b.rank) else {
        return Err(DraftError::NoStages { why: nothing(sample) });
    };
    let sure = best.known >= 2;
    let finer = finer(&mut all, sample);
    let (mut rivals, mut rest): (Vec<Block>, Vec<Block>) =
        all.into_iter().partition(|b| if sure { b.rank.known >= 2 } else { b.rank.close == best.close });
    // Numbers are no words; where one column is named like stages, the others beside it are something else.
    let named = |b: &Block| label(b, sample).is_some_and(|f| words::is_named_like_stages(&f.path));
    if !sure && rivals.iter().any(named) {
        rivals.retain(named);
    }
    // A column among hundreds of epochs, or a summary of a few rows, is no rival of the rows themselves.
    let most = rivals.first().map_or(0, |b| b.rank.rows);
    let (rivals, few): (Vec<Block>, Vec<Block>) = rivals.into_iter().partition(|b| {
        let loose = best.close && !b.rank.close;
        b.rank.rows * if loose { 2 } else { 10 } >= most
    });
    rest.extend(few);
    let mut blocks: Vec<Block> = Vec::new();
    for other in rivals {
        if blocks.len() < MOST_RIVALS && !blocks.iter().any(|b| says_the_same(b, &other, sample)) {
            blocks.push(other);
        }
    }
    if let Some(first) = blocks.first_mut() {
        first.with.extend(finer);
    }
    let blocks = one_that_asks(blocks);
    let passed_over = passed_over(&blocks, &rest, sample);
    Ok(Chosen { blocks, passed_over })
}

/// Takes out the blocks of other lists that lie over the best one: they use its words, stand in its time, and last much
/// shorter together.
fn finer(all: &mut Vec<Block>, sample: &Sample) -> Vec<Block> {
    let Some(best) = all.first().filter(|b| b.rank.known >= 2 && b.rank.close).cloned() else { return Vec::new() };
    let Some(whole) = best.extent else { return Vec::new() };
    let inside = |b: &Block| {
        let within = |e: super::plan::Extent| {
            e.instants == whole.instants
                && e.from >= whole.from - 60.0
                && e.until <= whole.until + 60.0
                && e.sum < whole.sum * 0.6
        };
        let words = b.words.keys().all(|w| best.words.contains_key(w));
        b.table != best.table && b.order.is_none() && words && b.shape != "change" && b.extent.is_some_and(within)
    };
    let (mut over, rest): (Vec<Block>, Vec<Block>) = std::mem::take(all).into_iter().partition(inside);
    *all = rest;
    let mut tables: Vec<usize> = Vec::new();
    over.retain(|b| {
        !tables.contains(&b.table) && {
            tables.push(b.table);
            true
        }
    });
    over.truncate(3);
    for (n, block) in over.iter_mut().enumerate() {
        block.layer = n + 1;
        let lasts = block.extent.map_or(0.0, |e| e.sum);
        block.why = format!(
            "{} with the same words lie inside the time of the rows above, {} in all: taken for a finer layer, which wins \
             where it speaks. Delete this block if it is not. {}",
            rows(sample.tables[block.table].rows()),
            super::wording::words_of(lasts),
            block.why
        );
    }
    over
}

/// Rivals that differ in nothing but the column of their words are one block in which the column is asked.
fn one_that_asks(blocks: Vec<Block>) -> Vec<Block> {
    let times = |b: &Block| {
        let origin = |t: &Option<super::plan::Time>| t.as_ref().map(|t| t.origin.clone());
        (b.table, b.shape, origin(&b.start), origin(&b.end), b.length.as_ref().map(|l| l.origin.clone()))
    };
    let (Some(first), true) = (blocks.first(), blocks.len() > 1) else { return blocks };
    if first.stage.is_none() || !blocks.iter().all(|b| times(b) == times(first) && b.with.is_empty()) {
        return blocks;
    }
    let mut one = first.clone();
    let mut options = Vec::new();
    for block in &blocks {
        let Some((origin, why)) = &block.stage else { return blocks };
        options.push((origin.clone(), why.trim_start_matches("the source's word: ").to_owned()));
        for (word, used) in &block.words {
            one.words.entry(word.clone()).or_insert_with(|| used.clone());
        }
    }
    options.sort_by(|a, b| a.1.cmp(&b.1).then(format!("{:?}", a.0).cmp(&format!("{:?}", b.0))));
    one.stage =
        Some((Origin::Open(options), "several columns hold words for stages: which is wanted is yours to say".into()));
    vec![one]
}

/// Returns the rows elsewhere in the file that hold words for stages too, such as a finer layer.
fn passed_over(blocks: &[Block], rest: &[Block], sample: &Sample) -> Vec<String> {
    let path = |b: &Block| sample.tables[b.table].path();
    let mut seen: Vec<String> = blocks.iter().flat_map(Block::all).map(path).collect();
    let mut out = Vec::new();
    for block in rest.iter().filter(|b| b.rank.known > 0) {
        let here = path(block);
        if !seen.contains(&here) && out.len() < 3 {
            out.push(format!("{} at {here}", rows(sample.tables[block.table].rows())));
            seen.push(here);
        }
    }
    out
}

/// Says whether a block adds nothing to a better one: the same words of the same rows, in another shape or
/// with another name.
fn says_the_same(better: &Block, other: &Block, sample: &Sample) -> bool {
    if better.table != other.table {
        return false;
    }
    if origin(better) == origin(other) || (better.rank.known > 0 && other.rank.known == 0) {
        return true;
    }
    // One says in numbers what the other says in words.
    let table = &sample.tables[better.table];
    let of = |b: &Block| {
        let path = &label(b, sample)?.path;
        words::labels(table).into_iter().find(|l| table.fields[l.field].path == *path)
    };
    let same = |a, b| words::same_in_other_words(table, a, b) && words::same_in_other_words(table, b, a);
    matches!((of(better), of(other)), (Some(a), Some(b)) if same(&a, &b))
}

fn origin(block: &Block) -> Option<&Origin> {
    let codes = || block.codes.as_ref().and_then(|c| c.at.as_ref().ok());
    block.stage.as_ref().map(|(origin, _)| origin).or_else(codes)
}

/// Returns the field that holds a block's words.
fn label<'s>(block: &Block, sample: &'s Sample) -> Option<&'s Field> {
    let Some(Origin::At { at, .. }) = origin(block) else { return None };
    sample.tables[block.table].fields.iter().find(|f| f.up == 0 && Some(&f.path) == at.first())
}

/// Says in words what a draft cannot write although it is there, and where the documentation shows how.
fn beyond(sample: &Sample) -> Option<String> {
    for table in &sample.tables {
        let json = |f: &&Field| {
            let texts: Vec<&str> = f.cells.iter().filter_map(|c| c.text()).map(str::trim).collect();
            let like = |t: &&str| {
                (t.starts_with('{') && t.ends_with('}')) || (t.starts_with('[') && t.ends_with(']') && t.len() > 8)
            };
            !texts.is_empty() && texts.iter().all(like)
        };
        if let Some(field) = table.fields.iter().find(json) {
            return Some(format!(
                "the cells of {} hold JSON, which is not looked into; docs/definitions.md shows the block for it under “JSON inside the cells of a table”",
                field.name()
            ));
        }
        let numbers = |f: &&Field| {
            f.up == 0
                && f.cells.iter().all(|c| c.text().is_some_and(|t| t.trim().parse::<f64>().is_ok_and(|n| n > 0.0)))
        };
        let lengths = table.fields.iter().find(numbers);
        let word = words::labels(table).into_iter().find(|l| l.worded && table.fields[l.field].up == 0);
        let times = columns::columns(table, sample.text.comma).times;
        if let (Some(length), Some(end)) = (lengths, times.iter().find(|t| t.up == 0 && !t.placed().is_empty())) {
            return Some(format!(
                "{} may be when the rows end, for less {} it is the time of the row above; a definition cannot subtract: add a column with the start, and draft again",
                end.name(table),
                length.name()
            ));
        }
        if let (Some(length), Some(word), true) = (lengths, word, table.rows() > 3) {
            return Some(format!(
                "the {} at {} have words ({}) and what may be lengths ({}), and no starts: if each row begins where the one above ends, only a filter can add them up; docs/definitions.md shows it under “Lengths one after the other”",
                rows(table.rows()),
                if table.path().is_empty() { "the top".to_owned() } else { table.path() },
                table.fields[word.field].name(),
                length.name()
            ));
        }
    }
    None
}

fn nothing(sample: &Sample) -> String {
    let tables: Vec<String> = sample
        .tables
        .iter()
        .filter(|t| t.rows() > 0 && !t.fields.is_empty())
        .take(4)
        .map(|t| {
            let names: Vec<String> =
                t.fields.iter().filter(|f| f.up == 0).take(6).map(|f| format!("`{}`", f.path)).collect();
            let path = if t.path().is_empty() { String::new() } else { format!("{}: ", t.path()) };
            format!("{path}{} with {}", rows(t.rows()), names.join(", "))
        })
        .collect();
    if let Some(why) = beyond(sample) {
        return why;
    }
    let back = sample.tables.iter().find_map(|t| columns::goes_back(t, sample.text.comma));
    if let Some(name) = back {
        return format!(
            "the times of day in {name} go back more than once, so the rows are of several nights, and no date says which; make one file for each night"
        );
    }
    format!("it holds {}; no column of words or codes stands beside a time, and no totals add up", tables.join("; "))
}
