//! Rows that lie over other rows of the same list: time in bed over stages, or short wake-ups over longer pieces.

use super::columns::{TimeColumn, columns};
use super::fit::fit;
use super::intervals::end_line;
use super::lengths::lengths;
use super::look::{Look, lines};
use super::plan::{Block, Origin};
use super::tables::{Field, Kind, Sample, Table};
use super::wording::rows;
use super::words::{Label, labels, stage_of};
use super::{Options, candidates_of};

/// Words of one list, each on its layer.
struct Lanes {
    /// Words whose rows hold rows of other words, the longest first.
    below: Vec<String>,
    /// Words whose rows lie inside a row of another word.
    above: Vec<String>,
}

/// Returns a block of the rows that follow each other, with the blocks of the rows below and above them; the tables
/// that they are read from are added to the sample.
pub(super) fn blocks(sample: &mut Sample, options: &Options) -> Vec<Block> {
    let mut out = Vec::new();
    for number in 0..sample.tables.len() {
        let Some((label, lanes)) = find(sample, number, options) else { continue };
        out.extend(layered(sample, number, &label, &lanes, options));
    }
    out
}

fn find(sample: &Sample, number: usize, options: &Options) -> Option<(Label, Lanes)> {
    let table = &sample.tables[number];
    if table.kind != Kind::Rows || table.keep.is_some() {
        return None;
    }
    let columns = columns(table, sample.text.comma);
    let look = Look { sample, number, table, columns: &columns, options };
    let usable = |l: &Label| l.known >= 2 && l.words.len() > 2;
    labels(table).into_iter().filter(usable).find_map(|l| Some((l.clone(), of_label(&look, &l)?)))
}

fn of_label(look: &Look<'_>, label: &Label) -> Option<Lanes> {
    let words: Vec<Option<&str>> = look.table.fields[label.field].cells.iter().map(|c| c.word()).collect();
    let starts = look.columns.times.iter().filter(|t| t.up == 0 && t.fields != [label.field] && !t.placed().is_empty());
    for start in starts {
        for (from, to) in ways(look, start) {
            let found = fit(&look.table.groups, &from, &to, 1.0);
            if found.rows * 10 >= look.table.rows() * 9 && found.backwards * 20 <= found.rows && found.overlapping > 0 {
                let lanes = lanes(look.table, label, &words, &from, &to);
                if lanes.is_some() {
                    return lanes;
                }
            }
        }
    }
    None
}

type Seconds = Vec<Option<f64>>;

/// Returns every way to read a start with an end or a length.
fn ways(look: &Look<'_>, start: &TimeColumn) -> Vec<(Seconds, Seconds)> {
    let mut out = Vec::new();
    for from in lines(look, start).into_iter().filter(|l| start.placed().iter().any(|r| r.read == l.reading.read)) {
        for end in look.columns.times.iter().filter(|t| t.up == 0 && t.fields != start.fields) {
            let to = end.readings.iter().filter_map(|to| end_line(&from, to));
            out.extend(to.map(|to| (from.seconds.clone(), to.seconds)));
        }
        let plain = |f: &&Field| f.up == 0 && !f.key;
        for field in look.table.fields.iter().filter(plain) {
            for length in lengths(&field.cells, look.sample.text.comma) {
                let to = from.seconds.iter().zip(&length.seconds).map(|(s, l)| Some((*s)? + (*l)?)).collect();
                out.push((from.seconds.clone(), to));
            }
        }
    }
    out
}

/// Parts words by what their rows hold; `None` where the rest still does not follow each other.
fn lanes(table: &Table, label: &Label, words: &[Option<&str>], from: &Seconds, to: &Seconds) -> Option<Lanes> {
    let mut all: Vec<(f64, f64, &str)> =
        (0..words.len()).filter_map(|n| Some((from[n]?, to[n]?, words[n]?))).filter(|(s, e, _)| e > s).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
    let holds = |row: &(f64, f64, &str)| {
        let first = all.partition_point(|o| o.0 < row.0 - 1.0);
        let inside = all[first..].iter().take_while(|o| o.0 < row.1).filter(|o| o.2 != row.2 && o.1 <= row.1 + 1.0);
        inside.take(2).count() == 2
    };
    let is_inside = |row: &(f64, f64, &str)| {
        let until = all.partition_point(|o| o.0 < row.0);
        all[..until].iter().rev().take(60).any(|o| o.2 != row.2 && o.1 > row.1)
    };
    let mostly = |word: &str, holds: &dyn Fn(&(f64, f64, &str)) -> bool| {
        let mine: Vec<_> = all.iter().filter(|r| r.2 == word).collect();
        !mine.is_empty() && mine.iter().filter(|r| holds(r)).count() * 10 >= mine.len() * 8
    };
    let close = |without: &[String]| {
        let of = |n: &usize| words[*n].is_some_and(|w| !without.iter().any(|o| o == w));
        let kept: Vec<usize> = (0..words.len()).filter(of).collect();
        let pick = |s: &Seconds| kept.iter().map(|n| s[*n]).collect::<Vec<_>>();
        let groups: Vec<usize> = kept.iter().map(|n| table.groups[*n]).collect();
        kept.len() > 2 && fit(&groups, &pick(from), &pick(to), 1.0).is_close()
    };
    let mut below: Vec<String> = label.words.keys().filter(|w| mostly(w, &holds)).cloned().collect();
    let longest = |w: &String| {
        let longest = all.iter().filter(|r| r.2 == w).map(|r| r.1 - r.0).fold(0.0, f64::max);
        std::cmp::Reverse(longest.to_bits())
    };
    below.sort_by_key(longest);
    if !below.is_empty() && close(&below) {
        return Some(Lanes { below, above: Vec::new() });
    }
    let above: Vec<String> = label.words.keys().filter(|w| mostly(w, &is_inside)).cloned().collect();
    (!above.is_empty() && close(&above)).then_some(Lanes { below: Vec::new(), above })
}

fn layered(sample: &mut Sample, number: usize, label: &Label, lanes: &Lanes, options: &Options) -> Option<Block> {
    let apart: Vec<&String> = lanes.below.iter().chain(&lanes.above).collect();
    let rest: Vec<String> = label.words.keys().filter(|w| !apart.contains(w)).cloned().collect();
    let mut main = of_words(sample, number, label, &rest, options)?;
    main.layer = lanes.below.len();
    let mut with = Vec::new();
    for (n, word) in apart.iter().enumerate() {
        let table = push(sample, number, label, std::slice::from_ref(word));
        let mut block = main.clone();
        block.table = table;
        let count = sample.tables[table].rows();
        block.words = main.words.keys().next().map(|_| std::collections::BTreeMap::new()).unwrap_or_default();
        let used = super::plan::Use { rows: count, seconds: None, perhaps: stage_of(word) };
        block.words.insert((*word).clone(), used);
        let below = n < lanes.below.len();
        block.layer = if below { n } else { main.layer + 1 };
        block.why = if below {
            format!("{} of `{word}` lie around rows with other words, which win where they speak", rows(count))
        } else {
            format!("{} of `{word}` lie inside longer rows, and win there", rows(count))
        };
        with.push(block);
    }
    // A word that the sample lacks would be kept by no layer, and its rows lost without a word.
    main.guard = label.words.keys().cloned().collect();
    main.with = with;
    Some(main)
}

/// Returns the block of the rows that have some words only.
fn of_words(sample: &mut Sample, number: usize, label: &Label, words: &[String], options: &Options) -> Option<Block> {
    let table = push(sample, number, label, words);
    let path = sample.tables[table].fields[label.field].path.clone();
    let same = |b: &Block| matches!(&b.stage, Some((Origin::At { at, up: 0 }, _)) if *at == [path.clone()]);
    candidates_of(sample, table, options)
        .into_iter()
        .filter(|b| same(b) && b.rank.close && b.order.is_none())
        .max_by_key(|b| b.rank)
}

/// Adds the table of the rows with some words, and returns its number.
fn push(sample: &mut Sample, number: usize, label: &Label, words: &[String]) -> usize {
    let table = &sample.tables[number];
    let field = &table.fields[label.field];
    let mine: Vec<usize> =
        (0..table.rows()).filter(|n| field.cells[*n].word().is_some_and(|w| words.iter().any(|o| o == w))).collect();
    let kept = super::kept::only(table, field, words, &mine);
    sample.tables.push(kept);
    sample.tables.len() - 1
}
