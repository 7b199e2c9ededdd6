//! The intervals of scorers against each other as JSON.

use super::{IntervalJson, OverPeopleJson};
use crate::{PairOverPeople, PairWithinNight, ScorerIntervals};
use schemars::JsonSchema;
use serde::Serialize;

/// The intervals of every pair of scorers, in the order of `scorers`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScorerIntervalsJson {
    /// Night by night, pair by pair; null where the two share no class or no epoch.
    pub nights: Vec<Vec<Option<PairWithinNightJson>>>,
    /// Each pair over all nights that both scored.
    pub pairs: Vec<PairOverPeopleJson>,
}

/// Two scorers on one night, approximate.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PairWithinNightJson {
    /// Of the share of epochs that agree.
    pub accuracy: IntervalJson,
    /// Of Cohen's kappa.
    pub kappa: IntervalJson,
}

/// Two scorers over all nights that both scored.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PairOverPeopleJson {
    /// Share of epochs that agree.
    pub accuracy: OverPeopleJson,
    /// Cohen's kappa.
    pub kappa: OverPeopleJson,
}

impl From<&ScorerIntervals> for ScorerIntervalsJson {
    fn from(of: &ScorerIntervals) -> ScorerIntervalsJson {
        let within = |p: &PairWithinNight| PairWithinNightJson {
            accuracy: IntervalJson::from(&p.accuracy),
            kappa: IntervalJson::from(&p.kappa),
        };
        let over = |p: &PairOverPeople| PairOverPeopleJson {
            accuracy: OverPeopleJson::from(&p.accuracy),
            kappa: OverPeopleJson::from(&p.kappa),
        };
        ScorerIntervalsJson {
            nights: of.nights.iter().map(|n| n.iter().map(|p| p.as_ref().map(within)).collect()).collect(),
            pairs: of.pairs.iter().map(over).collect(),
        }
    }
}
