//! The epochs of a night that count for a device: those of the window that nobody left out on purpose.

use crate::{DeviceNight, NightComparison};
use counterpane_model::{Cell, Grid, Instant};

/// Returns for each epoch of a grid whether one of some stretches holds it.
pub(crate) fn held<'a>(grid: Grid, stretches: impl Iterator<Item = &'a (Instant, Instant)>) -> Vec<bool> {
    let mut out = vec![false; grid.n];
    for (from, until) in stretches {
        if let Some(epochs) = out.get_mut(grid.within(*from, *until)) {
            epochs.fill(true);
        }
    }
    out
}

/// Returns for each epoch of the window whether it was left out on purpose, for the night or for the device.
pub(crate) fn left_out(night: &NightComparison, device: &DeviceNight) -> Vec<bool> {
    let grid = Grid { start: night.start, n: night.reference.len() };
    held(grid, night.excluded.iter().chain(&device.excluded))
}

/// Returns what reference and device say of each epoch that counts; nothing for a device without stages over time.
pub(crate) fn counted<'a>(
    night: &'a NightComparison,
    device: &'a DeviceNight,
) -> impl Iterator<Item = (Cell, Cell)> + 'a {
    let both = night.reference.iter().copied().zip(device.cells.iter().copied());
    both.zip(left_out(night, device)).filter(|(_, out)| !out).map(|(cells, _)| cells)
}
