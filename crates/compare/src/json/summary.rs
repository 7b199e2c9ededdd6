//! One device over all its nights as JSON.

use super::{AgreementJson, Undefineds};
use crate::DeviceSummary;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// One device over all its nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DeviceJson {
    /// Name of the device, or code of a further scorer.
    pub name: String,
    /// The finest scheme that all its nights share; null when no night was compared.
    pub scheme: Option<String>,
    /// Number of nights that entered; a night with two units of the device counts twice.
    pub nights: usize,
    /// Number of participants of those nights.
    pub participants: usize,
    /// All epochs of all nights in one matrix: long nights weigh more.
    pub pooled: Option<AgreementJson>,
    /// The same in sleep and wake.
    pub pooled_sleep_wake: Option<AgreementJson>,
    /// Accuracy: mean over participants of the mean over their nights.
    pub mean_accuracy: Option<f64>,
    /// Kappa: mean over participants of the mean over their nights; nights without a kappa are left out.
    pub mean_kappa: Option<f64>,
    /// How many nights were left out of `mean_kappa`.
    pub kappa_skipped: usize,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

impl From<&DeviceSummary> for DeviceJson {
    fn from(device: &DeviceSummary) -> DeviceJson {
        let mut undefined = Undefineds::default();
        DeviceJson {
            name: device.name.clone(),
            scheme: device.scheme.map(|s| s.code().to_owned()),
            nights: device.nights,
            participants: device.participants,
            pooled: device.pooled.as_ref().map(AgreementJson::from),
            pooled_sleep_wake: device.pooled_sleep_wake.as_ref().map(AgreementJson::from),
            mean_accuracy: undefined.keep("mean_accuracy", device.mean_accuracy),
            mean_kappa: undefined.keep("mean_kappa", device.mean_kappa),
            kappa_skipped: device.kappa_skipped,
            undefined: undefined.0,
        }
    }
}
