//! What the reviewer decided about a night as JSON.

use super::NoteJson;
use crate::LeftOut;
use counterpane_model::{ClockSetting, Exclusion, Instant, NightNote};
use schemars::JsonSchema;
use serde::Serialize;

/// A decision that leaves something out.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ExclusionJson {
    /// Unit or scorer; null for everything of the night.
    pub source: Option<String>,
    /// Start of the stretch; null for the whole night.
    pub from: Option<String>,
    /// End of the stretch; null for the whole night.
    pub until: Option<String>,
    /// Number of the decision.
    pub decision: u64,
    /// `before` or `after` looking at results.
    pub looked: String,
    /// Why.
    pub reason: String,
    /// Who decided.
    pub by: String,
    /// When.
    pub at: String,
}

/// A recording that is left out on purpose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeftOutJson {
    /// Key of the recording.
    pub key: String,
    /// The decision.
    pub exclusion: ExclusionJson,
}

/// Something that happened, as the reviewer noted it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RemarkJson {
    /// Unit or scorer that it concerns; null for the participant.
    pub source: Option<String>,
    /// What happened.
    #[serde(flatten)]
    pub note: NoteJson,
}

/// A correction of a clock.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClockJson {
    /// Number of the decision.
    pub decision: u64,
    /// What is added to the times of the source, in order of time; a straight line runs between two.
    pub points: Vec<ClockPointJson>,
    /// Why.
    pub reason: String,
    /// Who decided.
    pub by: String,
    /// When.
    pub at: String,
}

/// What is added to the times of a source at one time of its clock.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClockPointJson {
    /// The time as the source gives it.
    pub at: String,
    /// Milliseconds that are added to it.
    pub shift_ms: i64,
}

impl From<&Exclusion> for ExclusionJson {
    fn from(exclusion: &Exclusion) -> ExclusionJson {
        ExclusionJson {
            source: exclusion.source.clone(),
            from: exclusion.stretch.map(|s| s.0.utc_text()),
            until: exclusion.stretch.map(|s| s.1.utc_text()),
            decision: exclusion.decision,
            looked: exclusion.looked.code().to_owned(),
            reason: exclusion.reason.clone(),
            by: exclusion.by.clone(),
            at: exclusion.at.clone(),
        }
    }
}

impl From<&LeftOut> for LeftOutJson {
    fn from(left_out: &LeftOut) -> LeftOutJson {
        LeftOutJson { key: left_out.key.clone(), exclusion: ExclusionJson::from(&left_out.exclusion) }
    }
}

impl From<&NightNote> for RemarkJson {
    fn from(remark: &NightNote) -> RemarkJson {
        RemarkJson { source: remark.source.clone(), note: NoteJson::from(&remark.note) }
    }
}

impl From<&ClockSetting> for ClockJson {
    fn from(setting: &ClockSetting) -> ClockJson {
        let point = |p: &counterpane_model::ClockPoint| ClockPointJson { at: p.at.utc_text(), shift_ms: p.shift_ms };
        ClockJson {
            decision: setting.decision,
            points: setting.points.iter().map(point).collect(),
            reason: setting.reason.clone(),
            by: setting.by.clone(),
            at: setting.decided_at.clone(),
        }
    }
}

/// Returns start and end of each stretch.
pub(super) fn stretches(of: &[(Instant, Instant)]) -> Vec<[String; 2]> {
    of.iter().map(|(from, until)| [from.utc_text(), until.utc_text()]).collect()
}
