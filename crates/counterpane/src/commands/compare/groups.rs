//! `compare --by`: devices by groups of their nights, for the terminal.

use crate::output::{Out, clean, table};
use counterpane_compare::groups::Grouping;
use counterpane_report::words::{groups as said, what_if};

/// Prints a table of all groups, and the differences between those of each device.
pub(super) fn print(grouping: &Grouping, out: &mut Out) -> anyhow::Result<()> {
    out.paragraph(format_args!("devices by {}", said::by(grouping.by)))?;
    out.paragraph(said::NOTE)?;
    out.line("")?;
    let heads: Vec<String> = grouping.measures.iter().map(|m| what_if::head(*m)).collect();
    let mut head = vec!["device", grouping.by.code(), "people", "nights"];
    head.extend(heads.iter().flat_map(|h| [h.as_str(), "interval"]));
    let mut rows = Vec::new();
    for device in &grouping.devices {
        for (i, group) in device.groups.iter().enumerate() {
            let mut row = vec![
                if i == 0 { clean(&device.device) } else { String::new() },
                clean(said::name(group)),
                group.participants.to_string(),
                group.nights.to_string(),
            ];
            let figures = grouping.measures.iter().zip(group.figures.iter().zip(&group.intervals));
            row.extend(figures.flat_map(|(m, (f, i))| [said::figure(*m, *f), said::interval(*m, *i)]));
            rows.push(row);
        }
    }
    out.raw(&table(&head, &[2, 3, 4, 6, 8], &rows, out.width()))?;
    out.line("")?;
    for device in &grouping.devices {
        for sentence in said::differences(grouping, device) {
            out.paragraph(format_args!("{}: {}", clean(&device.device), clean(&sentence)))?;
        }
    }
    if grouping.devices.iter().all(|d| d.groups.len() < 2) {
        out.paragraph("Every device has one group only, so there is nothing to set against each other.")?;
    }
    Ok(())
}
