//! The measures of a whole night whose differences are looked at, and the two values of a night.

use crate::inference::pairing::sides;
use crate::stage_minutes::{can_say, minutes_in};
use crate::{DeviceNight, Measures, NightComparison, measures};
use counterpane_model::{Cell, Stage};
use counterpane_stats::{Figure, Undefined};

/// A latency before whose end more epochs than these have no stage is not told: 5 min, a convention of this program.
const MOST_GAPS: usize = 10;

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
    /// A latency ends right after an epoch without a stage, or too many epochs before its end have none.
    LatencyUnsure,
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

    /// Returns `[reference, device]` on a night: both from the epochs that both sides scored, but a latency from all that its
    /// own side says, for a gap of the one does not move the onset of the other.
    pub(super) fn pair(self, night: &NightComparison, device: &DeviceNight) -> Result<[f64; 2], Skip> {
        let (Some(reference), Some(own)) = (&device.reference_masked, &device.measures_masked) else {
            return Err(Skip::Undefined);
        };
        if !self.told_by(&device.vocabulary) {
            return Err(Skip::NotTold);
        }
        if matches!(self, NightMeasure::SleepLatency | NightMeasure::RemLatency) {
            let (theirs, ours) = sides(night, device);
            return Ok([self.latency(&theirs)?, self.latency(&ours)?]);
        }
        Ok([self.value(reference, None)?, self.value(own, Some(&device.vocabulary))?])
    }

    /// Returns a latency of one side, where its gaps leave no doubt about it.
    fn latency(self, cells: &[Cell]) -> Result<f64, Skip> {
        let ends = match self {
            NightMeasure::RemLatency => |stage: Stage| stage == Stage::R,
            _ => Stage::is_sleep,
        };
        let end = cells.iter().position(|c| c.stage().is_some_and(ends)).ok_or(Skip::Undefined)?;
        let before = &cells[..end];
        let gaps = before.iter().filter(|c| c.stage().is_none()).count();
        if gaps > MOST_GAPS || before.last().is_some_and(|c| c.stage().is_none()) {
            return Err(Skip::LatencyUnsure);
        }
        self.value(&measures(cells), None)
    }

    fn value(self, of: &Measures, vocabulary: Option<&[Stage]>) -> Result<f64, Skip> {
        let figure: Figure = match self {
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
