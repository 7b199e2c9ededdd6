//! A device, or a second scorer, and the reference as classes, epoch by epoch.

use counterpane_model::grid::project;
use counterpane_model::{EPOCH_MS, Grid, Recording, Scheme};
use counterpane_stats::{Table, cohen_kappa};

/// Both sides in the finest scheme that both can express, on the epochs of the reference.
pub(crate) struct Pair {
    /// Class of each epoch of the reference; `None` where it scores nothing.
    pub(crate) reference: Vec<Option<usize>>,
    /// Class of each epoch of the device, from `margin` epochs before the reference to as many after it.
    pub(crate) device: Vec<Option<usize>>,
    /// Epochs of the device before the first one of the reference.
    pub(crate) margin: usize,
    /// The scheme.
    pub(crate) scheme: Scheme,
}

impl Pair {
    /// Returns both sides; `None` when one says nothing or they share no scheme.
    pub(crate) fn of(reference: &Recording, device: &Recording, margin: usize) -> Option<Pair> {
        let shared = |s: &Scheme| reference.expresses(*s) && device.expresses(*s);
        let scheme = Scheme::ALL.into_iter().rev().find(shared)?;
        let (from, until) = reference.bounds()?;
        device.bounds()?;
        let grid = Grid::covering(from, from, until);
        let reach = i64::try_from(margin).ok()? * EPOCH_MS;
        let wide = Grid::covering(from, from.plus_ms(-reach)?, until.plus_ms(reach)?);
        let classes = |recording: &Recording, grid: Grid| {
            let cells = project(&recording.spans, grid);
            cells.into_iter().map(|c| c.stage().and_then(|s| scheme.index(s))).collect()
        };
        Some(Pair { reference: classes(reference, grid), device: classes(device, wide), margin, scheme })
    }

    /// Returns kappa, and the number of epochs that both scored, with the device read from this one of its epochs on: from
    /// the margin on as both stand. `None` where kappa is undefined.
    pub(crate) fn kappa(&self, from: usize) -> Option<(f64, usize)> {
        let classes = self.scheme.classes().len();
        let mut counts = vec![vec![0_u64; classes]; classes];
        let mut n = 0;
        for (reference, device) in self.reference.iter().zip(self.device.get(from..)?) {
            if let (Some(reference), Some(device)) = (*reference, *device) {
                counts[reference][device] += 1;
                n += 1;
            }
        }
        Some((cohen_kappa(&Table::from_counts(counts).ok()?).ok()?, n))
    }

    /// Returns the device on the epochs of the reference.
    pub(crate) fn unshifted(&self) -> &[Option<usize>] {
        self.device.get(self.margin..self.margin + self.reference.len()).unwrap_or(&[])
    }
}
