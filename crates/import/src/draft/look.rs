//! What the search for a shape looks at: a table, its columns, and its times on one line.

use super::Options;
use super::columns::{Columns, TimeColumn, day_of};
use super::fit::midnights;
use super::nights;
use super::tables::{Sample, Table};
use super::times::{Reading, Says};
use counterpane_formats::Format;

/// What every step of the search looks at.
pub(super) struct Look<'a> {
    pub(super) sample: &'a Sample,
    pub(super) number: usize,
    pub(super) table: &'a Table,
    pub(super) columns: &'a Columns,
    pub(super) options: &'a Options,
}

/// A reading of the start with its rows on one line of time.
#[derive(Clone)]
pub(super) struct Line {
    pub(super) reading: Reading,
    pub(super) seconds: Vec<Option<f64>>,
}

/// Returns the readings of a column as lines of time; times of day go on past midnight in the order of the file.
pub(super) fn lines(look: &Look<'_>, column: &TimeColumn) -> Vec<Line> {
    let line = |reading: &Reading| match reading.says {
        Says::Clock => {
            let dates = look.columns.night_dates();
            let groups = nights::groups_by_night(look.table, dates);
            let mut seconds = nights::unwrapped(&groups, &reading.seconds, day_of(reading))?;
            // Nights that are named stand apart from each other on the line, as they do in time.
            for (at, night) in seconds.iter_mut().zip(dates.map(|d| d.seconds.as_slice()).unwrap_or_default()) {
                *at = at.zip(*night).map(|(at, night)| at + night);
            }
            Some(Line { seconds, reading: reading.clone() })
        }
        Says::Elapsed if look.sample.format == Format::Edf && reading.read[0] != "offset s" => None,
        Says::Elapsed if reading.seconds.iter().flatten().any(|s| *s < 0.0) => None,
        Says::Date => None,
        _ => Some(Line { seconds: reading.seconds.clone(), reading: reading.clone() }),
    };
    column.readings.iter().filter_map(line).collect()
}

/// Drops the readings that part neighbours on both sides of a midnight.
pub(super) fn by_midnights<T>(look: &Look<'_>, all: Vec<T>, line: impl Fn(&T) -> &Line) -> Vec<T> {
    let counts: Vec<usize> = all
        .iter()
        .map(|t| match line(t).reading.says {
            Says::Wall | Says::Offset { .. } => midnights(&look.table.groups, &line(t).seconds),
            _ => 0,
        })
        .collect();
    let most = counts.iter().copied().max().unwrap_or(0);
    all.into_iter().zip(counts).filter(|(_, n)| *n == most || most == 0 || *n > 0).map(|(t, _)| t).collect()
}

impl Look<'_> {
    /// Returns for each group the last of some times.
    pub(super) fn totals(&self, ends: &[Option<f64>]) -> Vec<Option<f64>> {
        let mut out: std::collections::BTreeMap<usize, f64> = std::collections::BTreeMap::new();
        for (group, end) in self.table.groups.iter().zip(ends).filter_map(|(g, e)| Some((*g, (*e)?))) {
            let last = out.entry(group).or_insert(end);
            *last = last.max(end);
        }
        self.table.groups.iter().map(|g| out.get(g).copied()).collect()
    }

    /// Says whether a field is a date or a time, and so no word.
    pub(super) fn is_time(&self, field: usize) -> bool {
        let time = |t: &TimeColumn| t.fields == [field] && t.readings.iter().any(|r| r.says != Says::Elapsed);
        self.columns.times.iter().any(time) || self.columns.dates.iter().any(|(n, _)| *n == field)
    }

    /// Returns the paths of columns from the root.
    pub(super) fn paths(&self, columns: &[&TimeColumn]) -> Vec<String> {
        columns.iter().flat_map(|c| &c.fields).filter_map(|n| self.path_of(*n)).collect()
    }

    pub(super) fn path_of(&self, field: usize) -> Option<String> {
        let path = self.table.path_from_root(&self.table.fields[field])?;
        match self.table.stack.as_ref().and_then(|numbers| numbers.first()) {
            Some(first) => Some(path.replace(super::stacked::NUMBER, first)),
            None => Some(path),
        }
    }
}
