//! Where the difference in minutes of a device comes from.

use super::table::{Cell, Row, Table};
use crate::words::{self, explained as said};
use counterpane_compare::{Comparison, explained};

/// Returns a table for each device that gives stages over time, by name.
pub(crate) fn tables(comparison: &Comparison) -> Vec<Table> {
    let all = explained(comparison);
    let table = |(i, device): (usize, &counterpane_compare::ExplainedDevice)| {
        let over =
            format!("{} of {}", words::count(device.nights, "night"), words::count(device.participants, "participant"));
        let caption = format!("{}: from what it displays to the reference, {over}", device.name);
        let note = format!("{} {}", said::NOTE, said::sentence(device).unwrap_or_default());
        let heads = device.splits.iter().map(|s| said::head(s.class));
        let columns: Vec<&str> = std::iter::once("Minutes").chain(heads).collect();
        let mut table = Table::new(format!("explained-{}", i + 1), &caption, &note, &columns);
        let (top, parts) = said::lines(device);
        let rows = top.iter().enumerate().map(|(i, line)| (line, i == 2)).chain(parts.iter().map(|line| (line, true)));
        for ((name, values), signed) in rows {
            let cells = values.iter().map(|v| Cell::number(&said::minutes(*v, signed), ""));
            table.row(Row::new(name, "", cells.collect()));
        }
        table
    };
    all.iter().enumerate().map(table).collect()
}
