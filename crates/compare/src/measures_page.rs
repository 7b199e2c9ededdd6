//! The page `docs/measures.md`: what each whole-night measure means.

use std::fmt::Write as _;

/// What a reader must know of a measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MeasureFacts {
    /// Name in JSON and in the code.
    pub key: &'static str,
    /// Name as people write it.
    pub name: &'static str,
    /// Unit of the value.
    pub unit: &'static str,
    /// How it is computed.
    pub definition: &'static str,
    /// What it is on a night without sleep.
    pub without_sleep: &'static str,
    /// Edge cases and cautions.
    pub caution: &'static str,
}

/// Every measure, in the order of the keys.
pub const MEASURES: &[MeasureFacts] = &[
    MeasureFacts {
        key: "awakenings",
        name: "Awakenings",
        unit: "count",
        definition: "Runs of epochs without sleep, strictly between two epochs of sleep, that hold at least one epoch of wake.",
        without_sleep: "undefined",
        caution: "The least length is one epoch. A run of epochs without a stage only is not an awakening, and neither is the wake \
                  at the end. The AASM manual defines no such parameter; definitions in print differ.",
    },
    MeasureFacts {
        key: "efficiency",
        name: "Sleep efficiency (SE)",
        unit: "%",
        definition: "100 x total sleep time / length of the window.",
        without_sleep: "0; undefined (`nothing_scored`) when no epoch of the window is scored",
        caution: "Comparable with a polysomnogram only where the device's window is the reference's lights off to lights on, as \
                  it is here; what a device displays over its own window is another quantity.",
    },
    MeasureFacts {
        key: "efficiency_scored",
        name: "Sleep efficiency of the scored part",
        unit: "%",
        definition: "100 x total sleep time / (total sleep time + wake).",
        without_sleep: "0; undefined (`nothing_scored`) when no epoch of the window is scored",
        caution: "The same as sleep efficiency where every epoch is scored.",
    },
    MeasureFacts {
        key: "maintenance_in_period",
        name: "Sleep maintenance within the sleep period",
        unit: "%",
        definition: "100 x total sleep time / sleep period.",
        without_sleep: "undefined",
        caution: "Two definitions are in use: this one stops at the last sleep, the other one at the end of the window.",
    },
    MeasureFacts {
        key: "maintenance_to_end",
        name: "Sleep maintenance to the end of the window",
        unit: "%",
        definition: "100 x total sleep time / (start of the first sleep to the end of the window).",
        without_sleep: "undefined",
        caution: "Two definitions are in use: this one runs to the end of the window, the other one stops at the last sleep.",
    },
    MeasureFacts {
        key: "recording_time",
        name: "Recording time (TRT), time in bed",
        unit: "min",
        definition: "Length of the window. From lights off to lights on it is the total recording time, here taken as the time in bed.",
        without_sleep: "the same",
        caution: "Lights off and on are put in by people; they are not estimated. It is total sleep time + wake + minutes without a stage.",
    },
    MeasureFacts {
        key: "rem_latency",
        name: "REM latency",
        unit: "min",
        definition: "Start of the first sleep to the start of the first epoch of REM sleep. Not from lights off.",
        without_sleep: "undefined",
        caution: "Undefined (`stage_absent`) on a night without REM sleep, while the minutes of REM sleep are 0.",
    },
    MeasureFacts {
        key: "sleep_latency",
        name: "Sleep onset latency (SOL)",
        unit: "min",
        definition: "Start of the window to the start of the first epoch of any sleep.",
        without_sleep: "undefined: longer than the window",
        caution: "Never set to the length of the window where there is no sleep.",
    },
    MeasureFacts {
        key: "sleep_latency_bounds",
        name: "Bounds of the sleep onset latency",
        unit: "min",
        definition: "Earliest: start of the window to the first epoch without a stage before the first sleep. Latest: the latency itself.",
        without_sleep: "none",
        caution: "The two are equal where every epoch before the first sleep is scored.",
    },
    MeasureFacts {
        key: "sleep_period",
        name: "Sleep period (SPT)",
        unit: "min",
        definition: "Start of the first to the end of the last epoch of sleep.",
        without_sleep: "undefined",
        caution: "Wake and epochs without a stage in between are part of it.",
    },
    MeasureFacts {
        key: "stage_minutes",
        name: "Minutes in each stage",
        unit: "min, and % of total sleep time",
        definition: "Minutes in each stage that occurs, and for stages of sleep 100 x minutes / total sleep time.",
        without_sleep: "0 min; the per cent are undefined",
        caution: "Light sleep is N1 + N2 and deep sleep is N3 (OCF resource type `oic.r.sleep`).",
    },
    MeasureFacts {
        key: "terminal_wake",
        name: "Wake at the end",
        unit: "min",
        definition: "Wake after the last epoch of sleep.",
        without_sleep: "undefined",
        caution: "Wake after onset is wake within sleep + wake at the end.",
    },
    MeasureFacts {
        key: "total_sleep",
        name: "Total sleep time (TST)",
        unit: "min",
        definition: "Minutes in any stage of sleep.",
        without_sleep: "0",
        caution: "Epochs without a stage are not sleep: gaps make it too small.",
    },
    MeasureFacts {
        key: "unscored",
        name: "Minutes without a stage",
        unit: "min",
        definition: "Minutes of the window that are unscored, off the body, or missing.",
        without_sleep: "counted all the same",
        caution: "Looked at and not scored, not worn, and said nothing are three things; here they count alike.",
    },
    MeasureFacts {
        key: "wake",
        name: "Wake",
        unit: "min",
        definition: "Minutes of wake in the window, before, between and after sleep.",
        without_sleep: "counted all the same",
        caution: "Not the wake after sleep onset.",
    },
    MeasureFacts {
        key: "wake_after_onset",
        name: "Wake after sleep onset (WASO)",
        unit: "min",
        definition: "Minutes of wake from the first sleep to the end of the window, the wake at the end included.",
        without_sleep: "undefined",
        caution: "Papers mix this one with the wake within sleep: say which.",
    },
    MeasureFacts {
        key: "wake_within_sleep",
        name: "Wake within sleep",
        unit: "min",
        definition: "Minutes of wake from the first to the last epoch of sleep.",
        without_sleep: "undefined",
        caution: "Papers mix this one with wake after sleep onset: say which.",
    },
];

const HEAD: &str = "\
<!-- Made from crates/compare by its tests: `UPDATE_EXPECT=1 cargo test -p counterpane-compare` writes it. -->
# Measures of a whole night

The measures are computed from what one source says of each epoch of 30 s of the window, for the reference and for every device
in the same way. The statistics of agreement are in [statistics.md](statistics.md).

**The window** is named beside every number: `lights` (lights off to lights on, as the reviewer gives them, else the reference, else a diary),
`scored` (the first to the last epoch to which the reference gives a stage), or `span` (a stretch of time that was asked for).

**Three versions of each measure** are kept for a device: over the window; over the window with every epoch that not both
sides scored taken as unscored; and the reference under the same mask. Only the last two are minutes of the same epochs.

**Source.** The definitions are those of the AASM Manual for the Scoring of Sleep and Associated Events (from memory) where it has
the parameter. Definitions of total sleep time, sleep onset latency, wake after sleep onset and sleep efficiency in the
same words are printed in table 1 of PMC4730747.

**Sign.** Every difference is device minus reference.

| name | unit | definition | without sleep | caution | in JSON |
| --- | --- | --- | --- | --- | --- |
";

/// Returns the text of `docs/measures.md`.
#[must_use]
pub fn measures_page() -> String {
    let mut out = String::from(HEAD);
    for MeasureFacts { key, name, unit, definition, without_sleep, caution } in MEASURES {
        let _ = writeln!(out, "| {name} | {unit} | {definition} | {without_sleep} | {caution} | `{key}` |");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::json::MeasuresJson;
    use crate::measures;
    use expect_test::expect_file;

    #[test]
    fn the_page_is_what_the_code_says() {
        expect_file!["../../../docs/measures.md"].assert_eq(&measures_page());
    }

    #[test]
    fn every_measure_is_listed() {
        let json = serde_json::to_value(MeasuresJson::from(&measures(&[]))).unwrap();
        let mut keys: Vec<&str> =
            json.as_object().unwrap().keys().map(String::as_str).filter(|k| *k != "undefined").collect();
        keys.sort_unstable();
        let listed: Vec<&str> = MEASURES.iter().map(|m| m.key).collect();
        assert_eq!(listed, keys, "list every measure of MeasuresJson in MEASURES, alphabetically");
    }
}
