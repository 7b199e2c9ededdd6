//! The statistics of one confusion matrix as JSON.

use super::Undefineds;
use crate::Agreement;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// The statistics of one confusion matrix.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AgreementJson {
    /// `sleep-wake`, `three`, `four` or `five`.
    pub scheme: String,
    /// The classes in the order of the matrix.
    pub classes: Vec<String>,
    /// Number of pairs: epochs that both sides scored.
    pub n: u64,
    /// Counts of epochs: `matrix[i][j]` has reference class `i` and device class `j`.
    pub matrix: Vec<Vec<u64>>,
    /// Share of pairs that agree.
    pub accuracy: Option<f64>,
    /// Cohen's kappa.
    pub kappa: Option<f64>,
    /// Mean of the sensitivities of the classes that the reference has.
    pub balanced_accuracy: Option<f64>,
    /// How many classes that mean is taken over.
    pub balanced_accuracy_classes: usize,
    /// The least sensitivity among the classes with at least 20 epochs of the reference; null when none has.
    pub worst_sensitivity: Option<WorstJson>,
    /// One entry for each class, in the order of `classes`.
    pub per_class: Vec<ClassJson>,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

/// The class that a device recognises worst.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WorstJson {
    /// The class.
    pub class: String,
    /// Its sensitivity.
    pub sensitivity: f64,
    /// Epochs of the reference in it.
    pub n: u64,
}

/// What is said of one class.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClassJson {
    /// The class.
    pub class: String,
    /// Epochs of the reference in it.
    pub reference_n: u64,
    /// Epochs of the device in it.
    pub device_n: u64,
    /// Of the reference's epochs of the class, the share that the device calls so.
    pub sensitivity: Option<f64>,
    /// Of the device's epochs of the class, the share that the reference calls so.
    pub ppv: Option<f64>,
}

impl From<&Agreement> for AgreementJson {
    fn from(agreement: &Agreement) -> AgreementJson {
        let mut undefined = Undefineds::default();
        AgreementJson {
            scheme: agreement.scheme.code().to_owned(),
            classes: agreement.scheme.classes().iter().map(|c| c.code().to_owned()).collect(),
            n: agreement.n,
            matrix: agreement.matrix.clone(),
            accuracy: undefined.keep("accuracy", agreement.accuracy),
            kappa: undefined.keep("kappa", agreement.kappa),
            balanced_accuracy: undefined.keep("balanced_accuracy", agreement.mean_sensitivity),
            balanced_accuracy_classes: agreement.mean_sensitivity_classes,
            worst_sensitivity: agreement.worst_sensitivity.map(|w| WorstJson {
                class: w.class.code().to_owned(),
                sensitivity: w.sensitivity,
                n: w.n,
            }),
            per_class: agreement
                .per_class
                .iter()
                .map(|of| ClassJson {
                    class: of.class.code().to_owned(),
                    reference_n: of.reference_n,
                    device_n: of.device_n,
                    sensitivity: undefined.keep(&format!("per_class.{}.sensitivity", of.class), of.sensitivity),
                    ppv: undefined.keep(&format!("per_class.{}.ppv", of.class), of.ppv),
                })
                .collect(),
            undefined: undefined.0,
        }
    }
}
