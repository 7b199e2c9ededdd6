//! What a device is measured against: guesses that see nothing of the night, and what people reach.
//!
//! Half of a night is light sleep, so always saying light agrees on about half of it. A number of a device says something
//! only beside what comes for free in the same epochs, and beside how far two people agree.

mod ceiling;
mod night;
mod prior;
mod together;

pub use ceiling::{Ceiling, CeilingPair};
pub use night::{Beside, NightBaselines, RandomNights};
pub use together::DeviceBaselines;

use crate::{Comparison, DeviceNight, NightComparison};
use counterpane_model::{Scheme, Stage};
use counterpane_stats::Resampling;
use counterpane_stats::on_threads;
use prior::Priors;

/// How many random nights are drawn for each night of a device.
pub const RANDOM_NIGHTS: u32 = 200;

/// How many epochs of a night are taken together where the time of night is learned, 5 min.
pub const PRIOR_STRETCH: usize = 10;

/// What comes for free beside every device, and what people reach.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Baselines {
    /// Every recording that was compared, night by night.
    pub nights: Vec<NightBaselines>,
    /// Every device that was compared, over its nights.
    pub devices: Vec<DeviceBaselines>,
    /// How far the study's own scorers agree; empty where no night has two people who scored.
    pub ceiling: Ceiling,
}

impl Baselines {
    /// Returns those of a recording beside a reference.
    #[must_use]
    pub fn of(&self, reference_key: &str, key: &str) -> Option<&NightBaselines> {
        self.nights.iter().find(|n| n.reference_key == reference_key && n.key == key)
    }
}

/// Returns the stage that one would always say: the commonest of a usual night.
#[must_use]
pub fn usual_guess(scheme: Scheme) -> Stage {
    match scheme {
        Scheme::SleepWake => Stage::Asleep,
        Scheme::Three => Stage::Nrem,
        Scheme::Four => Stage::Light,
        Scheme::Five => Stage::N2,
    }
}

/// Returns the baselines of a comparison.
pub(crate) fn baselines(comparison: &Comparison, asked: Resampling) -> Baselines {
    let priors = Priors::learn(comparison);
    let all: Vec<(&NightComparison, &DeviceNight, Scheme)> = comparison
        .nights
        .iter()
        .flat_map(|night| night.devices.iter().map(move |device| (night, device)))
        .filter_map(|(night, device)| Some((night, device, device.agreement.as_ref()?.scheme)))
        .collect();
    let one = |(night, device, scheme): &(&NightComparison, &DeviceNight, Scheme)| NightBaselines {
        reference_key: night.reference_key.clone(),
        key: device.key.clone(),
        beside: night::beside(night, device, *scheme, &priors, asked.seed),
    };
    let nights = on_threads(&all, asked.threads, one);
    let devices = comparison.devices.iter().filter_map(|d| together::together(comparison, d, &nights, &priors, asked));
    Baselines { devices: devices.collect(), ceiling: Ceiling::of(&comparison.scorers), nights }
}
