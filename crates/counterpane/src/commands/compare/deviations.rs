//! How far whole-night measures lie from the reference's, for the terminal.

use crate::output::{Out, clean, table};
use counterpane_compare::{Deviation, Deviations, Inference, Limit, Limits, NightLimits};
use counterpane_report::words::deviations as said;

/// Prints the measures of each device that has several nights. Of one night the minutes of the night say the same.
pub(super) fn print(inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    let several = |d: &Deviation| d.nights.len() > 1;
    let devices: Vec<_> = inference.deviations.iter().filter(|d| d.measures.iter().any(several)).collect();
    if devices.is_empty() {
        return Ok(());
    }
    out.line("")?;
    out.paragraph(format_args!("whole-night measures over all nights. {} In minutes, but SE in per cent, and awakenings counted; n is nights, then people where they are fewer.", said::MEANING))?;
    for device in &devices {
        of_device(device, out)?;
    }
    out.line("")?;
    out.paragraph(said::COEFFICIENTS)
}

fn of_device(device: &Deviations, out: &mut Out) -> anyhow::Result<()> {
    out.line("")?;
    out.line(clean(&device.name))?;
    let rows: Vec<Vec<String>> = device.measures.iter().map(bias_and_limits).collect();
    out.raw(&table(&["measure", "n", "bias", "lower limit", "upper limit"], &[1], &rows, out.width()))?;
    let rows: Vec<Vec<String>> = device.measures.iter().map(sizes_and_coefficients).collect();
    if device.measures.iter().any(|d| d.ccc.is_ok() || d.icc.is_ok()) {
        out.raw(&table(&["measure", "MAE", "RMSE", "CCC", "ICC(2,1)"], &[1, 2], &rows, out.width()))?;
    } else {
        let narrow: Vec<Vec<String>> = rows.into_iter().map(|row| row.into_iter().take(3).collect()).collect();
        out.raw(&table(&["measure", "MAE", "RMSE"], &[1, 2], &narrow, out.width()))?;
        let why = device.measures.iter().find_map(|d| d.ccc.as_ref().err());
        out.paragraph(why.map_or_else(String::new, |why| format!("CCC and ICC(2,1): {}.", why.words())))?;
    }
    for sentence in said::sentences_of_all(&device.measures) {
        out.paragraph(sentence)?;
    }
    Ok(())
}

fn bias_and_limits(d: &Deviation) -> Vec<String> {
    let bias = d.bias.map_or_else(|why| why.words().to_owned(), short);
    let limit = |pick: fn(&NightLimits) -> &Limit| match &d.limits {
        Ok(limits) => format!("{} ({})", short(pick(limits).value), between(pick(limits).interval)),
        Err(why) => why.words(),
    };
    let n = d.nights.len();
    vec![
        said::short(d.of).to_owned(),
        if d.people == n { n.to_string() } else { format!("{n}/{}", d.people) },
        d.bias_interval.map_or_else(|_| bias.clone(), |ends| format!("{bias} ({})", between(ends))),
        limit(|l| &l.lower),
        limit(|l| &l.upper),
    ]
}

fn sizes_and_coefficients(d: &Deviation) -> Vec<String> {
    let one = |figure: counterpane_stats::Figure| figure.map_or_else(|_| "-".to_owned(), |value| format!("{value:.1}"));
    vec![said::short(d.of).to_owned(), one(d.mae), one(d.rmse), said::coefficient(&d.ccc), said::coefficient(&d.icc)]
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
