//! What a shift of a clock would change, as JSON.

use super::Undefineds;
use crate::{ClockDevice, ClockNight, Clocks, NoOffset, Shifted};
use counterpane_model::EPOCH_MS;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Clocks of a comparison: the device as it stands, moved by an offset of its other nights, and moved by the best of all shifts
/// up to 5 min. Only the first counts; no shifted number enters any other table.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClocksJson {
    /// Each device on each night.
    pub nights: Vec<ClockNightJson>,
    /// Each device over its nights.
    pub devices: Vec<ClockDeviceJson>,
}

/// A device on a night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClockNightJson {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Key of the device's recording.
    pub key: String,
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Classes in which agreement is counted.
    pub scheme: String,
    /// Whether a correction of its clock was set: then all of this is what is left after it.
    pub corrected: bool,
    /// As it stands: the one that counts.
    pub unshifted: ShiftedJson,
    /// Moved by the offset of the other nights of the same unit.
    pub elsewhere: Option<ShiftedJson>,
    /// Moved by the offset at which this night agrees best: optimistic, exploratory.
    pub in_sample: Option<ShiftedJson>,
    /// 95 % interval of that offset, seconds.
    pub interval_s: Option<[i64; 2]>,
    /// What the best shift gains where there is nothing to find; null without another night.
    pub chance: Option<ChanceJson>,
    /// An offset that grows over the night, a fault of the data; null where none is found.
    pub drift: Option<DriftJson>,
    /// Name of each line that is null, and why.
    pub undefined: BTreeMap<String, String>,
}

/// Agreement at a shift, over the epochs that keep ten others on either side.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShiftedJson {
    /// By how many seconds the device is late: it is moved back by so many.
    pub offset_s: i64,
    /// Share of pairs that agree.
    pub accuracy: Option<f64>,
    /// Cohen's kappa.
    pub kappa: Option<f64>,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

/// Gains in accuracy of the best shift beside references of other nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChanceJson {
    /// What it gains on the night itself.
    pub gain: f64,
    /// Number of other nights.
    pub nights: usize,
    /// Mean gain beside them.
    pub mean: f64,
    /// Largest gain beside them.
    pub most: f64,
    /// Share of them, the night itself counted too, that gain as much.
    pub as_much: f64,
}

/// An offset that grows over the night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DriftJson {
    /// By how many seconds the device is later at the end of the night than at its start.
    pub over_night_s: i64,
    /// 95 % interval, seconds.
    pub interval_s: [i64; 2],
}

/// A device over its nights: means over people of the means over their nights, of the nights that have all three lines.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClockDeviceJson {
    /// Name of the device.
    pub name: String,
    /// Nights on which it is compared.
    pub nights: usize,
    /// Nights that have all three lines.
    pub with_all: usize,
    /// Accuracy as it stands.
    pub unshifted: Option<f64>,
    /// Accuracy with the offset of the other nights.
    pub elsewhere: Option<f64>,
    /// Accuracy with the best offset of each night: optimistic, exploratory.
    pub in_sample: Option<f64>,
    /// Least and most of the best offsets of its nights, seconds.
    pub offsets_s: Option<[i64; 2]>,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

impl From<&Clocks> for ClocksJson {
    fn from(clocks: &Clocks) -> ClocksJson {
        ClocksJson {
            nights: clocks.nights.iter().map(night).collect(),
            devices: clocks.devices.iter().map(device).collect(),
        }
    }
}

fn seconds(epochs: i64) -> i64 {
    epochs * EPOCH_MS / 1000
}

fn shifted(shifted: &Shifted) -> ShiftedJson {
    let mut undefined = Undefineds::default();
    ShiftedJson {
        offset_s: seconds(shifted.epochs),
        accuracy: undefined.keep("accuracy", shifted.accuracy),
        kappa: undefined.keep("kappa", shifted.kappa),
        undefined: undefined.0,
    }
}

fn night(of: &ClockNight) -> ClockNightJson {
    let mut undefined = BTreeMap::new();
    let mut line = |name: &str, line: &Result<Shifted, NoOffset>| match line {
        Ok(line) => Some(shifted(line)),
        Err(why) => {
            undefined.insert(name.to_owned(), why.code().to_owned());
            None
        }
    };
    let (elsewhere, in_sample) = (line("elsewhere", &of.elsewhere), line("in_sample", &of.in_sample));
    for (name, missing, why) in [
        ("interval_s", of.interval.is_none(), "no_offset"),
        ("chance", of.chance.is_none(), "one_night"),
        ("drift", of.drift.is_none(), "none_found"),
    ] {
        if missing {
            undefined.insert(name.to_owned(), why.to_owned());
        }
    }
    ClockNightJson {
        participant: of.participant.clone(),
        night: of.night.clone(),
        key: of.key.clone(),
        reference_key: of.reference_key.clone(),
        scheme: of.scheme.code().to_owned(),
        corrected: of.corrected,
        unshifted: shifted(&of.unshifted),
        elsewhere,
        in_sample,
        interval_s: of.interval.map(|(low, high)| [seconds(low), seconds(high)]),
        chance: of.chance.map(|c| ChanceJson {
            gain: c.gain,
            nights: c.nights,
            mean: c.mean,
            most: c.most,
            as_much: c.as_much,
        }),
        drift: of.drift.map(|d| DriftJson {
            over_night_s: seconds(d.epochs),
            interval_s: [seconds(d.interval.0), seconds(d.interval.1)],
        }),
        undefined,
    }
}

fn device(of: &ClockDevice) -> ClockDeviceJson {
    let mut undefined = Undefineds::default();
    let (unshifted, elsewhere) = (undefined.keep("unshifted", of.unshifted), undefined.keep("elsewhere", of.elsewhere));
    let in_sample = undefined.keep("in_sample", of.in_sample);
    if of.offsets.is_none() {
        undefined.0.insert("offsets_s".into(), "at_the_edge".into());
    }
    ClockDeviceJson {
        name: of.name.clone(),
        nights: of.nights,
        with_all: of.with_all,
        unshifted,
        elsewhere,
        in_sample,
        offsets_s: of.offsets.map(|(low, high)| [seconds(low), seconds(high)]),
        undefined: undefined.0,
    }
}
