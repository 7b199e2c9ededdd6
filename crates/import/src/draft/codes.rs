//! One code for each epoch: a text of letters, a list, one column for each, or one row for each.

use super::columns::TimeColumn;
use super::epochs::{epoch, open_epoch};
use super::look::{Line, Look, lines};
use super::plan::{Block, Codes, Origin, Rank, Time, Use};
use super::tables::{Cell, Field, Kind};
use super::times::Says;
use super::timing::time;
use super::wording::rows;
use super::words::{labels, stage_of};
use std::collections::BTreeMap;

/// The codes of every row.
struct Strings {
    codes: Codes,
    path: Option<String>,
    /// For each row its codes.
    all: Vec<Vec<String>>,
}

/// Returns the blocks of a table whose rows hold codes.
pub(super) fn blocks(look: &Look<'_>) -> Vec<Block> {
    if look.table.kind != Kind::Rows {
        return Vec::new();
    }
    let mut found: Vec<Strings> =
        look.table.fields.iter().filter(|f| f.up == 0).filter_map(|f| of_field(look, f)).collect();
    found.extend(of_columns(look));
    let mut out: Vec<Block> = found.iter().filter_map(|s| block(look, s)).collect();
    // Where rows have times of their own, their order alone must not say when they were.
    let timed = |t: &TimeColumn| {
        t.up == 0
            && t.readings
                .iter()
                .any(|r| r.says != Says::Elapsed || super::elapsed::rises(&look.table.groups, &r.seconds))
    };
    if !look.columns.times.iter().any(timed) {
        out.extend(one_a_row(look));
    }
    out
}

fn of_field(look: &Look<'_>, field: &Field) -> Option<Strings> {
    let lists: Vec<Option<Vec<String>>> = field
        .cells
        .iter()
        .map(|c| match c {
            Cell::List(items) => items.iter().map(|i| i.word().map(str::to_owned)).collect(),
            _ => None,
        })
        .collect();
    let texts: Vec<&str> = field
        .cells
        .iter()
        .filter_map(|c| match c {
            Cell::Text(text) => Some(text.as_str()),
            _ => None,
        })
        .collect();
    let (split, all): (Option<&str>, Vec<Vec<String>>) = match lists.iter().flatten().count() {
        0 => {
            let split = split_of(&texts)?;
            let cut = |c: &Cell| match c {
                Cell::Text(t) if split == "letter" => t.chars().map(String::from).collect(),
                Cell::Text(t) => t.split(split).map(str::to_owned).collect(),
                _ => Vec::new(),
            };
            (Some(split), field.cells.iter().map(cut).collect())
        }
        _ => (None, lists.into_iter().map(Option::unwrap_or_default).collect()),
    };
    if !are_codes(&all) {
        return None;
    }
    let n: usize = all.iter().map(Vec::len).sum();
    let why = format!("{} codes in {}", super::wording::thousands(n), rows(all.len()));
    let at = Ok(Origin::At { at: vec![field.path.clone()], up: 0 });
    Some(Strings {
        codes: Codes { why, at, split: split.map(str::to_owned) },
        path: look.table.path_from_root(field),
        all,
    })
}

/// Returns how texts are cut into codes: at a separator that makes short codes, else into letters.
fn split_of<'a>(texts: &[&str]) -> Option<&'a str> {
    let longest = texts.iter().map(|t| t.chars().count()).max().unwrap_or(0);
    if longest < 12 {
        return None;
    }
    for mark in [",", ";", " ", "|"] {
        if texts.iter().all(|t| {
            t.is_empty()
                || (t.contains(mark)
                    && t.split(mark).all(|c| !c.is_empty() && c.chars().count() <= 6 && !c.contains([':', '.'])))
        }) {
            return Some(mark);
        }
    }
    let clean = |t: &&str| t.chars().all(|c| !c.is_whitespace() && !matches!(c, ':' | '/' | '.' | '@'));
    texts.iter().all(clean).then_some("letter")
}

/// A text of codes has few kinds of code, and each comes often.
fn are_codes(all: &[Vec<String>]) -> bool {
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for code in all.iter().flatten() {
        *kinds.entry(code).or_default() += 1;
        if kinds.len() > 12 {
            return false;
        }
    }
    let n: usize = kinds.values().sum();
    let small = |c: &&str| c.parse::<f64>().map_or(true, |x| x.fract() == 0.0 && (-9.0..100.0).contains(&x));
    kinds.len() > 1 && n >= 8 && kinds.len() * 3 <= n && kinds.keys().all(small)
}

/// Finds a run of columns with the same few texts: one column for each epoch.
fn of_columns(look: &Look<'_>) -> Option<Strings> {
    if look.sample.format != counterpane_formats::Format::Csv || look.table.fields.len() < 10 {
        return None;
    }
    let short = |f: &Field| {
        f.cells.iter().all(|c| {
            c.word().is_some_and(|w| {
                w.chars().count() <= 12
                    && (w.parse::<f64>().is_err() || w.parse::<i64>().is_ok_and(|i| (-9..100).contains(&i)))
            })
        })
    };
    let fields = &look.table.fields;
    let mut best = (0, 0);
    let mut from = 0;
    while from < fields.len() {
        let mut kinds: Vec<&str> = Vec::new();
        let run = fields[from..]
            .iter()
            .take_while(|f| {
                kinds.extend(f.cells.iter().filter_map(Cell::word));
                kinds.sort_unstable();
                kinds.dedup();
                short(f)
                    && kinds.len() <= 12
                    && !look.columns.times.iter().any(|t| {
                        t.fields.iter().any(|n| fields[*n].path == f.path)
                            && t.readings.iter().any(|r| r.says != Says::Elapsed)
                    })
            })
            .count();
        if run > best.1 {
            best = (from, run);
        }
        from += run.max(1);
    }
    let (first, run) = best;
    let mut all: Vec<Vec<String>> = vec![Vec::new(); look.table.rows()];
    for field in &fields[first..first + run] {
        all.iter_mut().zip(&field.cells).for_each(|(row, cell)| row.extend(cell.word().map(str::to_owned)));
    }
    if run < 8 || !are_codes(&all) {
        return None;
    }
    let why = format!(
        "one column for each epoch: {run} columns, from `{}` to `{}`",
        fields[first].path,
        fields[first + run - 1].path
    );
    let at = Err((format!("#{}", first + 1), format!("#{}", first + run)));
    Some(Strings { codes: Codes { why, at, split: None }, path: Some(fields[first].path.clone()), all })
}

fn block(look: &Look<'_>, strings: &Strings) -> Option<Block> {
    let columns = strings.codes.at.is_err();
    let mut block = Block {
        table: look.number,
        shape: if columns { "columns" } else { "codes" },
        codes: Some(strings.codes.clone()),
        ..Block::default()
    };
    block.why = format!(
        "a start, and one code for each epoch in each of {}",
        rows(strings.all.iter().filter(|a| !a.is_empty()).count())
    );
    let counts: Vec<f64> = strings.all.iter().map(|a| precise(a.len())).collect();
    let starts: Vec<(&TimeColumn, Line)> = look
        .columns
        .times
        .iter()
        .filter(|t| !is_code_column(look, t, strings))
        .flat_map(|t| {
            lines(look, t).into_iter().filter(|l| !matches!(l.reading.says, Says::Elapsed)).map(move |l| (t, l))
        })
        .collect();
    let epoch = epoch(look, &starts, &counts, strings.path.as_deref());
    let confirmed = epoch.as_ref().and_then(|e| e.start);
    let (start, end) = match confirmed {
        Some((start, end)) => (Some(starts[start].0), end.map(|n| starts[n].0)),
        None => (earliest(&starts), None),
    };
    let start = start?;
    block.start = Some(time(look, start, &lines(look, start), "when the first epoch began", &[], &mut block));
    if let Some(end) = end.filter(|_| !columns) {
        block.end = Some(time(
            look,
            end,
            &lines(look, end),
            "when the last epoch ended; codes that do not lead here are an error",
            &[],
            &mut block,
        ));
    }
    let seconds = epoch.as_ref().and_then(|e| e.seconds);
    block.epoch = Some(epoch.map_or_else(open_epoch, |e| e.length));
    for code in strings.all.iter().flatten() {
        let used = block.words.entry(code.clone()).or_insert_with(|| Use { perhaps: stage_of(code), ..Use::default() });
        used.rows += 1;
        used.seconds = seconds.map(|s| s * precise(used.rows));
    }
    block.has.extend(look.paths(&[start]));
    block.has.extend(strings.path.clone());
    let known = block.words.keys().filter(|w| stage_of(w).is_some()).count();
    block.rank = Rank {
        known: known.min(3),
        close: confirmed.is_some(),
        shape: 2,
        rows: strings.all.iter().map(Vec::len).sum(),
        ..block.rank
    };
    Some(block)
}

fn is_code_column(look: &Look<'_>, column: &TimeColumn, strings: &Strings) -> bool {
    column.fields.iter().any(|n| look.path_of(*n) == strings.path)
}

#[expect(clippy::cast_precision_loss, reason = "a sample has fewer than 2^52 codes")]
fn precise(n: usize) -> f64 {
    n as f64
}

/// Of times that nothing tells apart, the earliest in every row.
fn earliest<'c>(starts: &[(&'c TimeColumn, Line)]) -> Option<&'c TimeColumn> {
    let sum = |l: &Line| l.seconds.iter().flatten().sum::<f64>();
    starts.iter().min_by(|a, b| sum(&a.1).total_cmp(&sum(&b.1))).map(|(column, _)| *column)
}

/// Says whether a column numbers its rows: 0, 1, 2 or 1, 2, 3.
fn is_numbering(field: &Field) -> bool {
    let numbers: Option<Vec<i64>> =
        field.cells.iter().map(|c| c.text()?.trim_end_matches(['.', ':', ')']).parse().ok()).collect();
    numbers
        .is_some_and(|all| all.first().is_some_and(|n| (0..=1).contains(n)) && all.windows(2).all(|p| p[1] == p[0] + 1))
}

/// One code a row and no times at all: the start comes from the command line.
fn one_a_row(look: &Look<'_>) -> Vec<Block> {
    let fields = labels(look.table);
    // In plain text a word stands for its line only where the others merely number the lines.
    let whole_line = |l: &&super::words::Label| {
        let path = look.table.fields[l.field].path.as_str();
        let others = look.table.fields.iter().filter(|f| f.path.starts_with("word ") && f.path != path);
        look.sample.format != counterpane_formats::Format::Text
            || path == "line"
            || (path.starts_with("word ") && others.into_iter().all(is_numbering))
    };
    let flat = matches!(look.table.way, super::tables::Way::Flat)
        || look.sample.format == counterpane_formats::Format::Jsonl
        || look.table.path().ends_with("[*]");
    // A column of texts with many digits, another in each row, may hold times that no way reads: then their order is
    // not all there is.
    let unread = |f: &Field| {
        let texts: std::collections::BTreeSet<&str> = f.cells.iter().filter_map(Cell::text).collect();
        let digits = |t: &&str| t.chars().filter(char::is_ascii_digit).count() >= 5;
        texts.len() * 10 >= look.table.rows() * 8 && texts.iter().all(digits)
    };
    let is_line = |f: &Field| look.sample.format == counterpane_formats::Format::Text && !f.path.starts_with("word ");
    let enough = look.table.rows() >= 8 && !look.table.fields.iter().any(|f| f.up == 0 && !is_line(f) && unread(f));
    let mut out = Vec::new();
    for label in fields.iter().filter(|l| !look.is_time(l.field)).filter(whole_line).filter(|_| flat && enough) {
        let field = &look.table.fields[label.field];
        let mut block = Block { table: look.number, shape: "codes", needs: vec!["--start"], ..Block::default() };
        block.why = format!(
            "one code a row, {}, and no times: each row goes on where the one above ends",
            rows(look.table.rows())
        );
        let origin = Origin::At { at: vec![field.path.clone()], up: 0 };
        block.codes = Some(Codes {
            why: format!("{} of {} hold a code", label.words.values().sum::<usize>(), rows(look.table.rows())),
            at: Ok(origin),
            split: Some("row".into()),
        });
        let why = "nothing in the file says when it began: give it with `--start`".to_owned();
        block.start = Some(Time {
            origin: Origin::Bound("start"),
            why,
            read: None,
            offset: None,
            zone: None,
            fold: None,
            from: None,
        });
        block.epoch = Some(open_epoch());
        block.words = label
            .words
            .iter()
            .map(|(w, n)| (w.clone(), Use { rows: *n, seconds: None, perhaps: stage_of(w) }))
            .collect();
        block.has.extend(look.path_of(label.field).filter(|_| look.sample.format != counterpane_formats::Format::Text));
        block.rank = Rank { known: label.known.min(3), rows: look.table.rows(), ..Rank::default() };
        out.push(block);
    }
    out
}
