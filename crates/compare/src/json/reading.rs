//! What the precision of a reading leaves open, as JSON.

use crate::{MeansRead, Reading, Spread};
use schemars::JsonSchema;
use serde::Serialize;

/// A recording whose times were read off a picture.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ReadingJson {
    /// Key of the recording.
    pub key: String,
    /// Key of the reference's recording.
    pub reference_key: String,
    /// How finely it was read, minutes either way.
    pub precision_min: f64,
    /// The same of the reference; 0 where it was not read off a picture.
    pub reference_precision_min: f64,
    /// How often its changes were moved within that.
    pub redraws: u32,
    /// Each number of the night with its spread.
    pub spreads: Vec<SpreadJson>,
}

/// A number, and where it lies when the changes are moved within the precision.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SpreadJson {
    /// Which number, such as `accuracy`, `sensitivity.N3` or `difference.total_sleep` (device minus reference, minutes).
    pub of: String,
    /// As it was read.
    pub value: f64,
    /// 95 % of the redraws lie above this, less half of the rest.
    pub low: f64,
    /// 95 % of the redraws lie below this, less half of the rest.
    pub high: f64,
    /// Redraws in which it is undefined.
    pub undefined: u32,
}

/// A device over its nights, some of which were read off a picture.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MeansReadJson {
    /// Name of the device.
    pub name: String,
    /// Nights that were read off a picture.
    pub nights_read: usize,
    /// Nights that enter the mean.
    pub nights: usize,
    /// Spread of `mean_accuracy`.
    pub accuracy: Option<SpreadJson>,
    /// Spread of `mean_kappa`.
    pub kappa: Option<SpreadJson>,
}

impl From<&Reading> for ReadingJson {
    fn from(reading: &Reading) -> ReadingJson {
        #[expect(clippy::cast_precision_loss, reason = "a precision is at most an hour")]
        let minutes = |ms: i64| ms as f64 / 60_000.0;
        ReadingJson {
            key: reading.key.clone(),
            reference_key: reading.reference_key.clone(),
            precision_min: minutes(reading.precision_ms),
            reference_precision_min: minutes(reading.reference_precision_ms),
            redraws: reading.redraws,
            spreads: reading.spreads.iter().map(SpreadJson::from).collect(),
        }
    }
}

impl From<&Spread> for SpreadJson {
    fn from(spread: &Spread) -> SpreadJson {
        SpreadJson {
            of: spread.of.code(),
            value: spread.value,
            low: spread.within.0,
            high: spread.within.1,
            undefined: spread.undefined,
        }
    }
}

impl From<&MeansRead> for MeansReadJson {
    fn from(means: &MeansRead) -> MeansReadJson {
        MeansReadJson {
            name: means.name.clone(),
            nights_read: means.nights,
            nights: means.of,
            accuracy: means.accuracy.as_ref().map(SpreadJson::from),
            kappa: means.kappa.as_ref().map(SpreadJson::from),
        }
    }
}
