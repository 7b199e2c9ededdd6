//! One device on one night as JSON.

use super::decided::stretches;
use super::{AgreementJson, ClockJson, MeasuresJson, Undefineds};
use crate::{DeviceNight, Ruled};
use counterpane_model::{Cell, Claim, Note};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// One device, or one further scorer, on one night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DeviceNightJson {
    /// Key of the recording.
    pub key: String,
    /// Name of the device, or code of the scorer.
    pub name: String,
    /// The unit, or `scorer` and the code.
    pub source: String,
    /// Name of the original.
    pub file: String,
    /// What it says, one letter for each epoch of the window, as in `reference` of the night; empty for
    /// a recording without stages over time.
    pub epochs: String,
    /// Agreement in the scheme of the comparison, or the finest that both sides express.
    pub agreement: Option<AgreementJson>,
    /// Agreement in sleep and wake.
    pub sleep_wake: Option<AgreementJson>,
    /// Why there is no `agreement`, when there is none.
    pub not_compared: Option<String>,
    /// Epochs of the window to which the reference gives a stage.
    pub reference_scored: u64,
    /// Of those, the share to which the device gives a stage too.
    pub coverage: Option<f64>,
    /// Correct epochs as a share of `reference_scored`: missing counts as wrong.
    pub accuracy_missing_wrong: Option<f64>,
    /// Measures of the device over the window.
    pub measures: Option<MeasuresJson>,
    /// Measures of the device with every epoch that not both sides scored unscored.
    pub measures_masked: Option<MeasuresJson>,
    /// Measures of the reference with every epoch that not both sides scored unscored.
    pub reference_masked: Option<MeasuresJson>,
    /// Wake epochs of the reference that the device calls sleep, minutes; null without `sleep_wake`.
    pub missed_wake: Option<f64>,
    /// Sleep epochs of the reference that the device calls wake, minutes; null without `sleep_wake`.
    pub false_wake: Option<f64>,
    /// What the source claims of itself.
    pub claims: Vec<ClaimJson>,
    /// Notes of the recording.
    pub notes: Vec<NoteJson>,
    /// Stretches that are left out of every figure of this device on purpose: start and end.
    pub excluded: Vec<[String; 2]>,
    /// The correction of its clock, where one was set.
    pub clock: Option<ClockJson>,
    /// Where a rule of the protocol marks the night or leaves it out; null where none does.
    pub ruled: Option<RuledJson>,
    /// With a correction: the same device on its own clock.
    pub as_exported: Option<Box<DeviceNightJson>>,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

/// What a source claims of itself.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClaimJson {
    /// What it is about, such as `total-sleep` or `minutes N3`.
    pub quantity: String,
    /// The value.
    pub value: f64,
    /// `min`, `%`, `count`, or `ms` for milliseconds since 1970 UTC.
    pub unit: String,
    /// The step to which the source rounds the value; 0 when it does not round.
    pub rounding: f64,
    /// Where the source says so.
    pub locator: String,
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NoteJson {
    /// When it happened, or began.
    pub at: String,
    /// When it ended, if that is known.
    pub until: Option<String>,
    /// How finely the time is known, milliseconds either way.
    pub precision_ms: i64,
    /// What kind of thing it was, such as `out-of-bed`.
    pub kind: String,
    /// The source's own words.
    pub text: String,
}

impl From<&DeviceNight> for DeviceNightJson {
    fn from(device: &DeviceNight) -> DeviceNightJson {
        let mut undefined = Undefineds::default();
        DeviceNightJson {
            key: device.key.clone(),
            name: device.source.name().to_owned(),
            source: device.source.to_string(),
            file: device.file.clone(),
            epochs: letters(&device.cells),
            agreement: device.agreement.as_ref().map(AgreementJson::from),
            sleep_wake: device.sleep_wake.as_ref().map(AgreementJson::from),
            not_compared: device.not_compared.clone(),
            reference_scored: device.reference_scored,
            coverage: undefined.keep("coverage", device.coverage),
            accuracy_missing_wrong: undefined.keep("accuracy_missing_wrong", device.accuracy_missing_wrong),
            measures: device.measures.as_ref().map(MeasuresJson::from),
            measures_masked: device.measures_masked.as_ref().map(MeasuresJson::from),
            reference_masked: device.reference_masked.as_ref().map(MeasuresJson::from),
            missed_wake: device.missed_wake,
            false_wake: device.false_wake,
            claims: device.claims.iter().map(ClaimJson::from).collect(),
            notes: device.notes.iter().map(NoteJson::from).collect(),
            excluded: stretches(&device.excluded),
            clock: device.clock.as_ref().map(|c| ClockJson::from(&c.setting)),
            ruled: device.ruled.map(RuledJson::from),
            as_exported: device.clock.as_ref().map(|c| Box::new(DeviceNightJson::from(&*c.as_exported))),
            undefined: undefined.0,
        }
    }
}

/// A rule of the protocol that applies to a device's night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RuledJson {
    /// Share of the window without a pair of stages, of what nobody left out on purpose.
    pub share: f64,
    /// The share above which the rule holds, per cent.
    pub limit: f64,
    /// Whether it is left out of every figure over nights, and not only marked.
    pub excluded: bool,
}

impl From<Ruled> for RuledJson {
    fn from(ruled: Ruled) -> RuledJson {
        RuledJson { share: ruled.share, limit: ruled.limit, excluded: ruled.excluded }
    }
}

impl From<&Claim> for ClaimJson {
    fn from(claim: &Claim) -> ClaimJson {
        ClaimJson {
            quantity: claim.quantity.code(),
            value: claim.value,
            unit: claim.quantity.unit().to_owned(),
            rounding: claim.rounding,
            locator: claim.locator.to_string(),
        }
    }
}

impl From<&Note> for NoteJson {
    fn from(note: &Note) -> NoteJson {
        NoteJson {
            at: note.at.utc_text(),
            until: note.until.map(|t| t.utc_text()),
            precision_ms: note.precision_ms,
            kind: note.kind.code().to_owned(),
            text: note.text.clone(),
        }
    }
}

/// Returns one letter for each epoch.
pub(super) fn letters(cells: &[Cell]) -> String {
    cells.iter().map(|cell| cell.letter()).collect()
}
