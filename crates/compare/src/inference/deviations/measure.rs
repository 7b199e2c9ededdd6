//! The measures of a whole night whose differences are looked at, and the two values of a night.

use crate::stage_minutes::{can_say, minutes_in};
use crate::{DeviceNight, Measures};
use counterpane_model::Stage;
use counterpane_stats::Undefined;

/// A measure of a whole night, as `docs/measures.md` defines it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NightMeasure {
    /// Total sleep, minutes.
    TotalSleep,
    /// Start of the window to the first sleep, minutes.
    SleepLatency,
    /// Wake from the first sleep to the end of the window, minutes.
    WakeAfterOnset,
    /// Total sleep as per cent of what was scored.
    Efficiency,
    /// First sleep to the first REM sleep, minutes.
    RemLatency,
    /// Minutes in a class.
    Minutes(Stage),
    /// Runs of wake between sleep.
    Awakenings,
}

/// Why a night has no difference in a measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Skip {
    /// The device has no word for it, or the reference was not scored so finely.
    NotTold,
    /// The measure is undefined on one side.
    Undefined,
    /// An epoch before the first sleep is not scored by both: sleep may have begun in it.
    OnsetUnsure,
}

impl NightMeasure {
    /// Every measure, in the order in which they are shown.
    pub const ALL: [NightMeasure; 12] = [
        NightMeasure::TotalSleep,
        NightMeasure::SleepLatency,
        NightMeasure::WakeAfterOnset,
        NightMeasure::Efficiency,
        NightMeasure::RemLatency,
        NightMeasure::Minutes(Stage::N1),
        NightMeasure::Minutes(Stage::N2),
        NightMeasure::Minutes(Stage::Light),
        NightMeasure::Minutes(Stage::N3),
        NightMeasure::Minutes(Stage::Nrem),
        NightMeasure::Minutes(Stage::R),
        NightMeasure::Awakenings,
    ];

    /// Returns the word that JSON uses: that of `measures`, or `minutes.N3`.
    #[must_use]
    pub fn code(self) -> String {
        match self {
            NightMeasure::TotalSleep => "total_sleep".to_owned(),
            NightMeasure::SleepLatency => "sleep_latency".to_owned(),
            NightMeasure::WakeAfterOnset => "wake_after_onset".to_owned(),
            NightMeasure::Efficiency => "efficiency_scored".to_owned(),
            NightMeasure::RemLatency => "rem_latency".to_owned(),
            NightMeasure::Minutes(class) => format!("minutes.{}", class.code()),
            NightMeasure::Awakenings => "awakenings".to_owned(),
        }
    }

    /// Returns the unit: `min`, `%` or `count`.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            NightMeasure::Efficiency => "%",
            NightMeasure::Awakenings => "count",
            _ => "min",
        }
    }

    /// Says whether a device with these stages can say the measure at all.
    pub(super) fn told_by(self, vocabulary: &[Stage]) -> bool {
        match self {
            NightMeasure::RemLatency => can_say(vocabulary, Stage::R),
            // Where light and deep stand apart, their sum says nothing new.
            NightMeasure::Minutes(Stage::Nrem) => {
                can_say(vocabulary, Stage::Nrem) && !can_say(vocabulary, Stage::Light)
            }
            NightMeasure::Minutes(class) => can_say(vocabulary, class),
            _ => true,
        }
    }

    /// Returns `[reference, device]` on a night, both from the epochs that both sides scored.
    pub(super) fn pair(self, device: &DeviceNight) -> Result<[f64; 2], Skip> {
        let (Some(reference), Some(own)) = (&device.reference_masked, &device.measures_masked) else {
            return Err(Skip::Undefined);
        };
        if !self.told_by(&device.vocabulary) {
            return Err(Skip::NotTold);
        }
        let begins_at_onset = matches!(self, NightMeasure::SleepLatency | NightMeasure::RemLatency);
        if begins_at_onset && [reference, own].into_iter().any(onset_unsure) {
            return Err(Skip::OnsetUnsure);
        }
        Ok([self.value(reference, None)?, self.value(own, Some(&device.vocabulary))?])
    }

    fn value(self, of: &Measures, vocabulary: Option<&[Stage]>) -> Result<f64, Skip> {
        let figure = match self {
            NightMeasure::Minutes(class) => return minutes_in(of, vocabulary, class).ok_or(Skip::NotTold),
            NightMeasure::TotalSleep => Ok(of.total_sleep),
            NightMeasure::SleepLatency => of.sleep_latency,
            NightMeasure::WakeAfterOnset => of.wake_after_onset,
            NightMeasure::Efficiency => of.efficiency_scored,
            NightMeasure::RemLatency => of.rem_latency,
            NightMeasure::Awakenings => of.awakenings,
        };
        figure.map_err(|_: Undefined| Skip::Undefined)
    }
}

/// Says whether sleep may have begun in an epoch that not both sides scored.
fn onset_unsure(of: &Measures) -> bool {
    of.sleep_latency_bounds.is_some_and(|(earliest, latest)| earliest < latest)
}
