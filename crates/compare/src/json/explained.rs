//! Where the difference between a device's own minutes and the reference's comes from, as JSON.

use crate::{Comparison, DeviceNight, ExplainedDevice, NightComparison, Part, explained, explained_night};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Where differences in minutes come from.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ExplainedJson {
    /// Each device on each night.
    pub nights: Vec<ExplainedNightJson>,
    /// Each device over its nights: the mean over people of the mean over their nights.
    pub devices: Vec<ExplainedDeviceJson>,
}

/// One device on one night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ExplainedNightJson {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Key of the recording.
    pub key: String,
    /// All sleep (`Asleep`), then each class.
    pub classes: Vec<SplitJson>,
}

/// One device over its nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ExplainedDeviceJson {
    /// Name of the device.
    pub name: String,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
    /// All sleep (`Asleep`), then each class that every night tells apart.
    pub classes: Vec<SplitJson>,
}

/// The difference in one class, minutes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SplitJson {
    /// The class.
    pub class: String,
    /// What the device displays over its own record.
    pub displayed: f64,
    /// What the reference has in its window.
    pub reference: f64,
    /// Parts of `displayed` minus `reference`, which add up to it: `own_total`, `window`, `rounding`, `clock`, `left_out`,
    /// `unscored`, `missing`, `called_so`, `not_called_so`.
    pub parts: BTreeMap<String, f64>,
}

impl From<&Comparison> for ExplainedJson {
    fn from(comparison: &Comparison) -> ExplainedJson {
        let night = |n: &NightComparison, d: &DeviceNight| {
            Some(ExplainedNightJson {
                participant: n.participant.clone(),
                night: n.night.clone(),
                key: d.key.clone(),
                classes: ExplainedDeviceJson::from(&explained_night(n, d)?).classes,
            })
        };
        let of_night = |n: &'_ NightComparison| n.devices.iter().filter_map(|d| night(n, d)).collect::<Vec<_>>();
        ExplainedJson {
            nights: comparison.nights.iter().flat_map(of_night).collect(),
            devices: explained(comparison).iter().map(ExplainedDeviceJson::from).collect(),
        }
    }
}

impl From<&ExplainedDevice> for ExplainedDeviceJson {
    fn from(device: &ExplainedDevice) -> ExplainedDeviceJson {
        let split = |s: &crate::MeanSplit| SplitJson {
            class: s.class.code().to_owned(),
            displayed: s.displayed,
            reference: s.reference,
            parts: Part::ALL.iter().zip(s.parts).map(|(part, v)| (part.code().to_owned(), v)).collect(),
        };
        ExplainedDeviceJson {
            name: device.name.clone(),
            nights: device.nights,
            participants: device.participants,
            classes: device.splits.iter().map(split).collect(),
        }
    }
}
