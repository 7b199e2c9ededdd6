//! What a comparison gives: plain data, serialisable, the reference always in rows.

use crate::{Consensus, Explained, Ruled, Scorers};
use counterpane_model::{
    Cell, Claim, ClockSetting, Exclusion, Instant, NightKind, NightNote, Note, Scheme, ScoredBy, Source, Stage,
};

/// What a reader of a comparison must be able to name; the report may not import `stats` itself.
pub use counterpane_stats::{Figure, Undefined};

/// Which epochs count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Window {
    /// From lights off to lights on, where both are known; else as [`Window::Scored`].
    Lights,
    /// From the first to the last epoch that the reference scored.
    Scored,
    /// A stretch of time.
    Between(Instant, Instant),
}

/// What was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Protocol {
    /// The classes. `None`: for each device the finest scheme that both sides can express.
    pub scheme: Option<Scheme>,
    /// Which epochs count.
    pub window: Window,
}

/// The statistics of one confusion matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Agreement {
    /// The classes of the matrix, in this order.
    pub scheme: Scheme,
    /// Counts of epochs: `matrix[i][j]` has reference class `i` and device class `j`.
    pub matrix: Vec<Vec<u64>>,
    /// Number of pairs: epochs that both sides scored.
    pub n: u64,
    /// Share of pairs that agree, 0..=1.
    pub accuracy: Figure,
    /// Cohen's kappa, -1..=1.
    pub kappa: Figure,
    /// Mean of the sensitivities of the classes that the reference has, 0..=1.
    pub mean_sensitivity: Figure,
    /// How many classes that mean is taken over.
    pub mean_sensitivity_classes: usize,
    /// The least sensitivity among the classes with at least 20 epochs of the reference.
    pub worst_sensitivity: Option<Worst>,
    /// One entry for each class of the scheme, in its order.
    pub per_class: Vec<ClassFigures>,
}

/// The class that a device recognises worst.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// The class.
    pub class: Stage,
    /// Its sensitivity, 0..=1.
    pub sensitivity: f64,
    /// Epochs of the reference in the class.
    pub n: u64,
}

/// What is said of one class.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassFigures {
    /// The class.
    pub class: Stage,
    /// Epochs of the reference in it (row sum).
    pub reference_n: u64,
    /// Epochs of the device in it (column sum).
    pub device_n: u64,
    /// Of the reference's epochs of the class, the share that the device calls so.
    pub sensitivity: Figure,
    /// Of the device's epochs of the class, the share that the reference calls so.
    pub ppv: Figure,
}

/// Whole-night measures in minutes, per cent and counts, as `docs/measures.md` defines them.
#[derive(Clone, Debug, PartialEq)]
pub struct Measures {
    /// Length of the window, minutes (time in bed where the window is lights off to lights on).
    pub recording_time: f64,
    /// Total sleep time, minutes.
    pub total_sleep: f64,
    /// Wake in the window, minutes.
    pub wake: f64,
    /// Minutes of the window without a stage: unscored, off or missing.
    pub unscored: f64,
    /// Minutes in each stage that the source used, finest first in the order of `Stage::ALL`.
    pub stage_minutes: Vec<(Stage, f64)>,
    /// Start of the window to the first sleep epoch, minutes.
    pub sleep_latency: Figure,
    /// Earliest and latest start of sleep that the unscored epochs before it allow, minutes.
    pub sleep_latency_bounds: Option<(f64, f64)>,
    /// Wake from the first sleep epoch to the end of the window, minutes.
    pub wake_after_onset: Figure,
    /// Wake from the first to the last sleep epoch, minutes.
    pub wake_within_sleep: Figure,
    /// Wake after the last sleep epoch, minutes.
    pub terminal_wake: Figure,
    /// First to last sleep epoch, minutes.
    pub sleep_period: Figure,
    /// Sleep efficiency: total sleep as per cent of the window.
    pub efficiency: Figure,
    /// Total sleep as per cent of the scored part of the window.
    pub efficiency_scored: Figure,
    /// Total sleep as per cent of the time from first sleep to the end of the window.
    pub maintenance_to_end: Figure,
    /// Total sleep as per cent of the sleep period.
    pub maintenance_in_period: Figure,
    /// First sleep epoch to first R epoch, minutes.
    pub rem_latency: Figure,
    /// Runs of wake between sleep.
    pub awakenings: Figure,
}

/// One device, or one further scorer, on one night.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceNight {
    /// Key of the recording.
    pub key: String,
    /// Who says it.
    pub source: Source,
    /// Name of the original.
    pub file: String,
    /// The stages that the source can express, whether it used them or not.
    pub vocabulary: Vec<Stage>,
    /// What it says of each epoch of the window, one for one with [`NightComparison::reference`]; empty
    /// for a recording that holds claims only.
    pub cells: Vec<Cell>,
    /// Agreement in the scheme of the comparison, or the finest that both can express; never without a pair.
    pub agreement: Option<Agreement>,
    /// Agreement in sleep and wake.
    pub sleep_wake: Option<Agreement>,
    /// Why there is no agreement, when there is none.
    pub not_compared: Option<String>,
    /// Epochs of the window that the reference scored with a stage.
    pub reference_scored: u64,
    /// Of those, the share to which the device gives a stage too, 0..=1.
    pub coverage: Figure,
    /// Correct epochs in the scheme of `agreement` as a share of all that the reference scored: missing
    /// counts as wrong. Undefined (`no_pairs`) where the two cannot be compared in a scheme.
    pub accuracy_missing_wrong: Figure,
    /// Whole-night measures of the device over the window; `None` for claims only.
    pub measures: Option<Measures>,
    /// Measures of the device over the window, with every epoch that not both sides scored unscored.
    pub measures_masked: Option<Measures>,
    /// Measures of the reference over the window, with every epoch that not both sides scored unscored.
    pub reference_masked: Option<Measures>,
    /// Wake epochs of the reference that the device calls sleep, minutes.
    pub missed_wake: Option<f64>,
    /// Sleep epochs of the reference that the device calls wake, minutes.
    pub false_wake: Option<f64>,
    /// What the source claims of itself.
    pub claims: Vec<Claim>,
    /// Notes of the recording.
    pub notes: Vec<Note>,
    /// Stretches that are left out of every figure of this device on purpose, those of the night too. `cells`
    /// still holds what was said of them.
    pub excluded: Vec<(Instant, Instant)>,
    /// The correction of its clock, where the reviewer set one.
    pub clock: Option<Clocked>,
    /// Set where too much of the window has no pair of stages, by a rule of the protocol.
    pub ruled: Option<Ruled>,
    /// Where its differences in minutes come from; `None` where it cannot be compared even in sleep and wake.
    pub explained: Option<Explained>,
}

impl DeviceNight {
    /// Says whether a rule of the protocol leaves the night out of every figure over nights.
    #[must_use]
    pub fn is_ruled_out(&self) -> bool {
        self.ruled.is_some_and(|r| r.excluded)
    }
}

/// A correction that was applied, and what the comparison gives without it.
#[derive(Clone, Debug, PartialEq)]
pub struct Clocked {
    /// What was set.
    pub setting: ClockSetting,
    /// The device on its own clock.
    pub as_exported: Box<DeviceNight>,
}

/// A recording that is left out of a comparison on purpose.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// Key of the recording.
    pub key: String,
    /// Who says it.
    pub source: Source,
    /// The decision.
    pub exclusion: Exclusion,
}

/// How the reference of a night was chosen from several.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chosen {
    /// Codes of all scorers of the night, in the order of the store.
    pub of: Vec<String>,
    /// What chose.
    pub by: ChosenBy,
}

/// What chooses a reference.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChosenBy {
    /// An option of the command.
    Command,
    /// The protocol in `study.toml`.
    Study,
}

impl ChosenBy {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            ChosenBy::Command => "command",
            ChosenBy::Study => "study",
        }
    }
}

/// One night against one reference.
#[derive(Clone, Debug, PartialEq)]
pub struct NightComparison {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// What kind of sleep period it is.
    pub kind: NightKind,
    /// IANA zone of the night.
    pub zone: String,
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Code of the scorer.
    pub scorer: String,
    /// Person or program.
    pub scored_by: ScoredBy,
    /// Name of the reference's original.
    pub reference_file: String,
    /// How the reference was chosen, where the night has several; `compare_night` itself does not know it.
    pub chosen: Option<Chosen>,
    /// How the reference came about, where it is the majority of several scorers.
    pub consensus: Option<Consensus>,
    /// Lights off and on, where known.
    pub lights: (Option<Instant>, Option<Instant>),
    /// The window that was used: `lights`, `scored` or `span`.
    pub window_name: &'static str,
    /// Start of the first epoch of the window.
    pub start: Instant,
    /// What the reference says of each epoch of the window; epoch `i` begins at `start` + `i` x 30 s.
    pub reference: Vec<Cell>,
    /// Measures of the reference over the window.
    pub measures: Measures,
    /// Notes of the reference.
    pub notes: Vec<Note>,
    /// Stretches that are left out of every figure of the night on purpose. `reference` still holds what was
    /// said of them.
    pub excluded: Vec<(Instant, Instant)>,
    /// Every decision of the night that leaves out a stretch, in order of decision.
    pub exclusions: Vec<Exclusion>,
    /// Recordings that are left out on purpose, in the order of their names.
    pub left_out: Vec<LeftOut>,
    /// What the reviewer noted, in order of time.
    pub remarks: Vec<NightNote>,
    /// The correction of the reference's clock, where the reviewer set one.
    pub reference_clock: Option<ClockSetting>,
    /// Every device of the night in the order of its name.
    pub devices: Vec<DeviceNight>,
}

/// One device over all its nights.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceSummary {
    /// Name of the device.
    pub name: String,
    /// The finest scheme in which every night of it can be compared.
    pub scheme: Option<Scheme>,
    /// Number of nights that entered the matrix; a night with two units of the device counts twice.
    pub nights: usize,
    /// Number of participants of those nights.
    pub participants: usize,
    /// All epochs of all nights in one matrix (long nights weigh more).
    pub pooled: Option<Agreement>,
    /// The same in sleep and wake.
    pub pooled_sleep_wake: Option<Agreement>,
    /// Mean over participants of the mean over their nights: accuracy.
    pub mean_accuracy: Figure,
    /// The same of kappa; nights without a kappa are skipped.
    pub mean_kappa: Figure,
    /// How many nights were skipped in `mean_kappa` because kappa is undefined.
    pub kappa_skipped: usize,
}

/// What a comparison gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// What was asked for.
    pub protocol: Protocol,
    /// Night by night, by participant and label.
    pub nights: Vec<NightComparison>,
    /// Device by device, by name.
    pub devices: Vec<DeviceSummary>,
    /// The scorers of the nights against each other; `compare` leaves it empty, for it sees one of them a night.
    pub scorers: Scorers,
}
