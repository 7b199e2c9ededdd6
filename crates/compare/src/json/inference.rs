//! What the numbers leave open, as JSON.

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
}

impl From<&Inference> for InferenceJson {
    fn from(inference: &Inference) -> InferenceJson {
        InferenceJson { seed: inference.asked.seed, replicates: inference.asked.replicates }
    }
}
