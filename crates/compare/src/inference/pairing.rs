//! The epochs of a night as pairs of classes, in order of time.

use crate::device_night::without;
use crate::{DeviceNight, NightComparison};
use counterpane_model::{Cell, Grid, Scheme};

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

/// Returns how many runs of a class one side has. An epoch that is no pair does not end a run: what a device missed must
/// not make bouts of one bout.
pub(crate) fn bouts(side: impl Iterator<Item = usize>, class: usize) -> usize {
    let mut before = None;
    let mut n = 0;
    for own in side {
        if own == class && before != Some(class) {
            n += 1;
        }
        before = Some(own);
    }
    n
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_is_a_bout_however_long() {
        let check = |side: &[usize], n| assert_eq!(bouts(side.iter().copied(), 1), n, "{side:?}");
        check(&[], 0);
        check(&[0, 0], 0);
        check(&[1, 1, 1], 1);
        check(&[1, 0, 1, 1, 2, 1], 3);
    }
}
