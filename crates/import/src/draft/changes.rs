//! Shape `change`: a start and a word a row; and rows of equal steps, which are epochs.

use super::columns::TimeColumn;
use super::elapsed;
use super::fit::usual_step;
use super::look::{Look, by_midnights, lines};
use super::plan::{Block, Extent, Length, Origin, Pick};
use super::spans::{base, minutes_of};
use super::times::Says;
use super::timing::time;
use super::wording::{rows, trimmed, words_of};
use super::words::{Label, stage_of};
use super::write::quoted;

pub(super) fn changes(look: &Look<'_>, label: &Label, start: &TimeColumn) -> Option<Block> {
    let mut all = lines(look, start);
    let counts = label.known > 0 || !elapsed::anchors(look, start).is_empty();
    // A count from an anchor begins at nothing; what does not may be a length.
    let from_nothing = |l: &super::look::Line| l.seconds.iter().flatten().any(|s| *s == 0.0);
    all.retain(|l| l.reading.says != Says::Elapsed || from_nothing(l));
    all.retain(|l| l.reading.says != Says::Elapsed || (counts && elapsed::rises(&look.table.groups, &l.seconds)));
    let all = by_midnights(look, all, |l| l);
    let first = all.first()?;
    let step = usual_step(&look.table.groups, &first.seconds);
    let runs = runs(look, label, &first.seconds);
    if let Some((seconds, same, of)) = step.filter(|_| runs.0 * 10 >= runs.1 * 3) {
        let ends: Vec<Option<f64>> = first.seconds.iter().map(|s| Some((*s)? + seconds)).collect();
        let why = format!("one row for each epoch: the next start is {} later in {same} of {of}", words_of(seconds));
        let mut block = base(look, label, "length", why, &minutes_of(&first.seconds, &ends));
        block.rank.close = true;
        block.rank.shape = 2;
        block.extent = Extent::of(&first.reading.says, &first.seconds, &ends);
        let total = look.totals(&ends);
        block.start = Some(time(look, start, &all, "when it began", &total, &mut block));
        block.length = Some(Length {
            origin: Origin::Const(trimmed(seconds)),
            why: format!("how long an epoch lasts: {same} of {of} neighbours are {} apart", words_of(seconds)),
            read: Pick::one(quoted("s"), ""),
        });
        block.has.extend(look.paths(&[start]));
        return Some(block);
    }
    if ends_rows(look, &first.seconds) {
        return None;
    }
    let ends = next_starts(&look.table.groups, &first.seconds);
    let why = format!(
        "each of {} says what begins and when; no column gives an end or a length that fits",
        rows(first.reading.count)
    );
    let mut block = base(look, label, "change", why, &minutes_of(&first.seconds, &ends));
    block.rank.shape = 1;
    let total = look.totals(&first.seconds);
    block.start =
        Some(time(look, start, &all, "when it began; it lasts to the next row of the night", &total, &mut block));
    if let Some(end) = elapsed::end_above(look, &first.seconds, first.reading.says.clone()) {
        block.end =
            Some(time(look, &end.0, &end.1, "when the recording ended: no change lies after it", &[], &mut block));
        block.has.extend(look.paths(&[&end.0]));
    } else if !ends_by_word(label, look, &first.seconds, &mut block) {
        block.needs.push("--end");
    }
    block.has.extend(look.paths(&[start]));
    Some(block)
}

/// Says whether a time ends its row: less the length beside it, it is the time of the row above.
fn ends_rows(look: &Look<'_>, times: &[Option<f64>]) -> bool {
    let plain = |f: &&super::tables::Field| f.up == 0 && !f.key;
    look.table.fields.iter().filter(plain).any(|field| {
        super::lengths::lengths(&field.cells, look.sample.text.comma).iter().any(|length| {
            let starts: Vec<Option<f64>> =
                times.iter().zip(&length.seconds).map(|(t, l)| Some((*t)? - (*l)?)).collect();
            let found = super::fit::fit(&look.table.groups, &starts, times, 1.0);
            found.is_close() && found.pairs > 2
        })
    })
}

/// Says whether a word stands in the last row of each night and nowhere else: it may mean `end`.
fn ends_by_word(label: &Label, look: &Look<'_>, starts: &[Option<f64>], block: &mut Block) -> bool {
    let ends = next_starts(&look.table.groups, starts);
    let cells = &look.table.fields[label.field].cells;
    for word in label.words.keys() {
        let mine: Vec<usize> = (0..cells.len()).filter(|n| cells[*n].word() == Some(word)).collect();
        let last = |n: &usize| ends[*n].is_none_or(|e| starts[*n].is_some_and(|s| e - s > 3.0 * 3600.0));
        let nights = (0..cells.len()).filter(last).count();
        if stage_of(word).is_none() && mine.len() == nights && mine.iter().all(last) {
            if let Some(used) = block.words.get_mut(word) {
                used.perhaps = Some("end");
            }
            return true;
        }
    }
    false
}

/// Returns how many neighbours have the same word, of how many.
fn runs(look: &Look<'_>, label: &Label, starts: &[Option<f64>]) -> (usize, usize) {
    let cells = &look.table.fields[label.field].cells;
    let mut rows: Vec<(usize, f64, Option<&str>)> =
        (0..cells.len()).filter_map(|n| Some((look.table.groups[n], starts[n]?, cells[n].word()))).collect();
    rows.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    (rows.windows(2).filter(|p| p[0].2 == p[1].2).count(), rows.len().saturating_sub(1))
}

/// Returns for each row the start of the next one of its group.
fn next_starts(groups: &[usize], starts: &[Option<f64>]) -> Vec<Option<f64>> {
    let mut order: Vec<usize> = (0..starts.len()).filter(|n| starts[*n].is_some()).collect();
    order.sort_by(|a, b| {
        groups[*a].cmp(&groups[*b]).then(starts[*a].unwrap_or(0.0).total_cmp(&starts[*b].unwrap_or(0.0)))
    });
    let mut out = vec![None; starts.len()];
    order.windows(2).filter(|p| groups[p[0]] == groups[p[1]]).for_each(|p| out[p[0]] = starts[p[1]]);
    out
}
