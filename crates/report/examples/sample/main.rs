//! Writes a report of two invented nights to standard output; with `--terminal`, the first night as
//! a terminal shows it.

#![allow(clippy::print_stdout, clippy::expect_used, missing_docs, reason = "an example that a person runs")]

mod data;

use counterpane_model::{Cell, Zone};

fn main() {
    if std::env::args().any(|a| a == "--terminal") {
        return terminal();
    }
    let text = counterpane_report::page(&data::page()).expect("the sample's zone exists");
    print!("{text}");
}

fn terminal() {
    let page = data::page();
    let night = page.comparison.nights.first().expect("the sample has nights");
    let mut rows: Vec<(&str, &[Cell])> = vec![("scorer A (reference)", &night.reference)];
    rows.extend(night.devices.iter().filter(|d| !d.cells.is_empty()).map(|d| (d.source.name(), d.cells.as_slice())));
    let zone = Zone::named(&night.zone).expect("the sample's zone exists");
    let colour = std::env::args().any(|a| a == "--colour");
    print!("{}", counterpane_report::terminal::hypnogram_text(&rows, &[], night.start, &zone, 80, colour));
}
