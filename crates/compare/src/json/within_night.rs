//! The intervals of one night as JSON.

use super::IntervalJson;
use crate::{AgreementIntervals, WithinNight};
use schemars::JsonSchema;
use serde::Serialize;

/// How well one night pins the numbers of a device down; nothing about other nights or other people.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WithinNightJson {
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Key of the recording.
    pub key: String,
    /// Of the numbers of `agreement`; null without it.
    pub agreement: Option<AgreementIntervalsJson>,
    /// Of the numbers of `sleep_wake`; null without it.
    pub sleep_wake: Option<AgreementIntervalsJson>,
    /// Of `accuracy_missing_wrong`.
    pub accuracy_missing_wrong: IntervalJson,
}

/// The intervals of the numbers of one matrix, 95 %, approximate.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AgreementIntervalsJson {
    /// Of the share of pairs that agree.
    pub accuracy: IntervalJson,
    /// Of Cohen's kappa.
    pub kappa: IntervalJson,
    /// Of the mean of the sensitivities of the classes that the reference has.
    pub balanced_accuracy: IntervalJson,
    /// Of the least sensitivity.
    pub worst_sensitivity: IntervalJson,
    /// One entry for each class, in the order of `classes` of the matrix.
    pub per_class: Vec<ClassIntervalsJson>,
}

/// The intervals of one class.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClassIntervalsJson {
    /// The class.
    pub class: String,
    /// Bouts of the class that the reference has on one night, with fewer than five of which there is no interval; null over
    /// several nights.
    pub bouts: Option<usize>,
    /// Bouts of the class that the device has on one night; null over several nights.
    pub device_bouts: Option<usize>,
    /// Of the sensitivity.
    pub sensitivity: IntervalJson,
    /// Of the positive predictive value.
    pub ppv: IntervalJson,
}

impl WithinNightJson {
    /// Returns the intervals of a recording beside a reference, each by its key.
    pub(super) fn new(reference_key: &str, key: &str, of: &WithinNight) -> WithinNightJson {
        WithinNightJson {
            reference_key: reference_key.to_owned(),
            key: key.to_owned(),
            agreement: of.stages.as_ref().map(AgreementIntervalsJson::from),
            sleep_wake: of.sleep_wake.as_ref().map(AgreementIntervalsJson::from),
            accuracy_missing_wrong: IntervalJson::from(&of.accuracy_missing_wrong),
        }
    }
}

impl From<&AgreementIntervals> for AgreementIntervalsJson {
    fn from(of: &AgreementIntervals) -> AgreementIntervalsJson {
        let classes = of.per_class.iter().map(|class| ClassIntervalsJson {
            class: class.class.code().to_owned(),
            bouts: class.bouts,
            device_bouts: class.device_bouts,
            sensitivity: IntervalJson::from(&class.sensitivity),
            ppv: IntervalJson::from(&class.ppv),
        });
        AgreementIntervalsJson {
            accuracy: IntervalJson::from(&of.accuracy),
            kappa: IntervalJson::from(&of.kappa),
            balanced_accuracy: IntervalJson::from(&of.mean_sensitivity),
            worst_sensitivity: IntervalJson::from(&of.worst_sensitivity),
            per_class: classes.collect(),
        }
    }
}
