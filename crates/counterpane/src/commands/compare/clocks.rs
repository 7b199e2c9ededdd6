//! What a shift of a clock would change, for the terminal.

use crate::output::{Out, clean, table};
use counterpane_compare::Clocks;
use counterpane_report::words::clocks as said;

/// Prints the three lines of each device, and every drift; the nights stand in the JSON and in the report.
pub(super) fn print(clocks: &Clocks, out: &mut Out) -> anyhow::Result<()> {
    if clocks.devices.is_empty() {
        return Ok(());
    }
    out.line("")?;
    out.paragraph(
        "clocks: epochs that agree as they stand, with the offset of other nights, and with the best of all shifts",
    )?;
    let head = ["device", "nights", "as it stands", "other nights", "best", "best offsets"];
    let row = |d: &counterpane_compare::ClockDevice| {
        [vec![clean(&d.name), format!("{} of {}", d.with_all, d.nights)], said::cells(d).to_vec()].concat()
    };
    let rows: Vec<Vec<String>> = clocks.devices.iter().map(row).collect();
    out.raw(&table(&head, &[1, 2, 3, 4], &rows, out.width()))?;
    for night in &clocks.nights {
        if let Some(drift) = &night.drift {
            out.paragraph(clean(&format!(
                "{}, {}/{}: {}.",
                night.source,
                night.participant,
                night.night,
                said::drift(drift)
            )))?;
        }
    }
    out.paragraph(said::MEANING)
}
