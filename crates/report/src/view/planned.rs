//! What was laid down beforehand, and the primary measure of each device.

use super::table::{Cell, Row, Table};
use crate::words::{self, planned};
use askama::Template;
use counterpane_compare::{PrimaryLine, Standing};

/// The section on what was laid down.
#[derive(Debug, Template)]
#[template(path = "planned.html")]
pub(crate) struct Planned {
    said: Vec<String>,
    verdict: String,
    tables: Vec<Table>,
}

impl Planned {
    pub(crate) fn new(standing: &Standing) -> Planned {
        let said = standing.laid.as_ref().map_or_else(
            || vec!["Nothing was laid down in study.toml.".to_owned()],
            |laid| planned::plan_sentences(&laid.plan).into_iter().chain([planned::since(laid)]).collect(),
        );
        let mut measures: Vec<_> = standing.lines.iter().map(|l| l.measure).collect();
        measures.sort_unstable();
        measures.dedup();
        let tables = measures.iter().enumerate().map(|(i, measure)| {
            let lines: Vec<&PrimaryLine> = standing.lines.iter().filter(|l| l.measure == *measure).collect();
            let few = planned::few_people(&lines).unwrap_or_default();
            let note =
                format!("Mean over people of the mean over their nights, with its 95 % interval over people. {few}");
            let columns = ["Device", "Value", "Interval over people", "What it is worth"];
            let caption = words::capital(&planned::measure(*measure));
            let mut table = Table::new(format!("planned-{}", i + 1), &caption, &note, &columns).stacked();
            lines.into_iter().for_each(|line| table.row(row(line)));
            table
        });
        Planned { said, verdict: planned::verdict(standing), tables: tables.collect() }
    }
}

fn row(line: &PrimaryLine) -> Row {
    let value = match line.value {
        Ok(value) => Cell::number(&planned::value(line.measure, value), ""),
        Err(why) => Cell::none(why.words()),
    };
    let mut of =
        vec![format!("{} of {}", words::count(line.nights, "night"), words::count(line.participants, "participant"))];
    let more = [(line.skipped, "skipped"), (line.marked, "marked by a rule"), (line.ruled_out, "left out by a rule")];
    of.extend(more.into_iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")));
    let tolerance = planned::tolerance(line).unwrap_or_default();
    let cells =
        vec![value, Cell::words_under(&planned::interval(line), &tolerance), Cell::words(&planned::worth(line))];
    Row::new(&line.device, &of.join(", "), cells)
}
