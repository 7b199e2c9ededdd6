//! Helpers of the unit tests.

use crate::{Figure, Table};

#[path = "../tests/data/published.rs"]
mod published;

pub(crate) use published::{DIAGNOSES, PEAK_FLOW, TEN};

/// Returns a table from rows of counts.
pub(crate) fn table<const K: usize>(rows: [[u64; K]; K]) -> Table {
    Table::from_counts(rows.iter().map(|row| row.to_vec()).collect()).unwrap()
}

/// Checks a figure against a printed value: half a unit of its last digit is allowed.
#[track_caller]
pub(crate) fn prints(figure: Figure, printed: &str) {
    let value = figure.unwrap_or_else(|why| panic!("undefined: {why}; wanted {printed}"));
    let decimals = printed.split_once('.').map_or(0, |(_, digits)| digits.len());
    let wanted: f64 = printed.parse().unwrap();
    let half_unit = 0.500_000_1 * 10_f64.powi(-i32::try_from(decimals).unwrap());
    assert!((value - wanted).abs() <= half_unit, "{value} does not print as {printed}");
}

/// Checks a figure against a number, to 1e-12 of it.
#[track_caller]
pub(crate) fn equals(figure: Figure, wanted: f64) {
    let value = figure.unwrap_or_else(|why| panic!("undefined: {why}; wanted {wanted}"));
    assert!((value - wanted).abs() <= 1e-12 * wanted.abs().max(1.0), "{value} is not {wanted}");
}
