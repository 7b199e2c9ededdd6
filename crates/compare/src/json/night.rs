//! One night against one reference as JSON.

use super::decided::stretches;
use super::device::letters;
use super::{
    ChosenJson, ClockJson, ConsensusJson, DeviceNightJson, ExclusionJson, LeftOutJson, MeasuresJson, NoteJson,
    RemarkJson,
};
use crate::NightComparison;
use schemars::JsonSchema;
use serde::Serialize;

/// One night against one reference.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NightJson {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// `night`, `day` or `nap`.
    pub kind: String,
    /// IANA zone of the night.
    pub zone: String,
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Code of the scorer; `majority` where the reference is the majority of several.
    pub scorer: String,
    /// `human` or `algorithm`.
    pub scored_by: String,
    /// Name of the reference's original, or the names of those of the scorers whose majority it is.
    pub reference_file: String,
    /// How the reference was chosen, where the night has several; null where it has one.
    pub chosen: Option<ChosenJson>,
    /// How the reference came about, where it is the majority of several scorers.
    pub consensus: Option<ConsensusJson>,
    /// Lights off, where known.
    pub lights_off: Option<String>,
    /// Lights on, where known.
    pub lights_on: Option<String>,
    /// The window that was used: `lights`, `scored` or `span`.
    pub window: String,
    /// Start of the first epoch of the window; an epoch lasts 30 s.
    pub start: String,
    /// What the reference says, one letter for each epoch of the window: `W` wake, `1` `2` `3` the stages N1 to N3,
    /// `R` REM sleep, `L` light sleep, `N` non-REM sleep, `A` asleep, `?` unscored, `o` off, `.` missing.
    pub reference: String,
    /// Measures of the reference over the window.
    pub measures: MeasuresJson,
    /// Notes of the reference.
    pub notes: Vec<NoteJson>,
    /// Stretches that are left out of every figure of the night on purpose: start and end.
    pub excluded: Vec<[String; 2]>,
    /// Every decision of the night that leaves out a stretch.
    pub exclusions: Vec<ExclusionJson>,
    /// Recordings that are left out on purpose.
    pub left_out: Vec<LeftOutJson>,
    /// What the reviewer noted.
    pub remarks: Vec<RemarkJson>,
    /// The correction of the reference's clock, where one was set.
    pub reference_clock: Option<ClockJson>,
    /// Every device of the night, by name.
    pub devices: Vec<DeviceNightJson>,
}

impl From<&NightComparison> for NightJson {
    fn from(night: &NightComparison) -> NightJson {
        NightJson {
            participant: night.participant.clone(),
            night: night.night.clone(),
            kind: night.kind.code().to_owned(),
            zone: night.zone.clone(),
            reference_key: night.reference_key.clone(),
            scorer: night.scorer.clone(),
            scored_by: night.scored_by.code().to_owned(),
            reference_file: night.reference_file.clone(),
            chosen: night.chosen.as_ref().map(ChosenJson::from),
            consensus: night.consensus.as_ref().map(ConsensusJson::from),
            lights_off: night.lights.0.map(|t| t.utc_text()),
            lights_on: night.lights.1.map(|t| t.utc_text()),
            window: night.window_name.to_owned(),
            start: night.start.utc_text(),
            reference: letters(&night.reference),
            measures: MeasuresJson::from(&night.measures),
            notes: night.notes.iter().map(NoteJson::from).collect(),
            excluded: stretches(&night.excluded),
            exclusions: night.exclusions.iter().map(ExclusionJson::from).collect(),
            left_out: night.left_out.iter().map(LeftOutJson::from).collect(),
            remarks: night.remarks.iter().map(RemarkJson::from).collect(),
            reference_clock: night.reference_clock.as_ref().map(ClockJson::from),
            devices: night.devices.iter().map(DeviceNightJson::from).collect(),
        }
    }
}
