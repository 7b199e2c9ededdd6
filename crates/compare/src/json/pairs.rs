//! Device against device as JSON.

use super::OverPeopleJson;
use crate::{DevicePair, DevicePairs, PairDifference, Ranked, Ranks};
use schemars::JsonSchema;
use serde::Serialize;

/// Device against device: on the same nights, in the epochs that both and the reference scored.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DevicePairsJson {
    /// The measure on which devices are told apart, as `study.toml` names it.
    pub measure: String,
    /// Whether the protocol names it; kappa otherwise.
    pub named: bool,
    /// Number of people with any device; with one of them there is no pair.
    pub people: usize,
    /// How many pairs are adjusted for each other.
    pub family: usize,
    /// The smallest adjusted p that the pair with most people could have had; from 0.05 on nothing can be told apart.
    pub smallest_p: f64,
    /// Each pair of devices that two people wore on the same nights.
    pub pairs: Vec<DevicePairJson>,
    /// Ranks that are left open, for each set of devices that tell the same stages apart.
    pub ranks: Vec<RanksJson>,
}

/// Two devices.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DevicePairJson {
    /// Names of the two.
    pub devices: [String; 2],
    /// The classes that both can express.
    pub scheme: String,
    /// Epochs that both and the reference scored.
    pub epochs: u64,
    /// Which of the two is better beyond chance; null where they are not told apart.
    pub better: Option<String>,
    /// The measure on which they are told apart first, then the exploratory ones.
    pub differences: Vec<PairDifferenceJson>,
}

/// How far two devices lie apart on one measure.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PairDifferenceJson {
    /// The measure; of minutes too many or too few only their size is taken.
    pub measure: String,
    /// Mean over people of each device, on the shared epochs.
    pub means: [Option<f64>; 2],
    /// First minus second, person by person.
    pub difference: OverPeopleJson,
    /// p of the sign-flip test of the people's differences.
    pub p: Option<f64>,
    /// The same by Holm; null for what is exploratory.
    pub adjusted_p: Option<f64>,
}

/// Devices that tell the same stages apart, with the ranks that each may have.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RanksJson {
    /// The classes.
    pub scheme: String,
    /// People who wore all of them on the same nights: those who are drawn anew for the shares.
    pub people: usize,
    /// Each device.
    pub devices: Vec<RankedJson>,
}

/// One device among others.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RankedJson {
    /// Name of the device.
    pub device: String,
    /// Best and worst rank that the adjusted tests leave open.
    pub rank_interval: [usize; 2],
    /// Share of resampled studies in which it has each rank, from the first. Not the probability of being the best.
    pub shares: Vec<f64>,
}

impl From<&DevicePairs> for DevicePairsJson {
    fn from(of: &DevicePairs) -> DevicePairsJson {
        DevicePairsJson {
            measure: of.measure.to_string(),
            named: of.named,
            people: of.people,
            family: of.family(),
            smallest_p: of.smallest_p(),
            pairs: of.pairs.iter().map(pair).collect(),
            ranks: of.ranks.iter().map(ranks).collect(),
        }
    }
}

fn pair(of: &DevicePair) -> DevicePairJson {
    DevicePairJson {
        devices: of.devices.clone(),
        scheme: of.scheme.code().to_owned(),
        epochs: of.epochs,
        better: of.better().map(|at| of.devices[at].clone()),
        differences: std::iter::once(&of.main).chain(&of.others).map(difference).collect(),
    }
}

fn difference(of: &PairDifference) -> PairDifferenceJson {
    PairDifferenceJson {
        measure: of.measure.to_string(),
        means: of.means.map(Result::ok),
        difference: OverPeopleJson::from(&of.difference),
        p: of.p.ok(),
        adjusted_p: of.adjusted,
    }
}

fn ranks(of: &Ranks) -> RanksJson {
    let device = |d: &Ranked| RankedJson {
        device: d.device.clone(),
        rank_interval: [d.interval.0, d.interval.1],
        shares: d.shares.clone(),
    };
    RanksJson {
        scheme: of.scheme.code().to_owned(),
        people: of.people,
        devices: of.devices.iter().map(device).collect(),
    }
}
