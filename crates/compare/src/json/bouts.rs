//! Wakes as events, as JSON.

use super::{OverPeopleJson, Undefineds};
use crate::{
    BOUT_SHARE, BOUT_SHORTEST, Bout, BoutCounts, BoutLength, BoutSeen, BoutsTogether, DeviceBouts, NightBouts, Tally,
    WakeEvents,
};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Wakes between the reference's first and last epoch of sleep, each counted once.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WakeEventsJson {
    /// The least length of a wake that is counted in `all`, in minutes; `by_length` counts shorter ones too.
    pub shortest_minutes: f64,
    /// The share of a wake that the other side must call wake too.
    pub share: f64,
    /// Night by night.
    pub nights: Vec<NightBoutsJson>,
    /// Device by device over its nights.
    pub devices: Vec<BoutsTogetherJson>,
}

/// The wakes of one night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NightBoutsJson {
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Every wake of the reference, from 30 s on, in order of time.
    pub wakes: Vec<WakeJson>,
    /// What was counted of each device.
    pub devices: Vec<DeviceBoutsJson>,
}

/// One wake of the reference.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WakeJson {
    /// When it starts.
    pub start: String,
    /// When it ends.
    pub end: String,
    /// Its length in minutes.
    pub minutes: f64,
    /// What each device made of it.
    pub devices: Vec<BoutSeenJson>,
}

/// What a device made of a wake.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BoutSeenJson {
    /// Key of the recording.
    pub key: String,
    /// `found`, `missed`, or `not_judged` where the wake touches an epoch to which one side gives no stage.
    pub verdict: String,
    /// How many of its minutes the device calls wake.
    pub awake_minutes: f64,
    /// By how many minutes the device's wake starts late, early where negative; null where no wake of it overlaps.
    pub onset_error_minutes: Option<f64>,
}

/// The wakes of one device on one night, counted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DeviceBoutsJson {
    /// Key of the recording.
    pub key: String,
    /// What was counted.
    pub counts: BoutCountsJson,
}

/// The wakes of one device over its nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BoutsTogetherJson {
    /// Name of the device.
    pub name: String,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
    /// All wakes of all nights counted together.
    pub pooled: BoutCountsJson,
    /// Mean over participants of the mean over their nights: share of the reference's wakes that were found.
    pub recall: OverPeopleJson,
    /// The same of the share of the device's wakes that are true.
    pub precision: OverPeopleJson,
    /// The same of the wakes made up in an hour of sleep; its interval is cut at 0.
    pub false_per_hour: OverPeopleJson,
}

/// Wakes, counted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BoutCountsJson {
    /// Those of at least `shortest_minutes`.
    pub all: TallyJson,
    /// The same wakes one to one: partners have at least half of what they cover together in common, and each wake has one.
    pub one_to_one: TallyJson,
    /// By length; those of a single epoch count too, in the first.
    pub by_length: Vec<LengthJson>,
    /// Wakes of either side that touch an epoch without a stage and cannot be judged.
    pub left_out: usize,
    /// Hours that the reference calls sleep and to which the device gives a stage.
    pub sleep_hours: f64,
    /// Wakes that the device makes up in an hour of sleep.
    pub false_per_hour: Option<f64>,
    /// By how many minutes the wakes that were found start late on average, early where negative.
    pub onset_error_minutes: Option<f64>,
    /// By how many minutes they are off on average, early or late.
    pub onset_off_minutes: Option<f64>,
    /// Names of figures that are null, with the reason.
    pub undefined: BTreeMap<String, String>,
}

/// The wakes of one length.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LengthJson {
    /// `0.5-2`, `2-5` (the upper end not included) or `5+`.
    pub minutes: String,
    /// The wakes.
    pub wakes: TallyJson,
}

/// Wakes of both sides.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TallyJson {
    /// Wakes of the reference.
    pub reference: usize,
    /// Those of them that the device found.
    pub found: usize,
    /// Wakes of the device.
    pub device: usize,
    /// Those of them that are true.
    pub device_true: usize,
    /// Share of the reference's wakes that were found; never to be read without `precision`.
    pub recall: Option<f64>,
    /// Share of the device's wakes that are true.
    pub precision: Option<f64>,
    /// Harmonic mean of both.
    pub f1: Option<f64>,
    /// Names of figures that are null, with the reason.
    pub undefined: BTreeMap<String, String>,
}

impl From<&WakeEvents> for WakeEventsJson {
    fn from(events: &WakeEvents) -> WakeEventsJson {
        WakeEventsJson {
            shortest_minutes: minutes(BOUT_SHORTEST),
            share: BOUT_SHARE,
            nights: events.nights.iter().map(NightBoutsJson::from).collect(),
            devices: events.devices.iter().map(BoutsTogetherJson::from).collect(),
        }
    }
}

impl From<&NightBouts> for NightBoutsJson {
    fn from(night: &NightBouts) -> NightBoutsJson {
        let device = |d: &DeviceBouts| DeviceBoutsJson { key: d.key.clone(), counts: (&d.counts).into() };
        NightBoutsJson {
            reference_key: night.reference_key.clone(),
            wakes: night.bouts.iter().map(|bout| wake(night, bout)).collect(),
            devices: night.devices.iter().map(device).collect(),
        }
    }
}

fn wake(night: &NightBouts, bout: &Bout) -> WakeJson {
    let seen = |(device, seen): (&DeviceBouts, &BoutSeen)| BoutSeenJson {
        key: device.key.clone(),
        verdict: seen.verdict.code().to_owned(),
        awake_minutes: minutes(seen.awake),
        onset_error_minutes: seen.onset_error.map(|epochs| epochs as f64 / 2.0),
    };
    WakeJson {
        start: bout.start.utc_text(),
        end: bout.end.utc_text(),
        minutes: minutes(bout.at.len()),
        devices: night.devices.iter().zip(&bout.seen).map(seen).collect(),
    }
}

impl From<&BoutsTogether> for BoutsTogetherJson {
    fn from(of: &BoutsTogether) -> BoutsTogetherJson {
        BoutsTogetherJson {
            name: of.name.clone(),
            nights: of.nights,
            participants: of.participants,
            pooled: (&of.pooled).into(),
            recall: OverPeopleJson::from(&of.recall),
            precision: OverPeopleJson::from(&of.precision),
            false_per_hour: OverPeopleJson::from(&of.false_per_hour),
        }
    }
}

impl From<&BoutCounts> for BoutCountsJson {
    fn from(counts: &BoutCounts) -> BoutCountsJson {
        let mut undefined = Undefineds::default();
        let length = |(length, tally): (BoutLength, &Tally)| LengthJson {
            minutes: length.code().to_owned(),
            wakes: tally.into(),
        };
        BoutCountsJson {
            all: (&counts.all).into(),
            one_to_one: (&counts.one_to_one()).into(),
            by_length: BoutLength::ALL.into_iter().zip(&counts.by_length).map(length).collect(),
            left_out: counts.left_out,
            sleep_hours: minutes(counts.sleep) / 60.0,
            false_per_hour: undefined.keep("false_per_hour", counts.false_per_hour()),
            onset_error_minutes: undefined.keep("onset_error_minutes", counts.onset_error()),
            onset_off_minutes: undefined.keep("onset_off_minutes", counts.onset_off()),
            undefined: undefined.0,
        }
    }
}

impl From<&Tally> for TallyJson {
    fn from(tally: &Tally) -> TallyJson {
        let mut undefined = Undefineds::default();
        TallyJson {
            reference: tally.bouts,
            found: tally.found,
            device: tally.device,
            device_true: tally.device_true,
            recall: undefined.keep("recall", tally.recall()),
            precision: undefined.keep("precision", tally.precision()),
            f1: undefined.keep("f1", tally.f1()),
            undefined: undefined.0,
        }
    }
}

fn minutes(epochs: usize) -> f64 {
    crate::measures::minutes(epochs)
}
