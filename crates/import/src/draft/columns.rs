//! The columns of a table that can be times, zones and dates.

use super::nights::{groups_by_night, names_a_night, unwrapped};
use super::plan::Origin;
use super::tables::{Cell, Field, Table};
use super::times::{HALF, Reading, Says, readings};
use counterpane_model::Zone;

/// One or two fields that give a time.
#[derive(Clone, Debug)]
pub(super) struct TimeColumn {
    /// Numbers of the fields: a date and a time of day are joined.
    pub(super) fields: Vec<usize>,
    pub(super) up: usize,
    pub(super) readings: Vec<Reading>,
}

impl TimeColumn {
    /// Returns where a definition finds it.
    pub(super) fn origin(&self, table: &Table) -> Origin {
        if let [one] = self.fields.as_slice() {
            return table.fields[*one].origin();
        }
        Origin::At { at: self.fields.iter().map(|n| table.fields[*n].path.clone()).collect(), up: self.up }
    }

    /// Returns what a person calls it.
    pub(super) fn name(&self, table: &Table) -> String {
        self.fields.iter().map(|n| table.fields[*n].name()).collect::<Vec<_>>().join(" and ")
    }

    /// Returns the readings that say where on the line of time a row stands.
    pub(super) fn placed(&self) -> Vec<&Reading> {
        let placed = |r: &&Reading| matches!(r.says, Says::Epoch | Says::Offset { .. } | Says::Wall);
        self.readings.iter().filter(placed).collect()
    }
}

/// What is known of the columns of a table.
pub(super) struct Columns {
    pub(super) times: Vec<TimeColumn>,
    /// Dates without a time of day: number of the field, pattern, and the first day's seconds for each row.
    pub(super) dates: Vec<(usize, Reading)>,
    /// Fields that name a zone.
    pub(super) zones: Vec<usize>,
    /// The date that names the night of a row, where times of day stand beside it.
    pub(super) night: Option<usize>,
}

impl Columns {
    /// Returns how the date that names the night reads.
    pub(super) fn night_dates(&self) -> Option<&Reading> {
        self.dates.iter().find(|(n, _)| Some(*n) == self.night).map(|(_, r)| r)
    }
}

/// Looks at every column of a table.
pub(super) fn columns(table: &Table, comma: bool) -> Columns {
    let mut out = Columns { times: Vec::new(), dates: Vec::new(), zones: Vec::new(), night: None };
    for (n, field) in table.fields.iter().enumerate().filter(|(_, f)| !f.key) {
        if is_zone(field) {
            out.zones.push(n);
            continue;
        }
        let (dates, times): (Vec<_>, Vec<_>) =
            readings(&field.cells, comma).into_iter().partition(|r| r.says == Says::Date);
        out.dates.extend(dates.into_iter().map(|r| (n, r)));
        if !times.is_empty() {
            out.times.push(TimeColumn { fields: vec![n], up: field.up, readings: native(times, field.native) });
        }
    }
    out.night = night(table, &out);
    let joined = joined(table, &out, comma);
    out.times.extend(joined);
    out
}

/// What a spreadsheet itself holds as a time is read as that, and not by its text.
fn native(readings: Vec<Reading>, held: bool) -> Vec<Reading> {
    let cell = |r: Reading| match r.says {
        Says::Wall | Says::Clock if held => Reading { read: vec!["cell".into()], ..r },
        _ => r,
    };
    readings.into_iter().map(cell).collect()
}

/// Finds a date that names the night: one above the rows, one beside times of day that stays the same past
/// midnight, or another one in each row, where a row is a night.
fn night(table: &Table, columns: &Columns) -> Option<usize> {
    let clocks: Vec<&Reading> =
        columns.times.iter().flat_map(|t| &t.readings).filter(|r| r.says == Says::Clock).collect();
    let names = |(n, dates): &&(usize, Reading)| {
        let mut days: Vec<u64> = dates.seconds.iter().flatten().map(|s| s.to_bits()).collect();
        days.sort_unstable();
        days.dedup();
        let row_a_night = days.len() == table.rows();
        table.fields[*n].up > 0 || clocks.is_empty() || row_a_night || clocks.iter().any(|c| names_a_night(dates, c))
    };
    columns.dates.iter().find(names).map(|(n, _)| *n)
}

/// Returns the name of a column of times of day that go back more than once.
pub(super) fn goes_back(table: &Table, comma: bool) -> Option<String> {
    let columns = columns(table, comma);
    let groups = groups_by_night(table, columns.night_dates());
    let back = |t: &&TimeColumn| {
        let mut clocks = t.readings.iter().filter(|r| r.says == Says::Clock).peekable();
        clocks.peek().is_some() && clocks.all(|r| unwrapped(&groups, &r.seconds, day_of(r)).is_none())
    };
    columns.times.iter().find(back).map(|t| t.name(table))
}

/// Returns how long it takes until a clock shows the same again.
pub(super) fn day_of(reading: &Reading) -> f64 {
    if reading.read[0] == HALF { 43_200.0 } else { 86_400.0 }
}

/// Joins each date with each time of day beside it.
fn joined(table: &Table, columns: &Columns, comma: bool) -> Vec<TimeColumn> {
    let mut dates: Vec<usize> = columns.dates.iter().map(|(n, _)| *n).collect();
    dates.dedup();
    let clocks = columns.times.iter().filter(|t| t.readings.iter().any(|r| r.says == Says::Clock));
    let mut out = Vec::new();
    for clock in clocks {
        let Some(clock_field) = clock.fields.first().copied() else { continue };
        for date in dates
            .iter()
            .copied()
            .filter(|d| table.fields[*d].up == clock.up && clock.up == 0 && columns.night != Some(*d))
            .filter(|d| table.fields[*d].via.is_none())
        {
            let join = |(a, b): (&Cell, &Cell)| match (a.text(), b.text()) {
                (Some(a), Some(b)) => Cell::Text(format!("{} {}", a.trim(), b.trim())),
                _ => Cell::Absent,
            };
            let cells: Vec<Cell> =
                table.fields[date].cells.iter().zip(&table.fields[clock_field].cells).map(join).collect();
            let readings = readings(&cells, comma);
            if !readings.is_empty() {
                let held = table.fields[date].native && table.fields[clock_field].native;
                out.push(TimeColumn { fields: vec![date, clock_field], up: 0, readings: native(readings, held) });
            }
        }
    }
    out
}

/// Says whether every text of a field is the name of a zone.
fn is_zone(field: &Field) -> bool {
    let mut texts: Vec<&str> = field.cells.iter().filter_map(|c| c.text()).collect();
    texts.sort_unstable();
    texts.dedup();
    let named = |t: &&str| (t.contains('/') || matches!(*t, "UTC")) && Zone::named(t).is_ok();
    !texts.is_empty() && texts.len() <= 20 && texts.iter().all(named)
}
