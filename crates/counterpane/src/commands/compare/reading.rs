//! What the precision of readings leaves open, for the terminal.

use crate::output::{Out, clean};
use counterpane_compare::{Inference, NightComparison};
use counterpane_report::words::reading as said;

/// Prints a sentence for each source of a night that was read off a picture.
pub(super) fn print_night(night: &NightComparison, inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    let own = inference.readings.iter().filter(|r| r.reference_key == night.reference_key);
    own.into_iter().try_for_each(|r| out.paragraph(clean(&said::sentence(r))))
}

/// Prints a sentence for each device of which nights were read off a picture.
pub(super) fn print_means(inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    if inference.means_read.is_empty() {
        return Ok(());
    }
    out.line("")?;
    for means in &inference.means_read {
        out.paragraph(clean(&said::means(means)))?;
    }
    out.paragraph(said::MEANING)
}
