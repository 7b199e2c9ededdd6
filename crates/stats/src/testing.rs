//! Helpers of the unit tests.

use crate::{Figure, Table};

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

/// Fleiss 1971: 30 patients, 6 psychiatrists, 5 diagnoses; the `diagnoses` data of the R package irr.
pub(crate) const DIAGNOSES: [[u64; 5]; 30] = [
    [0, 0, 0, 6, 0],
    [0, 3, 0, 0, 3],
    [0, 1, 4, 0, 1],
    [0, 0, 0, 0, 6],
    [0, 3, 0, 3, 0],
    [2, 0, 4, 0, 0],
    [0, 0, 4, 0, 2],
    [2, 0, 3, 1, 0],
    [2, 0, 0, 4, 0],
    [0, 0, 0, 0, 6],
    [1, 0, 0, 5, 0],
    [1, 1, 0, 4, 0],
    [0, 3, 3, 0, 0],
    [1, 0, 0, 5, 0],
    [0, 2, 0, 3, 1],
    [0, 0, 5, 0, 1],
    [3, 0, 0, 1, 2],
    [5, 1, 0, 0, 0],
    [0, 2, 0, 4, 0],
    [1, 0, 2, 0, 3],
    [0, 0, 0, 0, 6],
    [0, 1, 0, 5, 0],
    [0, 2, 0, 1, 3],
    [2, 0, 0, 4, 0],
    [1, 0, 0, 4, 1],
    [0, 5, 0, 1, 0],
    [4, 0, 0, 0, 2],
    [0, 2, 0, 4, 0],
    [1, 0, 5, 0, 0],
    [0, 0, 0, 0, 6],
];

/// Bland and Altman 1986, Lancet 327(8476), 307-310: first readings of 17 people, large meter and mini meter, l/min.
pub(crate) const PEAK_FLOW: [[f64; 2]; 17] = [
    [494.0, 512.0],
    [395.0, 430.0],
    [516.0, 520.0],
    [434.0, 428.0],
    [476.0, 500.0],
    [557.0, 600.0],
    [413.0, 364.0],
    [442.0, 380.0],
    [650.0, 658.0],
    [433.0, 445.0],
    [417.0, 432.0],
    [656.0, 626.0],
    [267.0, 260.0],
    [478.0, 477.0],
    [178.0, 259.0],
    [423.0, 350.0],
    [427.0, 451.0],
];
