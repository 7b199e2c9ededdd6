//! How far whole-night measures lie from the reference's, for the terminal.

use crate::output::{Out, clean, table};
use counterpane_compare::{Deviation, Deviations, Inference, Limit, Limits, NightLimits};
use counterpane_report::words::deviations as said;

/// Prints the measures of each device that has several nights. Of one night the minutes of the night say the same.
pub(super) fn print(inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    let several = |d: &Deviation| d.nights.len() > 1;
    let devices: Vec<&Deviations> = inference.deviations.iter().filter(|d| d.measures.iter().any(several)).collect();
    if devices.is_empty() {
        return Ok(());
    }
    out.line("")?;
    out.paragraph(format_args!("whole-night measures over all nights. {} In minutes, but SE in per cent, and awakenings counted; n is nights, then people where they are fewer.", said::MEANING))?;
    for device in &devices {
        of_device(device, out)?;
    }
    let cautions = said::cautions(&devices);
    if !cautions.is_empty() {
        out.line("")?;
        out.paragraph(cautions.join(" "))?;
    }
    Ok(())
}

/// What no measure of a device has is said once, and its columns are left away.
fn of_device(device: &Deviations, out: &mut Out) -> anyhow::Result<()> {
    let all = &device.measures;
    let limits = all.iter().any(|d| d.limits.is_ok());
    let coefficients = all.iter().any(|d| d.ccc.is_ok() || d.icc.is_ok());
    let rows = |cells: &dyn Fn(&Deviation) -> Vec<String>| all.iter().map(cells).collect::<Vec<_>>();
    out.line("")?;
    out.line(clean(&device.name))?;
    if limits {
        let head = ["measure", "n", "bias", "lower limit", "upper limit"];
        out.raw(&table(&head, &[1], &rows(&|d| [bias(d), both_limits(d)].concat()), out.width()))?;
    } else {
        let head = ["measure", "n", "bias", "MAE", "RMSE"];
        out.raw(&table(&head, &[1, 3, 4], &rows(&|d| [bias(d), sizes(d)].concat()), out.width()))?;
    }
    if coefficients {
        let head = ["measure", "MAE", "RMSE", "CCC", "ICC(2,1)"];
        let cells = |d: &Deviation| [vec![said::short(d.of).to_owned()], sizes(d), concordance(d)].concat();
        out.raw(&table(&head, &[1, 2], &rows(&cells), out.width()))?;
    } else if limits {
        let cells = |d: &Deviation| [vec![said::short(d.of).to_owned()], sizes(d)].concat();
        out.raw(&table(&["measure", "MAE", "RMSE"], &[1, 2], &rows(&cells), out.width()))?;
    }
    not_given(all, out)?;
    said::sentences_of_all(all).into_iter().try_for_each(|sentence| out.paragraph(sentence))
}

fn not_given(all: &[Deviation], out: &mut Out) -> anyhow::Result<()> {
    let Some(first) = all.first() else { return Ok(()) };
    if let (Err(limits), true) = (&first.limits, all.iter().all(|d| d.limits.is_err())) {
        out.paragraph(format_args!("Limits of agreement: {}.", limits.words()))?;
    }
    if let (Err(why), true) = (&first.ccc, all.iter().all(|d| d.ccc.is_err() && d.icc.is_err())) {
        out.paragraph(format_args!("CCC and ICC(2,1): {}.", why.words()))?;
    }
    Ok(())
}

fn bias(d: &Deviation) -> Vec<String> {
    let n = d.nights.len();
    let bias = match (d.bias, d.bias_interval) {
        (Ok(bias), Ok(ends)) => format!("{} ({})", short(bias), between(ends)),
        (Ok(bias), Err(_)) => short(bias),
        (Err(_), _) => "-".to_owned(),
    };
    let n = if d.people == n { n.to_string() } else { format!("{n}/{}", d.people) };
    vec![said::short(d.of).to_owned(), n, bias]
}

fn both_limits(d: &Deviation) -> Vec<String> {
    let limit = |pick: fn(&NightLimits) -> &Limit| match &d.limits {
        Ok(limits) => format!("{} ({})", short(pick(limits).value), between(pick(limits).interval)),
        Err(why) => why.words(),
    };
    vec![limit(|l| &l.lower), limit(|l| &l.upper)]
}

fn sizes(d: &Deviation) -> Vec<String> {
    [d.mae, d.rmse].map(|figure| figure.map_or_else(|_| "-".to_owned(), |value| format!("{value:.1}"))).to_vec()
}

fn concordance(d: &Deviation) -> Vec<String> {
    vec![said::coefficient(&d.ccc), said::coefficient(&d.icc)]
}

/// A decimal says nothing beside hundreds, and there is no room for it.
fn short(value: f64) -> String {
    if value.abs() < 99.95 { signed(value, 1) } else { signed(value, 0) }
}

fn between(ends: Limits) -> String {
    format!("{} to {}", signed(ends.low, 0), signed(ends.high, 0))
}

/// Returns a number with its sign; what rounds to nothing has none.
fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{value:+.decimals$}");
    if text.chars().all(|c| matches!(c, '+' | '-' | '0' | '.')) { text[1..].to_owned() } else { text }
}
