//! What the numbers leave open, for the terminal.

use super::name_in;
use crate::output::{Out, table};
use counterpane_compare::{DeviceNight, Inference, Interval, Limits, NightComparison, NoInterval};
use counterpane_report::words::intervals::{between_shares, between_two};

/// Prints the intervals of a night, a line for each device that was compared.
pub(super) fn within_night(n: &NightComparison, inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    let rows: Vec<Vec<String>> = n.devices.iter().filter_map(|d| within_cells(n, inference, d)).collect();
    if rows.is_empty() {
        return Ok(());
    }
    out.paragraph("95 % intervals within this night, approximate")?;
    let head = ["device", "agree", "kappa", "mean sens.", "worst sens."];
    out.raw(&table(&head, &[1, 2], &rows, out.width()))
}

fn within_cells(n: &NightComparison, inference: &Inference, d: &DeviceNight) -> Option<Vec<String>> {
    let of = inference.within_nights.of(n, d)?.stages.as_ref()?;
    Some(vec![
        name_in(n, d),
        short(&of.accuracy, between_shares),
        short(&of.kappa, between_two),
        short(&of.mean_sensitivity, between_shares),
        short(&of.worst_sensitivity, between_shares),
    ])
}

/// Returns the ends of an interval, or in a few words why there is none.
pub(super) fn short(interval: &Interval, wording: fn(Limits) -> String) -> String {
    match interval {
        Ok(limits) => wording(*limits),
        Err(NoInterval::Undefined(_)) => "undefined".to_owned(),
        Err(NoInterval::FewBouts(n)) => format!("too few bouts ({n})"),
        Err(NoInterval::FewDeviceBouts(n)) => format!("too few bouts of the device ({n})"),
        Err(NoInterval::FewEpochs(n)) => format!("too few epochs ({n})"),
        Err(NoInterval::OftenUndefined) => "often undefined".to_owned(),
        Err(NoInterval::AtTheEnd) => "nothing varies".to_owned(),
    }
}
