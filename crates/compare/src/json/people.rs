//! Numbers over several people as JSON.

use super::{AgreementIntervalsJson, IntervalJson};
use crate::{Across, AgreementOverPeople, DevicePeople, IntervalBy, OverPeople};
use schemars::JsonSchema;
use serde::Serialize;

/// One device over all its nights: what its people say of others like them.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DevicePeopleJson {
    /// Name of the device, or code of a further scorer.
    pub name: String,
    /// In the scheme of the device's summary.
    pub stages: AgreementOverPeopleJson,
    /// In sleep and wake.
    pub sleep_wake: AgreementOverPeopleJson,
    /// Correct epochs of all that the reference scored: missing counts as wrong.
    pub accuracy_missing_wrong: OverPeopleJson,
    /// Intervals of the numbers of `pooled` of the device's summary; below 20 people there are none.
    pub pooled: AgreementIntervalsJson,
    /// Intervals of the numbers of `pooled_sleep_wake`.
    pub pooled_sleep_wake: AgreementIntervalsJson,
    /// Interval of the correct epochs of all that the references scored.
    pub pooled_missing_wrong: IntervalJson,
}

/// The numbers of the matrices of all nights, each as a mean over people.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AgreementOverPeopleJson {
    /// Share of pairs that agree.
    pub accuracy: OverPeopleJson,
    /// Cohen's kappa.
    pub kappa: OverPeopleJson,
    /// Mean of the sensitivities of the classes that the reference has.
    pub balanced_accuracy: OverPeopleJson,
    /// One entry for each class.
    pub per_class: Vec<ClassOverPeopleJson>,
}

/// One class over all nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClassOverPeopleJson {
    /// The class.
    pub class: String,
    /// Of the reference's epochs of the class, the share that the device calls so.
    pub sensitivity: OverPeopleJson,
    /// Of the device's epochs of the class, the share that the reference calls so.
    pub ppv: OverPeopleJson,
}

/// The mean over participants of the mean over their nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OverPeopleJson {
    /// The mean; null where no night has a value.
    pub mean: Option<f64>,
    /// Each person who has a value.
    pub each: Vec<PersonJson>,
    /// Nights without a value, which are left out.
    pub skipped: usize,
    /// `people`: the interval speaks of people like these; `nights`: of the only person, nights taken as independent.
    pub across: String,
    /// 95 %.
    pub interval: IntervalJson,
    /// `t`, `t_on_scale` or `cluster_bootstrap`; null without an interval.
    pub by: Option<String>,
}

/// One person's part in a mean.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PersonJson {
    /// The participant's code.
    pub participant: String,
    /// Number of nights that have a value.
    pub nights: usize,
    /// Mean over these nights.
    pub mean: f64,
}

impl From<&DevicePeople> for DevicePeopleJson {
    fn from(of: &DevicePeople) -> DevicePeopleJson {
        DevicePeopleJson {
            name: of.name.clone(),
            stages: AgreementOverPeopleJson::from(&of.stages),
            sleep_wake: AgreementOverPeopleJson::from(&of.sleep_wake),
            accuracy_missing_wrong: OverPeopleJson::from(&of.accuracy_missing_wrong),
            pooled: AgreementIntervalsJson::from(&of.pooled.stages),
            pooled_sleep_wake: AgreementIntervalsJson::from(&of.pooled.sleep_wake),
            pooled_missing_wrong: IntervalJson::from(&of.pooled.accuracy_missing_wrong),
        }
    }
}

impl From<&AgreementOverPeople> for AgreementOverPeopleJson {
    fn from(of: &AgreementOverPeople) -> AgreementOverPeopleJson {
        let classes = of.per_class.iter().map(|class| ClassOverPeopleJson {
            class: class.class.code().to_owned(),
            sensitivity: OverPeopleJson::from(&class.sensitivity),
            ppv: OverPeopleJson::from(&class.ppv),
        });
        AgreementOverPeopleJson {
            accuracy: OverPeopleJson::from(&of.accuracy),
            kappa: OverPeopleJson::from(&of.kappa),
            balanced_accuracy: OverPeopleJson::from(&of.mean_sensitivity),
            per_class: classes.collect(),
        }
    }
}

impl From<&OverPeople> for OverPeopleJson {
    fn from(of: &OverPeople) -> OverPeopleJson {
        let person = |p: &crate::Person| PersonJson { participant: p.code.clone(), nights: p.nights, mean: p.mean };
        let across = match of.across {
            Across::People => "people",
            Across::Nights => "nights",
        };
        let by = |by: IntervalBy| match by {
            IntervalBy::T => "t",
            IntervalBy::TOnScale => "t_on_scale",
            IntervalBy::ClusterBootstrap => "cluster_bootstrap",
        };
        OverPeopleJson {
            mean: of.mean.ok(),
            each: of.each.iter().map(person).collect(),
            skipped: of.skipped,
            across: across.to_owned(),
            interval: IntervalJson::from(&of.interval),
            by: of.by.map(|own| by(own).to_owned()),
        }
    }
}
