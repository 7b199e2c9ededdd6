//! `compare --explain`: where differences in minutes come from, for the terminal.

use super::name_in;
use crate::output::{Out, clean, table};
use counterpane_compare::{Comparison, ExplainedDevice, explained, explained_night};
use counterpane_report::words::{count, explained as said};

/// Prints one table for each device: of the night, where there is one, else over all nights.
pub(super) fn print(comparison: &Comparison, out: &mut Out) -> anyhow::Result<()> {
    out.paragraph(
        "where the difference comes from between the minutes that a device displays and those of the reference",
    )?;
    out.paragraph(said::NOTE)?;
    let all: Vec<(String, ExplainedDevice)> = match comparison.nights.as_slice() {
        [night] => night
            .devices
            .iter()
            .filter_map(|d| {
                Some((
                    format!("{}/{} {}", night.participant, night.night, name_in(night, d)),
                    explained_night(night, d)?,
                ))
            })
            .collect(),
        _ => explained(comparison).into_iter().map(|d| (over(&d), d)).collect(),
    };
    for (title, device) in &all {
        out.line("")?;
        out.line(clean(title))?;
        print_one(device, out)?;
    }
    out.line("")?;
    for device in comparison.devices.iter().filter(|d| !all.iter().any(|(_, e)| e.name == d.name)) {
        let why = "it gives no stages over time, or none that can be compared, so its differences cannot be split";
        out.paragraph(format_args!("{}: {why}", clean(&device.name)))?;
    }
    if comparison.nights.len() > 1 {
        out.paragraph("Name a night to see it by itself: `counterpane compare --explain NIGHT`.")?;
    }
    Ok(())
}

fn over(device: &ExplainedDevice) -> String {
    let (nights, people) = (count(device.nights, "night"), device.participants);
    let people = if people == 1 { "1 person".to_owned() } else { format!("{people} people") };
    format!("{}, mean over {people} of the mean over their nights ({nights})", device.name)
}

fn print_one(device: &ExplainedDevice, out: &mut Out) -> anyhow::Result<()> {
    let classes: Vec<&str> = device.splits.iter().map(|s| said::head(s.class)).collect();
    let head: Vec<&str> = std::iter::once("minutes").chain(classes).collect();
    let row = |(name, values): &said::Line, signed: bool, indent: &str| {
        let cells = values.iter().map(|v| said::minutes(*v, signed));
        std::iter::once(format!("{indent}{name}")).chain(cells).collect::<Vec<String>>()
    };
    let (top, parts) = said::lines(device);
    let mut rows: Vec<Vec<String>> = top.iter().enumerate().map(|(i, line)| row(line, i == 2, "")).collect();
    rows.extend(parts.iter().map(|line| row(line, true, "  ")));
    let right: Vec<usize> = (1..head.len()).collect();
    out.raw(&table(&head, &right, &rows, out.width()))?;
    said::sentence(device).map_or(Ok(()), |sentence| out.paragraph(clean(&sentence)))
}
