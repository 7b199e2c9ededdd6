//! What the numbers leave open, as JSON.

use super::{
    BaselinesJson, ClocksJson, DeviationsJson, DevicePairsJson, DevicePeopleJson, MeansReadJson, ReadingJson,
    ScorerIntervalsJson, WakeEventsJson, WithinNightJson,
};
use crate::Inference;
use schemars::JsonSchema;
use serde::Serialize;

/// What can be said beyond the numbers themselves.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct InferenceJson {
    /// Seed of everything that was drawn anew.
    pub seed: u64,
    /// How often it was drawn anew.
    pub replicates: u32,
    /// Recordings whose times were read off a picture, and what that leaves open; apart from every other interval.
    pub readings: Vec<ReadingJson>,
    /// The same over all nights, device by device.
    pub means_read: Vec<MeansReadJson>,
    /// How well each night pins its own numbers down: an entry for each recording beside each reference.
    pub within_nights: Vec<WithinNightJson>,
    /// What a shift of a clock would change.
    pub clocks: ClocksJson,
    /// What the people of the study say of others like them, device by device.
    pub people: Vec<DevicePeopleJson>,
    /// How far whole-night measures lie from the reference's over nights, device by device.
    pub deviations: Vec<DeviationsJson>,
    /// Device against device.
    pub pairs: DevicePairsJson,
    /// Wakes as events: which of them each device found, and which of its own are true.
    pub wakes: WakeEventsJson,
    /// Scorer against scorer, in the order of `scorers`.
    pub scorers: ScorerIntervalsJson,
    /// What comes for free in the same epochs, and what people reach.
    pub baselines: BaselinesJson,
}

impl From<&Inference> for InferenceJson {
    fn from(inference: &Inference) -> InferenceJson {
        let within = inference.within_nights.all();
        InferenceJson {
            seed: inference.asked.seed,
            replicates: inference.asked.replicates,
            readings: inference.readings.iter().map(ReadingJson::from).collect(),
            means_read: inference.means_read.iter().map(MeansReadJson::from).collect(),
            within_nights: within.map(|(reference, key, of)| WithinNightJson::new(reference, key, of)).collect(),
            clocks: ClocksJson::from(&inference.clocks),
            people: inference.people.iter().map(DevicePeopleJson::from).collect(),
            deviations: inference.deviations.iter().map(DeviationsJson::from).collect(),
            pairs: DevicePairsJson::from(&inference.pairs),
            wakes: WakeEventsJson::from(&inference.wakes),
            scorers: ScorerIntervalsJson::from(&inference.scorers),
            baselines: BaselinesJson::from(&inference.baselines),
        }
    }
}
