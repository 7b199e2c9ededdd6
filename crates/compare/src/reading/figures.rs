//! The numbers of a device on a night that move with its times.

use crate::{Agreement, DeviceNight, Measures};
use counterpane_model::Stage;
use counterpane_stats::{Figure, Undefined};

/// A number of a device on a night. Shares lie from 0 to 1; differences are device minus reference, in minutes, over the epochs
/// that both scored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Read {
    /// Share of pairs that agree.
    Accuracy,
    /// Cohen's kappa.
    Kappa,
    /// Mean of the sensitivities of the classes that the reference has.
    MeanSensitivity,
    /// The least sensitivity, of whichever stage.
    WorstSensitivity,
    /// Of the reference's epochs of a stage, the share that the device calls so.
    Sensitivity(Stage),
    /// Of the device's epochs of a stage, the share that the reference calls so.
    Ppv(Stage),
    /// Of the reference's sleep, the share that the device calls sleep.
    SleepSensitivity,
    /// Of the reference's wake, the share that the device calls wake.
    WakeDetection,
    /// Share of the scored epochs to which the device gives a stage.
    Coverage,
    /// Share of all scored epochs that agree; missing counts as wrong.
    AccuracyMissingWrong,
    /// Total sleep.
    TotalSleepDifference,
    /// Wake.
    WakeDifference,
    /// Sleep latency.
    LatencyDifference,
    /// Wake after the first sleep.
    WakeAfterOnsetDifference,
    /// Minutes of a stage.
    StageDifference(Stage),
}

impl Read {
    /// Returns its name in JSON, such as `sensitivity.N3`.
    #[must_use]
    pub fn code(self) -> String {
        match self {
            Read::Accuracy => "accuracy".into(),
            Read::Kappa => "kappa".into(),
            Read::MeanSensitivity => "balanced_accuracy".into(),
            Read::WorstSensitivity => "worst_sensitivity".into(),
            Read::Sensitivity(stage) => format!("sensitivity.{stage}"),
            Read::Ppv(stage) => format!("ppv.{stage}"),
            Read::SleepSensitivity => "sleep_wake.sensitivity.Asleep".into(),
            Read::WakeDetection => "sleep_wake.sensitivity.W".into(),
            Read::Coverage => "coverage".into(),
            Read::AccuracyMissingWrong => "accuracy_missing_wrong".into(),
            Read::TotalSleepDifference => "difference.total_sleep".into(),
            Read::WakeDifference => "difference.wake".into(),
            Read::LatencyDifference => "difference.sleep_latency".into(),
            Read::WakeAfterOnsetDifference => "difference.wake_after_onset".into(),
            Read::StageDifference(stage) => format!("difference.stage_minutes.{stage}"),
        }
    }
}

/// Returns every number that moves.
pub(super) fn figures(device: &DeviceNight) -> Vec<(Read, Figure)> {
    let mut out = Vec::new();
    if let Some(a) = &device.agreement {
        out.push((Read::Accuracy, a.accuracy));
        out.push((Read::Kappa, a.kappa));
        out.push((Read::MeanSensitivity, a.mean_sensitivity));
        out.push((Read::WorstSensitivity, a.worst_sensitivity.map(|w| w.sensitivity).ok_or(Undefined::NTooSmall)));
        out.extend(a.per_class.iter().map(|c| (Read::Sensitivity(c.class), c.sensitivity)));
        out.extend(a.per_class.iter().map(|c| (Read::Ppv(c.class), c.ppv)));
    }
    if let Some(sleep_wake) = &device.sleep_wake {
        let sensitivity = |a: &Agreement, wake: bool| {
            let of = a.per_class.iter().find(|c| (c.class == Stage::W) == wake);
            of.map_or(Err(Undefined::NoPairs), |c| c.sensitivity)
        };
        out.push((Read::SleepSensitivity, sensitivity(sleep_wake, false)));
        out.push((Read::WakeDetection, sensitivity(sleep_wake, true)));
    }
    out.push((Read::Coverage, device.coverage));
    out.push((Read::AccuracyMissingWrong, device.accuracy_missing_wrong));
    if let (Some(own), Some(reference)) = (&device.measures_masked, &device.reference_masked) {
        out.extend(differences(own, reference));
    }
    out
}

fn differences(own: &Measures, reference: &Measures) -> Vec<(Read, Figure)> {
    let less = |a: Figure, b: Figure| a.and_then(|a| b.map(|b| a - b));
    let mut out = vec![
        (Read::TotalSleepDifference, Ok(own.total_sleep - reference.total_sleep)),
        (Read::WakeDifference, Ok(own.wake - reference.wake)),
        (Read::LatencyDifference, less(own.sleep_latency, reference.sleep_latency)),
        (Read::WakeAfterOnsetDifference, less(own.wake_after_onset, reference.wake_after_onset)),
    ];
    let minutes = |m: &Measures, stage: Stage| m.stage_minutes.iter().find(|(s, _)| *s == stage).map(|(_, v)| *v);
    for stage in [Stage::N3, Stage::R] {
        // Only what both sides can say apart.
        if let (Some(own), Some(reference)) = (minutes(own, stage), minutes(reference, stage)) {
            out.push((Read::StageDifference(stage), Ok(own - reference)));
        }
    }
    out
}
