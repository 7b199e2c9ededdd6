//! Values printed by published sources, beside ours: `docs/checks.md` is made of them.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test may panic")]

#[path = "checks/data_files.rs"]
mod data_files;
#[path = "checks/differences.rs"]
mod differences;
#[path = "data/published.rs"]
mod published;
#[path = "checks/raters.rs"]
mod raters;
#[path = "checks/shares.rs"]
mod shares;
#[path = "checks/tables.rs"]
mod tables;

use expect_test::expect_file;
use std::fmt::Write as _;

const HEAD: &str = "\
<!-- Made from crates/stats by its tests: `UPDATE_EXPECT=1 cargo test -p counterpane-stats` writes it. -->
# Checks against published values

Each row is a number that somebody else printed, and the number that the program's own function gives for the same data. The
tests refuse a difference above half a unit of the last printed digit. `from memory` says that the value or its place in the
source was not looked up again. What is checked against other programs with random problems is in [testing.md](testing.md).

| statistic | data | source | printed | ours |
| --- | --- | --- | --- | --- |
";

/// A printed number beside ours.
pub(crate) struct Check {
    statistic: &'static str,
    data: &'static str,
    source: &'static str,
    printed: &'static str,
    ours: f64,
}

/// Rows about one set of data of one source.
pub(crate) struct Source<'a> {
    rows: &'a mut Vec<Check>,
    data: &'static str,
    source: &'static str,
}

impl Source<'_> {
    pub(crate) fn of<'a>(rows: &'a mut Vec<Check>, data: &'static str, source: &'static str) -> Source<'a> {
        Source { rows, data, source }
    }

    pub(crate) fn row(&mut self, statistic: &'static str, printed: &'static str, ours: f64) -> &mut Self {
        self.rows.push(Check { statistic, data: self.data, source: self.source, printed, ours });
        self
    }
}

/// Returns how many decimals a printed number has, and half a unit of the last of them.
pub(crate) fn precision(printed: &str) -> (usize, f64) {
    let (digits, power) = printed.split_once('e').unwrap_or((printed, "0"));
    let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
    let unit = power.parse::<i32>().unwrap() - i32::try_from(decimals).unwrap();
    (usize::try_from(-unit).unwrap_or(0), 0.500_000_1 * 10_f64.powi(unit))
}

#[test]
fn every_printed_value_is_ours() {
    let mut rows = Vec::new();
    tables::checks(&mut rows);
    raters::checks(&mut rows);
    shares::checks(&mut rows);
    differences::checks(&mut rows);
    assert!(rows.len() >= 100, "only {} printed values are left", rows.len());
    let mut page = String::from(HEAD);
    for Check { statistic, data, source, printed, ours } in &rows {
        let (decimals, allowed) = precision(printed);
        let wanted: f64 = printed.parse().unwrap();
        assert!((ours - wanted).abs() <= allowed, "{statistic} of {data} ({source}): {ours}, printed {printed}");
        writeln!(page, "| {statistic} | {data} | {source} | {printed} | {ours:.*} |", decimals + 2).unwrap();
    }
    expect_file!["../../../docs/checks.md"].assert_eq(&page);
}
