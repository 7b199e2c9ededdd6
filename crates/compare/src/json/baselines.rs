//! What a device is measured against, as JSON.

use super::{OverPeopleJson, Undefineds};
use crate::{Baselines, Beside, CeilingPair, DeviceBaselines, NightBaselines, PRIOR_STRETCH, RANDOM_NIGHTS};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// What comes for free in the same epochs, and what people reach.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BaselinesJson {
    /// How many random nights were drawn for each night of a device.
    pub random_nights: u32,
    /// How many minutes are taken together where the time of night is learned.
    pub prior_stretch_minutes: f64,
    /// Every recording that was compared.
    pub nights: Vec<NightBaselinesJson>,
    /// Every device over its nights: means over participants of the means over their nights.
    pub devices: Vec<DeviceBaselinesJson>,
    /// Pairs of people who scored the same nights, in every scheme that both express; empty where there is none.
    pub ceiling: Vec<CeilingPairJson>,
}

/// The baselines of one recording.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NightBaselinesJson {
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Key of the recording.
    pub key: String,
    /// What it got, and what comes for free.
    pub beside: BesideJson,
}

/// The baselines of one device.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DeviceBaselinesJson {
    /// Name of the device.
    pub name: String,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
    /// Means over participants of the means over their nights; `n` is the sum over nights.
    pub beside: BesideJson,
    /// By how much the device agrees more than the time of night alone.
    pub beyond_prior: OverPeopleJson,
}

/// What a device got, beside what guesses get in the same epochs.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BesideJson {
    /// The classes.
    pub scheme: String,
    /// Number of epochs that both sides scored.
    pub n: u64,
    /// Share on which the device agrees.
    pub accuracy: Option<f64>,
    /// Its kappa.
    pub kappa: Option<f64>,
    /// The stage that is always said.
    pub always: String,
    /// Share on which always saying it would agree; its kappa is 0.
    pub always_accuracy: Option<f64>,
    /// Share on which lots with the device's own shares of stages would agree on average; their kappa is 0.
    pub lots_accuracy: Option<f64>,
    /// Mean share on which random nights with bouts as long as the device's agree.
    pub random_accuracy: Option<f64>,
    /// Mean of their kappas.
    pub random_kappa: Option<f64>,
    /// Standard deviation of the kappa of one such night.
    pub random_kappa_sd: Option<f64>,
    /// Share of them whose kappa is at least the device's.
    pub random_reached: Option<f64>,
    /// Share on which the time of night alone would agree, learned on other people.
    pub prior_accuracy: Option<f64>,
    /// Its kappa.
    pub prior_kappa: Option<f64>,
    /// How much of the way from `always_accuracy` to full agreement the device comes.
    pub skill_over_always: Option<f64>,
    /// How much of the way from `prior_accuracy` to full agreement the device comes.
    pub skill_over_prior: Option<f64>,
    /// Share on which the device agrees about sleep and wake.
    pub sleep_wake_accuracy: Option<f64>,
    /// Share on which always saying asleep would agree about sleep and wake.
    pub asleep_accuracy: Option<f64>,
    /// Names of figures that are null, with the reason.
    pub undefined: BTreeMap<String, String>,
}

/// Two people who scored the same nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CeilingPairJson {
    /// Their codes.
    pub scorers: [String; 2],
    /// The classes.
    pub scheme: String,
    /// Number of nights that both scored.
    pub nights: usize,
    /// Share of all epochs of those nights on which they agree.
    pub accuracy: Option<f64>,
    /// Cohen's kappa.
    pub kappa: Option<f64>,
    /// Names of figures that are null, with the reason.
    pub undefined: BTreeMap<String, String>,
}

impl From<&Baselines> for BaselinesJson {
    fn from(of: &Baselines) -> BaselinesJson {
        let night = |n: &NightBaselines| NightBaselinesJson {
            reference_key: n.reference_key.clone(),
            key: n.key.clone(),
            beside: (&n.beside).into(),
        };
        let device = |d: &DeviceBaselines| DeviceBaselinesJson {
            name: d.name.clone(),
            nights: d.nights,
            participants: d.participants,
            beside: (&d.beside).into(),
            beyond_prior: (&d.beyond_prior).into(),
        };
        BaselinesJson {
            random_nights: RANDOM_NIGHTS,
            prior_stretch_minutes: crate::measures::minutes(PRIOR_STRETCH),
            nights: of.nights.iter().map(night).collect(),
            devices: of.devices.iter().map(device).collect(),
            ceiling: of.ceiling.pairs.iter().map(CeilingPairJson::from).collect(),
        }
    }
}

impl From<&Beside> for BesideJson {
    fn from(of: &Beside) -> BesideJson {
        let mut u = Undefineds::default();
        BesideJson {
            scheme: of.scheme.code().to_owned(),
            n: of.n,
            accuracy: u.keep("accuracy", of.accuracy),
            kappa: u.keep("kappa", of.kappa),
            always: of.always.code().to_owned(),
            always_accuracy: u.keep("always_accuracy", of.always_accuracy),
            lots_accuracy: u.keep("lots_accuracy", of.lots_accuracy),
            random_accuracy: u.keep("random_accuracy", of.random.accuracy),
            random_kappa: u.keep("random_kappa", of.random.kappa),
            random_kappa_sd: u.keep("random_kappa_sd", of.random.kappa_sd),
            random_reached: u.keep("random_reached", of.random.reached),
            prior_accuracy: u.keep("prior_accuracy", of.prior_accuracy),
            prior_kappa: u.keep("prior_kappa", of.prior_kappa),
            skill_over_always: u.keep("skill_over_always", of.skill_over_always()),
            skill_over_prior: u.keep("skill_over_prior", of.skill_over_prior()),
            sleep_wake_accuracy: u.keep("sleep_wake_accuracy", of.sleep_wake),
            asleep_accuracy: u.keep("asleep_accuracy", of.asleep_accuracy),
            undefined: u.0,
        }
    }
}

impl From<&CeilingPair> for CeilingPairJson {
    fn from(of: &CeilingPair) -> CeilingPairJson {
        let mut undefined = Undefineds::default();
        CeilingPairJson {
            scorers: of.scorers.clone(),
            scheme: of.scheme.code().to_owned(),
            nights: of.nights,
            accuracy: undefined.keep("accuracy", of.accuracy),
            kappa: undefined.keep("kappa", of.kappa),
            undefined: undefined.0,
        }
    }
}
