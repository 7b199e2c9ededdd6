//! Device against device, for the terminal.

use crate::output::{Out, clean, table};
use counterpane_compare::{DevicePair, DevicePairs};
use counterpane_report::words::pairs as said;

/// Prints how far every two devices lie apart, which of them can be told apart, and which ranks that leaves open.
pub(super) fn print(pairs: &DevicePairs, out: &mut Out) -> anyhow::Result<()> {
    if !pairs.pairs.is_empty() {
        out.paragraph("device against device")?;
        out.paragraph(said::about(pairs))?;
        let head = ["first", "second", "people", "difference", "interval", "p", "adjusted"];
        let rows: Vec<Vec<String>> = pairs.pairs.iter().map(|p| cells(p, pairs)).collect();
        out.raw(&table(&head, &[2, 3, 4, 5, 6], &rows, out.width()))?;
        let finest = pairs.pairs.iter().map(|p| p.scheme).max();
        if pairs.pairs.iter().any(|p| Some(p.scheme) < finest) {
            out.paragraph("* in fewer classes than the others: the finest that both can express")?;
        }
    }
    for sentence in said::verdict(pairs) {
        out.paragraph(clean(&sentence))?;
    }
    ranks(pairs, out)?;
    if pairs.pairs.is_empty() { Ok(()) } else { out.line("") }
}

fn cells(pair: &DevicePair, all: &DevicePairs) -> Vec<String> {
    let coarse = all.pairs.iter().any(|p| p.scheme > pair.scheme);
    let of = &pair.main;
    let difference = of.difference.mean.map_or_else(|_| "-".to_owned(), |v| said::difference(of.measure, v));
    let interval = match of.difference.interval {
        Ok(limits) => said::between(of.measure, limits),
        Err(_) => "none".to_owned(),
    };
    vec![
        clean(&pair.devices[0]),
        format!("{}{}", clean(&pair.devices[1]), if coarse { "*" } else { "" }),
        of.difference.each.len().to_string(),
        difference,
        interval,
        of.p.map_or_else(|_| "-".to_owned(), said::p),
        of.adjusted.map_or_else(|| "-".to_owned(), said::p),
    ]
}

fn ranks(pairs: &DevicePairs, out: &mut Out) -> anyhow::Result<()> {
    if !pairs.may_tell() {
        return Ok(());
    }
    for set in &pairs.ranks {
        let first = |shares: &[f64]| shares.first().map_or_else(|| "-".to_owned(), |s| format!("{:.0} %", 100.0 * s));
        let row = |d: &counterpane_compare::Ranked| vec![clean(&d.device), said::rank(d.interval), first(&d.shares)];
        let rows: Vec<Vec<String>> = set.devices.iter().map(row).collect();
        out.paragraph(format_args!("ranks left open among {} devices in `{}`", set.devices.len(), set.scheme.code()))?;
        out.raw(&table(&["device", "rank", "first in resampled studies"], &[2], &rows, out.width()))?;
    }
    if pairs.ranks.is_empty() { Ok(()) } else { out.paragraph(said::SHARES) }
}
