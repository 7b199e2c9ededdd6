//! What was laid down beforehand, and the primary measure of each device, for the terminal.

use crate::output::{Out, clean, table};
use counterpane_compare::{PrimaryLine, Standing};
use counterpane_report::words::{capital, planned};

/// Prints what was laid down, the primary measure of each device, and what that is worth.
pub(super) fn print(standing: &Standing, out: &mut Out) -> anyhow::Result<()> {
    match &standing.laid {
        None => out.paragraph("what was laid down beforehand: nothing")?,
        Some(laid) => {
            out.paragraph("what was laid down beforehand, in study.toml")?;
            let said = planned::plan_sentences(&laid.plan).join(" ");
            out.paragraph(format_args!("{} {}", clean(&said), planned::since(laid)))?;
        }
    }
    out.line("")?;
    let mut measures: Vec<_> = standing.lines.iter().map(|l| l.measure).collect();
    measures.dedup();
    measures.sort_unstable();
    measures.dedup();
    for measure in measures {
        let lines: Vec<&PrimaryLine> = standing.lines.iter().filter(|l| l.measure == measure).collect();
        out.paragraph(format_args!(
            "{}: mean over people of the mean over their nights, with its 95 % interval over people",
            planned::measure(measure)
        ))?;
        print_lines(&lines, out)?;
    }
    out.paragraph(planned::verdict(standing))?;
    out.line("")
}

fn print_lines(lines: &[&PrimaryLine], out: &mut Out) -> anyhow::Result<()> {
    let ruled = lines.iter().any(|l| l.marked + l.ruled_out > 0);
    let tested = lines.iter().any(|l| l.equivalence.is_some());
    let mut head = vec!["device", "value", "interval", "people", "nights"];
    head.extend(ruled.then_some(["marked", "left out"]).into_iter().flatten());
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|l| {
            let value = l.value.map_or_else(|_| "-".into(), |v| planned::value(l.measure, v));
            let mut row =
                vec![clean(&l.device), value, planned::interval(l), l.participants.to_string(), l.nights.to_string()];
            row.extend(ruled.then(|| [l.marked.to_string(), l.ruled_out.to_string()]).into_iter().flatten());
            row
        })
        .collect();
    out.raw(&table(&head, &[1, 3, 4, 5, 6], &rows, out.width()))?;
    if let Some(warning) = planned::few_people(lines) {
        out.paragraph(warning)?;
    }
    if tested {
        for l in lines {
            let said = planned::tolerance(l).unwrap_or_default();
            out.paragraph(format_args!("{}: {said}", clean(&l.device)))?;
        }
    }
    worth(lines, out)
}

/// What all lines are worth is said once.
fn worth(lines: &[&PrimaryLine], out: &mut Out) -> anyhow::Result<()> {
    let first = lines.first().map(|l| planned::worth(l)).unwrap_or_default();
    if lines.iter().all(|l| planned::worth(l) == first) {
        return out.paragraph(format_args!("{}.", capital(&first)));
    }
    for l in lines {
        out.paragraph(format_args!("{}: {}", clean(&l.device), planned::worth(l)))?;
    }
    Ok(())
}
