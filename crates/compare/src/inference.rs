//! What the numbers of a comparison leave open: intervals, differences between devices, baselines.
//!
//! One file holds one question; each takes a [`Comparison`] and gives plain data. [`infer`] asks all of them, so that the
//! text, the JSON and the report say the same.

mod agreement_intervals;
mod baselines;
mod bouts;
mod clocks;
mod deviations;
mod interval;
mod over_people;
mod pairing;
mod pairs;
mod people;
mod pooled;
mod ranks;
mod scorers;
mod shared;
mod within_night;

pub use agreement_intervals::{AgreementIntervals, BOUTS_WANT, ClassIntervals, agreement_intervals};
pub use baselines::{
    Baselines, Beside, Ceiling, CeilingPair, DeviceBaselines, NightBaselines, PRIOR_STRETCH, RANDOM_NIGHTS,
    RandomNights, usual_guess,
};
pub use bouts::{
    BOUT_LONG, BOUT_SHARE, BOUT_SHORTEST, Bout, BoutCounts, BoutLength, BoutSeen, BoutsTogether, DeviceBouts,
    NightBouts, Tally, Verdict, WakeEvents,
};
pub use clocks::{Chance, ClockDevice, ClockNight, Clocks, Drift, MAX_LAG, NoOffset, Shifted};
pub use deviations::{
    AtSize, Coefficient, Deviation, Deviations, Limit, LimitsBy, NightLimits, NightMeasure, NightPair, Nights, NotSaid,
    Slope, WANT_FOR_COEFFICIENTS, WANT_FOR_LIMITS, deviations,
};
pub use interval::{Interval, Limits, NoInterval};
pub use over_people::{Across, OverPeople, Person, SHOW_EACH_BELOW, over_people};
pub use pairs::{DevicePair, DevicePairs, LEVEL, PEOPLE_WITHOUT_TEST, PairDifference};
pub use people::{AgreementOverPeople, ClassOverPeople, DevicePeople, people};
pub use pooled::PooledIntervals;
pub use ranks::{Ranked, Ranks};
pub use scorers::{PairOverPeople, PairWithinNight, ScorerIntervals};
pub use within_night::{WithinNight, WithinNights};

pub(crate) use pairing::pairs as pairs_of_classes;

use crate::{Comparison, MeansRead, Reading, means_read};
use counterpane_model::Plan;
use counterpane_stats::Resampling;

/// What can be said beyond the numbers themselves.
#[derive(Clone, Debug, PartialEq)]
pub struct Inference {
    /// How often and from which seed everything was drawn anew.
    pub asked: Resampling,
    /// Recordings whose times were read off a picture, and what that leaves open: night by night.
    pub readings: Vec<Reading>,
    /// The same over all nights, device by device.
    pub means_read: Vec<MeansRead>,
    /// How well each night pins its own numbers down.
    pub within_nights: WithinNights,
    /// What a shift of a clock would change.
    pub clocks: Clocks,
    /// What its people say of others like them, device by device.
    pub people: Vec<DevicePeople>,
    /// How far whole-night measures lie from the reference's over nights: device by device.
    pub deviations: Vec<Deviations>,
    /// Device against device.
    pub pairs: DevicePairs,
    /// Wakes as events: which of them each device found.
    pub wakes: WakeEvents,
    /// Scorer against scorer.
    pub scorers: ScorerIntervals,
    /// What comes for free beside every device, and what people reach.
    pub baselines: Baselines,
}

impl Inference {
    /// Returns what the people of a study say of a device; `None` for one that was never compared.
    #[must_use]
    pub fn people_of(&self, device: &str) -> Option<&DevicePeople> {
        self.people.iter().find(|of| of.name == device)
    }

    /// Adds what the precision of readings leaves open. They are made where the recordings are at hand ([`reading`](crate::reading)).
    #[must_use]
    pub fn with_readings(self, comparison: &Comparison, readings: Vec<Reading>) -> Inference {
        Inference { means_read: means_read(comparison, &readings), readings, ..self }
    }
}

/// Asks every question of this folder of a comparison; `plan` is what was laid down, which names the measure on which devices
/// are told apart.
#[must_use]
pub fn infer(comparison: &Comparison, plan: Option<&Plan>, asked: Resampling) -> Inference {
    Inference {
        asked,
        readings: Vec::new(),
        means_read: Vec::new(),
        within_nights: WithinNights::draw(comparison, asked),
        clocks: clocks::clocks(comparison, asked),
        people: people(comparison, asked),
        deviations: deviations(comparison),
        pairs: pairs::device_pairs(comparison, plan, asked),
        wakes: bouts::wake_events(comparison, asked),
        scorers: scorers::scorer_intervals(&comparison.scorers, asked),
        baselines: baselines::baselines(comparison, asked),
    }
}
