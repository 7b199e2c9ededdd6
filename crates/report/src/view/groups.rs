//! Devices by groups of their nights: before and after an update.

use super::table::{Cell, Row, Table};
use crate::draw::text::clean;
use crate::words::{self, groups as said, planned};
use counterpane_compare::groups::{Group, GroupedDevice, Grouping};

/// Returns a table for each device of which the nights fall into several groups.
pub(crate) fn tables(groupings: &[Grouping]) -> Vec<Table> {
    groupings.iter().flat_map(|g| g.devices.iter().filter(|d| d.groups.len() > 1).map(|d| table(g, d))).collect()
}

fn table(grouping: &Grouping, device: &GroupedDevice) -> Table {
    let heads: Vec<String> = grouping.measures.iter().map(|m| words::capital(&planned::measure(*m))).collect();
    let head = words::capital(said::by(grouping.by));
    let columns: Vec<&str> = std::iter::once(head.as_str()).chain(heads.iter().map(String::as_str)).collect();
    let caption = format!("{} by {}", device.device, said::by(grouping.by));
    let note = format!("{} {}", said::NOTE, said::differences(grouping, device).join(" "));
    let id =
        format!("by-{}-{}", grouping.by.code(), grouping.devices.iter().position(|d| d == device).unwrap_or(0) + 1);
    let mut table = Table::new(id, &caption, &clean(&note), &columns).stacked();
    device.groups.iter().for_each(|g| table.row(row(grouping, g)));
    table
}

fn row(grouping: &Grouping, group: &Group) -> Row {
    let of = format!("{} of {}", words::count(group.nights, "night"), words::count(group.participants, "participant"));
    let all = grouping.measures.iter().zip(group.figures.iter().zip(&group.intervals));
    let cells = all.map(|(m, (figure, interval))| {
        Cell::number(&said::figure(*m, *figure), &format!("interval {}", said::interval(*m, *interval)))
    });
    Row::new(said::name(group), &of, cells.collect())
}
