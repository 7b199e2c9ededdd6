//! A comparison as JSON: the shape that `compare` prints, version 1.
//!
//! It is a mirror of the comparison, so that the types that the program works with can change without
//! changing what readers of the JSON rely on. What is undefined is `null`, and its name and reason
//! stand in `undefined` of the same object. Instants are RFC 3339 text in UTC.

mod agreement;
mod baselines;
mod bouts;
mod clocks;
mod consensus;
mod decided;
mod deviations;
mod device;
mod explained;
mod groups;
mod inference;
mod interval;
mod measures;
mod night;
mod pairs;
mod people;
mod reading;
mod scorer_intervals;
mod scorers;
mod standing;
mod summary;
mod what_if;
mod within_night;

pub use agreement::{AgreementJson, ClassJson, WorstJson};
pub use baselines::{BaselinesJson, BesideJson, CeilingPairJson, DeviceBaselinesJson, NightBaselinesJson};
pub use bouts::{
    BoutCountsJson, BoutSeenJson, BoutsTogetherJson, DeviceBoutsJson, LengthJson, NightBoutsJson, TallyJson,
    WakeEventsJson, WakeJson,
};
pub use clocks::{ChanceJson, ClockDeviceJson, ClockNightJson, ClocksJson, DriftJson, ShiftedJson};
pub use consensus::{ChosenJson, ConsensusJson, LightNamedJson, LightsNamedJson, VoteCountsJson, VoterJson};
pub use decided::{ClockJson, ClockPointJson, ExclusionJson, LeftOutJson, RemarkJson};
pub use deviations::{
    AtSizeJson, CoefficientJson, DeviationJson, DeviationsJson, NightLimitsJson, NightPairJson, SlopeJson,
};
pub use device::{ClaimJson, DeviceNightJson, NoteJson, RuledJson};
pub use explained::{ExplainedDeviceJson, ExplainedJson, ExplainedNightJson, SplitJson};
pub use groups::{GroupFigureJson, GroupJson, GroupPairJson, GroupedDeviceJson, GroupingJson};
pub use inference::InferenceJson;
pub use interval::IntervalJson;
pub use measures::{MeasuresJson, StageJson};
pub use night::NightJson;
pub use pairs::{DevicePairJson, DevicePairsJson, PairDifferenceJson, RankedJson, RanksJson};
pub use people::{AgreementOverPeopleJson, ClassOverPeopleJson, DevicePeopleJson, OverPeopleJson, PersonJson};
pub use reading::{MeansReadJson, ReadingJson, SpreadJson};
pub use scorer_intervals::{PairOverPeopleJson, PairWithinNightJson, ScorerIntervalsJson};
pub use scorers::{PairSummaryJson, ScorerGroupJson, ScorerJson, ScorerPairJson, ScorersJson, ScorersNightJson};
pub use standing::{LaidJson, PrimaryJson, SeenJson, StandingJson};
pub use summary::DeviceJson;
pub use what_if::{HeadlineJson, LargestJson, OtherwiseJson, WhatIfJson};
pub use within_night::{AgreementIntervalsJson, ClassIntervalsJson, WithinNightJson};

use crate::{Comparison, Figure, Protocol, Window};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Version of the shape of [`ComparisonJson`].
pub const COMPARISON_VERSION: u32 = 1;

/// What `compare` prints as JSON.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ComparisonJson {
    /// Version of this shape, 1.
    pub version: u32,
    /// What was asked for.
    pub protocol: ProtocolJson,
    /// Night by night, by participant and label.
    pub nights: Vec<NightJson>,
    /// Device by device, by name.
    pub devices: Vec<DeviceJson>,
    /// Scorers of the same nights against each other; null where no night has two.
    pub scorers: Option<ScorersJson>,
    /// The same with what was left out on purpose; null where nothing was.
    pub with_excluded: Option<Vec<DeviceJson>>,
    /// What the numbers leave open: intervals, differences between devices, baselines; empty of devices where only scorers are compared.
    pub inference: Option<InferenceJson>,
    /// What was laid down beforehand, and how this comparison stands to it; null where no device is compared.
    pub standing: Option<StandingJson>,
    /// Where differences in minutes come from; null unless it was asked for.
    pub explained: Option<ExplainedJson>,
    /// Headlines with one choice undone at a time; null unless it was asked for.
    pub what_if: Option<WhatIfJson>,
    /// Devices by groups of their nights; null unless it was asked for.
    pub groups: Option<GroupingJson>,
    /// A methods text for an article; null unless it was asked for.
    pub methods: Option<MethodsJson>,
}

/// A methods text for an article, made from what was done.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MethodsJson {
    /// Paragraphs, with numbers of references in square brackets.
    pub paragraphs: Vec<String>,
    /// References in the order of their numbers, from 1.
    pub references: Vec<String>,
}

/// What was asked for.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ProtocolJson {
    /// `sleep-wake`, `three`, `four` or `five`; null: for each device the finest that both sides express.
    pub scheme: Option<String>,
    /// `lights`, `scored` or `span`.
    pub window: String,
    /// Start and end of the span, when the window is one.
    pub span: Option<[String; 2]>,
}

impl From<&Comparison> for ComparisonJson {
    fn from(comparison: &Comparison) -> ComparisonJson {
        ComparisonJson {
            version: COMPARISON_VERSION,
            protocol: ProtocolJson::from(&comparison.protocol),
            nights: comparison.nights.iter().map(NightJson::from).collect(),
            devices: comparison.devices.iter().map(DeviceJson::from).collect(),
            scorers: (!comparison.scorers.nights.is_empty()).then(|| ScorersJson::from(&comparison.scorers)),
            with_excluded: None,
            inference: None,
            standing: None,
            explained: None,
            what_if: None,
            groups: None,
            methods: None,
        }
    }
}

impl From<&Protocol> for ProtocolJson {
    fn from(protocol: &Protocol) -> ProtocolJson {
        let (window, span) = match protocol.window {
            Window::Lights => ("lights", None),
            Window::Scored => ("scored", None),
            Window::Between(from, until) => ("span", Some([from.utc_text(), until.utc_text()])),
        };
        ProtocolJson { scheme: protocol.scheme.map(|s| s.code().to_owned()), window: window.to_owned(), span }
    }
}

/// Names of the figures of an object that are undefined, with their reasons.
#[derive(Default)]
struct Undefineds(BTreeMap<String, String>);

impl Undefineds {
    /// Returns the value; without one, keeps the name and the reason.
    fn keep(&mut self, name: &str, figure: Figure) -> Option<f64> {
        match figure {
            Ok(value) => Some(value),
            Err(why) => {
                self.0.insert(name.to_owned(), why.code().to_owned());
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{at, night, psg, ring};
    use crate::{compare, compare_night};
    use counterpane_model::Stage::{Light, N3, R, W};
    use expect_test::expect_file;

    #[test]
    fn a_comparison_of_one_short_night_reads_like_this() {
        let protocol = Protocol { scheme: None, window: Window::Between(at(0), at(8)) };
        let one = compare_night(
            &night(),
            &psg("W12?33RW"),
            &[&ring(&[W, Light, N3, R], "WLL.3LRW")],
            &counterpane_model::Decided::default(),
            &protocol,
        );
        let answer = ComparisonJson::from(&compare(vec![one.unwrap()], protocol));
        let text = serde_json::to_string_pretty(&answer).unwrap() + "\n";
        expect_file!["../tests/data/one-night.json"].assert_eq(&text);
    }

    #[test]
    fn what_is_undefined_is_null_and_listed_in_the_same_object() {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let one = compare_night(
            &night(),
            &psg("2222"),
            &[&ring(&[W, Light, N3, R], "LLLL")],
            &counterpane_model::Decided::default(),
            &protocol,
        );
        let answer = serde_json::to_value(ComparisonJson::from(&compare(vec![one.unwrap()], protocol))).unwrap();
        let agreement = &answer["nights"][0]["devices"][0]["agreement"];
        assert!(agreement["kappa"].is_null());
        assert_eq!(agreement["undefined"]["kappa"], "expected_agreement_1");
        assert_eq!(agreement["undefined"]["per_class.R.ppv"], "dev_class_absent");
        assert_eq!(answer["devices"][0]["undefined"]["mean_kappa"], "expected_agreement_1");
        assert_eq!(answer["nights"][0]["measures"]["undefined"]["rem_latency"], "stage_absent");
        assert_eq!(null_without_a_reason(&answer), Vec::<String>::new());
    }

    /// Names of figures that are null and have no reason; the others may be null because they do not apply.
    fn null_without_a_reason(value: &serde_json::Value) -> Vec<String> {
        let mut found = Vec::new();
        if let Some(object) = value.as_object() {
            if let Some(reasons) = object.get("undefined").and_then(|u| u.as_object()) {
                let may_be_null = [
                    "worst_sensitivity",
                    "not_compared",
                    "sleep_latency_bounds",
                    "lights_off",
                    "lights_on",
                    "clock",
                    "as_exported",
                    "reference_clock",
                    "ruled",
                ];
                let nulls = object.iter().filter(|(name, v)| v.is_null() && !may_be_null.contains(&name.as_str()));
                found.extend(nulls.filter(|(name, _)| !reasons.contains_key(*name)).map(|(name, _)| name.clone()));
            }
            found.extend(object.values().flat_map(null_without_a_reason));
        }
        found.extend(value.as_array().into_iter().flatten().flat_map(null_without_a_reason));
        found
    }
}
