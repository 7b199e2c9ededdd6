//! Every single slip that a sheet may hold, with the rows as they would stand without it.

use super::{STAGES, Sheet, Slip, TimeSlip, What};
use crate::claims::{gradient, rows, variance};
use counterpane_model::grid::Stretch;
use counterpane_model::{Cell, Instant, Quantity, Stage};

const MINUTE_MS: i64 = 60_000;
const DAY_MINUTES: i64 = 1440;

/// A slip that is tried.
pub(super) struct Tried {
    pub(super) slip: Slip,
    /// The rows without it.
    pub(super) rows: Vec<Stretch>,
    /// Logarithm of how often such a slip is made: every kind as often as another (our own order, no source), and in each
    /// kind every row, and every way in which it can be made there, as often as another.
    pub(super) weight: f64,
}

/// Returns every single slip that leaves each row a length.
pub(super) fn tried(sheet: &Sheet<'_>) -> Vec<Tried> {
    let n = sheet.rows.len();
    let mut out = Vec::new();
    for row in 0..=n {
        times(sheet, row, &mut out);
        missing(sheet, row, &mut out);
    }
    for row in 0..n {
        stages(sheet, row, &mut out);
        extra(sheet, row, &mut out);
    }
    out
}

/// Returns the logarithm of one way out of so many.
fn one_of(rows: usize, ways: f64) -> f64 {
    -(rows.max(1) as f64 * ways).ln()
}

fn stages(sheet: &Sheet<'_>, row: usize, out: &mut Vec<Tried>) {
    let weight = one_of(sheet.rows.len(), (STAGES.len() - 1) as f64);
    for stage in STAGES.into_iter().filter(|s| sheet.rows[row].cell.stage().is_some_and(|said| said != *s)) {
        let mut rows = sheet.rows.clone();
        rows[row].cell = Cell::Stage(stage);
        out.push(Tried { slip: Slip { row, what: What::Stage(stage) }, rows, weight });
    }
}

/// A row that stands there once too often: read twice, so that its time is that of the row above within the precision
/// of both. Any other row too many would be an invention, and is taken for a hundred times as rare.
fn extra(sheet: &Sheet<'_>, row: usize, out: &mut Vec<Tried>) {
    let Some(above) = row.checked_sub(1) else { return };
    let mut rows = sheet.rows.clone();
    let read_twice = rows[above].cell == rows[row].cell
        && rows[row].start.ms_since(rows[above].start) <= 2 * sheet.precision_ms.max(MINUTE_MS / 2);
    rows[above].end = rows[row].end;
    rows.remove(row);
    let weight = one_of(sheet.rows.len(), if read_twice { 1.0 } else { 100.0 });
    out.push(Tried { slip: Slip { row, what: What::Extra }, rows, weight });
}

/// Another time of a row, or of the end.
fn times(sheet: &Sheet<'_>, row: usize, out: &mut Vec<Tried>) {
    let at = match sheet.rows.get(row) {
        Some(stretch) => stretch.start,
        None => sheet.rows[row - 1].end,
    };
    let known = [(60, TimeSlip::Hour), (-60, TimeSlip::Hour), (10, TimeSlip::TenMinutes), (-10, TimeSlip::TenMinutes)];
    let mut moves: Vec<(i64, TimeSlip)> = known.to_vec();
    for minutes in swapped(sheet, at) {
        if moves.iter().all(|(m, _)| *m != minutes) {
            moves.push((minutes, TimeSlip::Digits));
        }
    }
    for (minutes, how) in moves {
        let ways = if how == TimeSlip::Digits { 3.0 } else { 2.0 };
        let Some(to) = at.plus_ms(minutes * MINUTE_MS) else { continue };
        let mut rows = sheet.rows.clone();
        if let Some(stretch) = rows.get_mut(row) {
            stretch.start = to;
        }
        if let Some(above) = row.checked_sub(1) {
            rows[above].end = to;
        }
        if rows.iter().all(|s| s.end > s.start) {
            let weight = one_of(sheet.rows.len() + 1, ways);
            out.push(Tried { slip: Slip { row, what: What::Time(to, how) }, rows, weight });
        }
    }
}

/// Returns by how many minutes a time of day moves when two digits beside each other are swapped.
fn swapped(sheet: &Sheet<'_>, at: Instant) -> Vec<i64> {
    let Some(zone) = &sheet.zone else { return Vec::new() };
    let wall = zone.wall_of(at);
    let (hour, minute) = (i64::from(wall.hour()), i64::from(wall.minute()));
    let digits = [hour / 10, hour % 10, minute / 10, minute % 10];
    let mut out = Vec::new();
    for first in 0..3 {
        let mut other = digits;
        other.swap(first, first + 1);
        let (h, m) = (other[0] * 10 + other[1], other[2] * 10 + other[3]);
        if other != digits && h < 24 && m < 60 {
            let by = (h * 60 + m - hour * 60 - minute).rem_euclid(DAY_MINUTES);
            out.push(if by > DAY_MINUTES / 2 { by - DAY_MINUTES } else { by });
        }
    }
    out
}

/// A row that was left out above `row`: what is missing of a stage says how long it lasted.
fn missing(sheet: &Sheet<'_>, row: usize, out: &mut Vec<Tried>) {
    let (above, below) = (row.checked_sub(1).and_then(|r| sheet.rows.get(r)), sheet.rows.get(row));
    if above.is_none() && below.is_none() {
        return;
    }
    let next_to = |stage: Stage| [above, below].iter().flatten().any(|s| s.cell == Cell::Stage(stage));
    for stage in STAGES.into_iter().filter(|s| !next_to(*s)) {
        let Some(lasted) = lacking(sheet, stage, above) else { continue };
        let mut rows = sheet.rows.clone();
        let (from, until) = match (above, below) {
            (Some(above), _) => (Instant(above.end.0 - lasted), above.end),
            (None, Some(below)) => (Instant(below.start.0 - lasted), below.start),
            (None, None) => continue,
        };
        if let Some(above) = row.checked_sub(1) {
            rows[above].end = from;
        }
        rows.insert(row, Stretch { start: from, end: until, cell: Cell::Stage(stage) });
        if rows.iter().all(|s| s.end > s.start) {
            // Where it began is one of the minutes of the night, as is any other change; and any minute that the
            // reading does not tell from this one explains it as well.
            let night = sheet.rows.iter().map(|s| s.end.ms_since(s.start)).sum::<i64>() / MINUTE_MS;
            let length = above.map_or(1, |s| s.end.ms_since(s.start) / MINUTE_MS).max(1) as f64;
            let alike = (2.5 * told_apart(sheet, stage)).clamp(1.0, length);
            let weight = (alike / (2.0 * night.max(1) as f64)).ln();
            out.push(Tried { slip: Slip { row, what: What::Missing(stage, from) }, rows, weight });
        }
    }
}

/// Returns how many milliseconds the rows lack of a stage, in whole minutes, by the screen's total of it; where it shows
/// none, how many too many they have of the stage above. Without either, half of what stands above.
fn lacking(sheet: &Sheet<'_>, stage: Stage, above: Option<&Stretch>) -> Option<i64> {
    let apart = |stage: Stage| {
        let claim = sheet.claims.iter().find(|c| c.quantity == Quantity::Minutes(stage))?;
        Some(claim.value - rows(&sheet.rows, claim.quantity)?)
    };
    let surplus = above.and_then(|s| s.cell.stage()).and_then(apart).map(|minutes| -minutes);
    let half = above.map(|s| s.end.ms_since(s.start) as f64 / 120_000.0);
    let minutes = match (apart(stage), surplus) {
        (Some(a), Some(b)) => (a + b) / 2.0,
        (one, other) => one.or(other).or(half)?,
    };
    let most = above.map_or(i64::MAX, |s| s.end.ms_since(s.start) - MINUTE_MS);
    let lasted = ((minutes.round() as i64).max(1) * MINUTE_MS).min(most);
    (lasted > 0).then_some(lasted)
}

/// Returns the standard deviation, in minutes, of what the reading moves in the total of a stage.
fn told_apart(sheet: &Sheet<'_>, stage: Stage) -> f64 {
    let changes = gradient(Quantity::Minutes(stage), &sheet.rows).iter().filter(|g| **g != 0.0).count() as f64;
    (changes * variance(&sheet.rows, sheet.precision_ms)).sqrt() / MINUTE_MS as f64
}
