//! Wakes of the reference as events: which of them a device found, and which wakes it made up.
//!
//! Wake detection by epochs hides how it came about: a device may find one long wake and none of ten short ones. Here each
//! wake between the reference's first and last epoch of sleep counts once, however long.

mod counts;
mod night;
mod together;

pub use counts::{BoutCounts, BoutLength, Tally};
pub use night::{Bout, BoutSeen, DeviceBouts, NightBouts, Verdict};
pub use together::BoutsTogether;

use crate::Comparison;
use counterpane_stats::Resampling;

/// The least number of epochs of a wake that counts, 1 min. A convention of this program.
pub const BOUT_SHORTEST: usize = 2;

/// The share of a wake that the other side must call wake too. A convention of this program.
pub const BOUT_SHARE: f64 = 0.5;

/// The least number of epochs of a long wake, 5 min: each of them is named.
pub const BOUT_LONG: usize = 10;

/// Wakes as events, night by night and device by device.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WakeEvents {
    /// In the order of the comparison's nights; nights without sleep, or without a device that tells wake from sleep, have
    /// no wakes or no devices.
    pub nights: Vec<NightBouts>,
    /// In the order of the comparison's devices; only those that tell wake from sleep.
    pub devices: Vec<BoutsTogether>,
}

impl WakeEvents {
    /// Returns those of the night with that reference.
    #[must_use]
    pub fn of(&self, reference_key: &str) -> Option<&NightBouts> {
        self.nights.iter().find(|n| n.reference_key == reference_key)
    }
}

/// Returns the wakes of a comparison as events.
pub(crate) fn wake_events(comparison: &Comparison, asked: Resampling) -> WakeEvents {
    let nights: Vec<NightBouts> = comparison.nights.iter().map(night::night_bouts).collect();
    let devices = comparison.devices.iter().filter_map(|d| together::together(comparison, &d.name, &nights, asked));
    WakeEvents { devices: devices.collect(), nights }
}
