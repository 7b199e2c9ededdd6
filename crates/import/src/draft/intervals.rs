//! Shape `interval`: two times a row, of which the second ends what the first begins.

use super::columns::{TimeColumn, day_of};
use super::elapsed::rises;
use super::fit::{Fit, fit};
use super::look::{Line, Look, by_midnights, lines};
use super::plan::{Block, Extent};
use super::spans::{base, minutes_of};
use super::times::{Reading, Says};
use super::timing::time;
use super::wording::rows;
use super::words::Label;

/// A way to read both times, and how the rows fit then.
type Pair = (Fit, Line, Line);

pub(super) fn intervals(look: &Look<'_>, label: &Label, start: &TimeColumn) -> Option<Block> {
    let ends = look.columns.times.iter().filter(|t| t.up == 0 && t.fields != start.fields && t.fields != [label.field]);
    let mut best: Option<(Fit, Vec<Pair>, &TimeColumn)> = None;
    for end in ends {
        let mut pairs: Vec<Pair> = Vec::new();
        for from in lines(look, start) {
            for to in &end.readings {
                let Some(to) = end_line(&from, to) else { continue };
                let found = fit(&look.table.groups, &from.seconds, &to.seconds, 1.0);
                // Any two columns of numbers could be counted times: only rows that touch say that they are.
                let counted = from.reading.says == Says::Elapsed
                    && !(found.is_close() && found.pairs > 2 && rises(&look.table.groups, &from.seconds));
                if !counted
                    && found.is_possible()
                    && found.rows * 10 >= look.table.rows() * 9
                    && shortish(&from.seconds, &to.seconds)
                {
                    pairs.push((found, from.clone(), to));
                }
            }
        }
        let most = pairs.iter().map(|(f, ..)| f.touching).max().unwrap_or(0);
        pairs.retain(|(f, ..)| f.touching == most);
        let Some(found) = pairs.first().map(|(f, ..)| *f) else { continue };
        // Of equals an end with a date of its own says more than a time of day.
        let dated =
            best.as_ref().is_some_and(|(b, of, _)| b.touching == found.touching && is_clock(of) && !is_clock(&pairs));
        if dated || best.as_ref().is_none_or(|(b, ..)| found.touching > b.touching) {
            best = Some((found, pairs, end));
        }
    }
    let (found, pairs, end) = best?;
    let pairs = by_midnights(look, pairs, |p| &p.1);
    let (froms, tos): (Vec<Line>, Vec<Line>) = pairs.into_iter().map(|(_, from, to)| (from, to)).unzip();
    let why = format!(
        "each of {} has a start and an end; {} of {} end exactly where the next begins",
        rows(found.rows),
        found.touching,
        found.pairs
    );
    let seconds = minutes_of(&froms[0].seconds, &tos[0].seconds);
    let mut block = base(look, label, "interval", why, &seconds);
    block.rank.close = found.is_close();
    block.rank.shape = 3;
    block.extent = Extent::of(&froms[0].reading.says, &froms[0].seconds, &tos[0].seconds);
    let total = look.totals(&tos[0].seconds);
    block.start = Some(time(look, start, &froms, "when it began", &total, &mut block));
    block.end = Some(time(look, end, &tos, "when it ended", &total, &mut block));
    block.has.extend(look.paths(&[start, end]));
    Some(block)
}

/// Says whether the ends are times of day behind starts that have a date.
fn is_clock(pairs: &[Pair]) -> bool {
    pairs.iter().all(|(_, from, to)| to.reading.says == Says::Clock && from.reading.says != Says::Clock)
}

/// Returns the end's reading on the line of its start; both must say the same kind of time.
pub(super) fn end_line(from: &Line, to: &Reading) -> Option<Line> {
    let alike = match (&from.reading.says, &to.says) {
        (Says::Elapsed, Says::Elapsed) | (Says::Wall, Says::Wall) => {
            from.reading.read.first() == to.read.first() || both_patterns(&from.reading, to)
        }
        (Says::Offset { .. }, Says::Offset { .. }) => true,
        (Says::Clock, Says::Clock) => day_of(&from.reading) == day_of(to),
        // Behind a start with a date, a time of day is the next one; twelve hours would leave it open.
        (Says::Wall, Says::Clock) => day_of(to) > 43_200.0,
        (a, b) => a == b,
    };
    if !alike {
        return None;
    }
    let mut seconds = to.seconds.clone();
    if to.says == Says::Clock {
        let day = day_of(to);
        for (end, start) in seconds.iter_mut().zip(&from.seconds) {
            if let (Some(e), Some(s)) = (end.as_mut(), start) {
                *e += (s / day).floor() * day;
                *e += if *e < *s { day } else { 0.0 };
            }
        }
    }
    Some(Line { reading: to.clone(), seconds })
}

/// The same date before different clocks: seconds that are zero may be left out in one of the columns.
fn both_patterns(a: &Reading, b: &Reading) -> bool {
    let date = |r: &Reading| r.read.first().and_then(|p| p.split("%H").next().map(str::to_owned));
    (a.read[0].contains('%') && date(a) == date(b)) || (a.read[0] == "cell" && b.read[0] == "cell")
}

/// A stage does not last longer than a day: a wrong order of day and month makes weeks of it.
fn shortish(starts: &[Option<f64>], ends: &[Option<f64>]) -> bool {
    let long =
        starts.iter().zip(ends).filter(|(s, e)| matches!((s, e), (Some(s), Some(e)) if e - s > 86_400.0)).count();
    long * 20 <= starts.len()
}
