//! What a shift of a clock would change.

use super::table::{Cell, Row, Table};
use crate::draw::text::clean;
use crate::words::{self, clocks as said};
use askama::Template;
use counterpane_compare::{ClockNight, Clocks, NoOffset, Shifted};

/// The section.
#[derive(Debug, Template)]
#[template(path = "clocks.html")]
pub(crate) struct ClocksView {
    meaning: String,
    devices: Table,
    nights: Table,
    drifts: Vec<String>,
}

impl ClocksView {
    /// Returns the view of the section; `None` where no device is compared.
    pub(crate) fn new(clocks: &Clocks) -> Option<ClocksView> {
        let drift = |n: &ClockNight| Some(clean(&format!("{}: {}.", name(n), said::drift(&n.drift?))));
        (!clocks.nights.is_empty()).then(|| ClocksView {
            meaning: clean(said::MEANING),
            devices: devices(clocks),
            nights: nights(clocks),
            drifts: clocks.nights.iter().filter_map(drift).collect(),
        })
    }
}

fn devices(clocks: &Clocks) -> Table {
    let columns = ["Device", "As it stands", "Offset of other nights", "Best of all, optimistic", "Best offsets"];
    let note = "Epochs that agree, mean over people of the mean over their nights, of the nights that have all three.";
    let mut table = Table::new("clocks-devices".into(), "Clocks over all nights", note, &columns).stacked();
    for device in &clocks.devices {
        let [unshifted, elsewhere, in_sample, offsets] = said::cells(device);
        let under = format!("{} of {}", device.with_all, words::count(device.nights, "night"));
        let cells = vec![
            Cell::number(&unshifted, ""),
            Cell::number(&elsewhere, ""),
            Cell::number(&in_sample, ""),
            Cell::brief(&offsets),
        ];
        table.row(Row::new(&device.name, &under, cells));
    }
    table
}

fn nights(clocks: &Clocks) -> Table {
    let columns = ["Night", "As it stands", "Offset of other nights", "Best of all, optimistic", "Interval and chance"];
    let note = "An offset above 0 says that the device is late. The interval is that of the best offset; the gain is in points of per cent.";
    let mut table = Table::new("clocks-nights".into(), "Clocks night by night", note, &columns).stacked();
    for night in &clocks.nights {
        let line = |of: &Result<Shifted, NoOffset>| match of {
            Ok(of) => Cell::brief(&said::shifted(of)),
            Err(why) => Cell::none(why.words()),
        };
        let chance = night.chance.as_ref().map(said::chance).unwrap_or_default();
        let cells = vec![
            Cell::brief(said::shifted(&night.unshifted).trim_end_matches(" at 0 s")),
            line(&night.elsewhere),
            line(&night.in_sample),
            Cell::words_under(&night.interval.map_or_else(|| "no interval".to_owned(), said::between), &chance),
        ];
        let under = if night.corrected { "after its correction" } else { "" };
        table.row(Row::new(&name(night), under, cells));
    }
    table
}

fn name(night: &ClockNight) -> String {
    format!("{}, {} {}", night.source, night.participant, night.night)
}
