//! The epochs of a night as pairs of classes, in order of time.

use crate::device_night::without;
use crate::{DeviceNight, NightComparison};
use counterpane_model::{Cell, Grid, Scheme};

pub(crate) use counterpane_stats::bouts;

/// What the reference and the device say of each epoch of the window, without what is left out of either.
pub(crate) fn sides(night: &NightComparison, device: &DeviceNight) -> (Vec<Cell>, Vec<Cell>) {
    let grid = Grid { start: night.start, n: night.reference.len() };
    let left_out = [night.excluded.as_slice(), &device.excluded].concat();
    (without(&night.reference, grid, &left_out), without(&device.cells, grid, &left_out))
}

/// Returns the classes of both sides in the epochs to which both give a stage of the scheme.
pub(crate) fn pairs(scheme: Scheme, reference: &[Cell], device: &[Cell]) -> Vec<(usize, usize)> {
    let class = |cell: &Cell| cell.stage().and_then(|stage| scheme.index(stage));
    reference.iter().zip(device).filter_map(|(r, d)| Some((class(r)?, class(d)?))).collect()
}

/// Returns the classes of both sides in every epoch that the reference scored; what the device does not give is a class
/// of its own, the last.
pub(crate) fn pairs_with_missing(scheme: Scheme, reference: &[Cell], device: &[Cell]) -> Vec<(usize, usize)> {
    let class = |cell: &Cell| cell.stage().and_then(|stage| scheme.index(stage));
    let missing = scheme.classes().len();
    reference.iter().zip(device).filter_map(|(r, d)| Some((class(r)?, class(d).unwrap_or(missing)))).collect()
}
