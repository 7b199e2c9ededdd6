//! The measures of a whole night as JSON; `docs/measures.md` defines them.

use super::Undefineds;
use crate::Measures;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// The measures of a whole night: minutes, per cent and counts, as `docs/measures.md` defines them.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MeasuresJson {
    /// Length of the window, minutes.
    pub recording_time: f64,
    /// Total sleep time, minutes.
    pub total_sleep: f64,
    /// Wake in the window, minutes.
    pub wake: f64,
    /// Minutes of the window without a stage.
    pub unscored: f64,
    /// The stages that occur.
    pub stage_minutes: Vec<StageJson>,
    /// Start of the window to the first sleep, minutes.
    pub sleep_latency: Option<f64>,
    /// Earliest and latest latency that the epochs without a stage allow, minutes; null without sleep.
    pub sleep_latency_bounds: Option<[f64; 2]>,
    /// Wake from the first sleep to the end of the window, minutes.
    pub wake_after_onset: Option<f64>,
    /// Wake from the first to the last sleep, minutes.
    pub wake_within_sleep: Option<f64>,
    /// Wake after the last sleep, minutes.
    pub terminal_wake: Option<f64>,
    /// First to last sleep, minutes.
    pub sleep_period: Option<f64>,
    /// Total sleep as per cent of the window.
    pub efficiency: Option<f64>,
    /// Total sleep as per cent of the scored part of the window.
    pub efficiency_scored: Option<f64>,
    /// Total sleep as per cent of first sleep to the end of the window.
    pub maintenance_to_end: Option<f64>,
    /// Total sleep as per cent of the sleep period.
    pub maintenance_in_period: Option<f64>,
    /// First sleep to first REM sleep, minutes.
    pub rem_latency: Option<f64>,
    /// Runs of wake between sleep.
    pub awakenings: Option<f64>,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

/// Time in one stage.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StageJson {
    /// The stage.
    pub stage: String,
    /// Minutes in it.
    pub minutes: f64,
    /// Per cent of the total sleep; null for wake.
    pub percent_of_sleep: Option<f64>,
}

impl From<&Measures> for MeasuresJson {
    fn from(m: &Measures) -> MeasuresJson {
        let mut undefined = Undefineds::default();
        let stage = |(stage, minutes): &(counterpane_model::Stage, f64)| StageJson {
            stage: stage.code().to_owned(),
            minutes: *minutes,
            percent_of_sleep: stage.is_sleep().then(|| m.stage_percent(*stage).ok()).flatten(),
        };
        MeasuresJson {
            recording_time: m.recording_time,
            total_sleep: m.total_sleep,
            wake: m.wake,
            unscored: m.unscored,
            stage_minutes: m.stage_minutes.iter().map(stage).collect(),
            sleep_latency: undefined.keep("sleep_latency", m.sleep_latency),
            sleep_latency_bounds: m.sleep_latency_bounds.map(|(earliest, latest)| [earliest, latest]),
            wake_after_onset: undefined.keep("wake_after_onset", m.wake_after_onset),
            wake_within_sleep: undefined.keep("wake_within_sleep", m.wake_within_sleep),
            terminal_wake: undefined.keep("terminal_wake", m.terminal_wake),
            sleep_period: undefined.keep("sleep_period", m.sleep_period),
            efficiency: undefined.keep("efficiency", m.efficiency),
            efficiency_scored: undefined.keep("efficiency_scored", m.efficiency_scored),
            maintenance_to_end: undefined.keep("maintenance_to_end", m.maintenance_to_end),
            maintenance_in_period: undefined.keep("maintenance_in_period", m.maintenance_in_period),
            rem_latency: undefined.keep("rem_latency", m.rem_latency),
            awakenings: undefined.keep("awakenings", m.awakenings),
            undefined: undefined.0,
        }
    }
}
