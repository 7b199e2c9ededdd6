//! Differences of whole-night measures as JSON.

use super::Undefineds;
use crate::{AtSize, Coefficient, Deviation, Deviations, NightLimits, NightPair, Nights, NotSaid, Slope};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// How far a device's whole-night measures lie from the reference's, over its nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DeviationsJson {
    /// Name of the device, or code of a further scorer.
    pub name: String,
    /// Each measure that the device tells.
    pub measures: Vec<DeviationJson>,
}

/// One measure over nights. Every difference is device minus reference, both from the epochs that both sides scored; a latency
/// is from all that its own side says.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DeviationJson {
    /// The measure, such as `total_sleep` or `minutes.N3`.
    pub measure: String,
    /// `min`, `%` or `count`.
    pub unit: String,
    /// Number of nights with a difference.
    pub nights: usize,
    /// Number of people whom they are of.
    pub people: usize,
    /// `one_night_each`, `several_nights_each` (bias, slopes and coefficients are then of each person's mean over nights), or
    /// `one_person` (everything holds within this person).
    pub whose: String,
    /// Nights without a difference: undefined on one side, or not told by one side.
    pub skipped_undefined: usize,
    /// Nights left out because a gap leaves a latency in doubt.
    pub skipped_unsure: usize,
    /// Nights that count although not both sides scored more than 5 % of the window.
    pub with_gaps: usize,
    /// Mean difference; each person weighs the same.
    pub bias: Option<f64>,
    /// Its 95 % interval, Student's t.
    pub bias_interval: Option<[f64; 2]>,
    /// Limits of agreement of single nights.
    pub limits: Option<NightLimitsJson>,
    /// The same as ratios device / reference: only where the spread grows and every value is above 0.
    pub ratio_limits: Option<NightLimitsJson>,
    /// Slope of the difference on the mean of both sides.
    pub proportional: Option<SlopeJson>,
    /// Slope of the size of the differences about that line; its p by Koenker's test.
    pub spread: Option<SlopeJson>,
    /// Limits at the least, the middle and the largest size seen; empty unless the difference or its spread changes with the
    /// size, at 5 %.
    pub at_sizes: Vec<AtSizeJson>,
    /// Lin's concordance correlation; not below ten people.
    pub ccc: Option<CoefficientJson>,
    /// ICC(2,1), absolute agreement; not below ten people.
    pub icc: Option<CoefficientJson>,
    /// Mean size of the differences, over nights.
    pub mae: Option<f64>,
    /// Root of the mean square of the differences, over nights.
    pub rmse: Option<f64>,
    /// Name of each number that is not given, and why.
    pub undefined: BTreeMap<String, String>,
    /// Both values of every night.
    pub pairs: Vec<NightPairJson>,
}

/// Both limits of agreement.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NightLimitsJson {
    /// Mean of the differences that the limits lie about, each night weighing the same; of ratios the geometric mean.
    pub centre: f64,
    /// Standard deviation of a single night's difference; of ratios that of their logarithms.
    pub sd: f64,
    /// The lower limit.
    pub lower: f64,
    /// Its 95 % interval.
    pub lower_interval: [f64; 2],
    /// The upper limit.
    pub upper: f64,
    /// Its 95 % interval.
    pub upper_interval: [f64; 2],
    /// `exact` (noncentral t; one night each) or `mover` (several nights each).
    pub by: String,
}

/// A slope on the mean of both sides.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SlopeJson {
    /// Its value, for one unit more.
    pub slope: f64,
    /// Height of the line at 0.
    pub intercept: f64,
    /// 95 % interval of the slope.
    pub interval: [f64; 2],
    /// p against a slope of 0.
    pub p: f64,
}

/// Limits of agreement at one size.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AtSizeJson {
    /// The mean of both sides at which they hold.
    pub size: f64,
    /// The bias there.
    pub bias: f64,
    /// The lower limit there.
    pub lower: f64,
    /// The upper limit there.
    pub upper: f64,
}

/// A coefficient.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CoefficientJson {
    /// Its value.
    pub value: f64,
    /// Its 95 % interval; null where there is none.
    pub interval: Option<[f64; 2]>,
}

/// Both values of one night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NightPairJson {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Key of the device's recording.
    pub key: String,
    /// What the reference gives.
    pub reference: f64,
    /// What the device gives.
    pub device: f64,
}

impl From<&Deviations> for DeviationsJson {
    fn from(of: &Deviations) -> DeviationsJson {
        DeviationsJson { name: of.name.clone(), measures: of.measures.iter().map(DeviationJson::from).collect() }
    }
}

impl From<&Deviation> for DeviationJson {
    fn from(of: &Deviation) -> DeviationJson {
        let mut undefined = Undefineds::default();
        let mut said = BTreeMap::new();
        let out = DeviationJson {
            measure: of.of.code(),
            unit: of.of.unit().to_owned(),
            nights: of.nights.len(),
            people: of.people,
            whose: whose(of.whose).to_owned(),
            skipped_undefined: of.skipped_undefined,
            skipped_unsure: of.skipped_unsure,
            with_gaps: of.with_gaps,
            bias: undefined.keep("bias", of.bias),
            bias_interval: keep(&mut said, "bias_interval", &of.bias_interval, |i| [i.low, i.high]),
            limits: keep(&mut said, "limits", &of.limits, NightLimitsJson::from),
            ratio_limits: of.ratio_limits.as_ref().map(NightLimitsJson::from),
            proportional: keep(&mut said, "proportional", &of.proportional, SlopeJson::from),
            spread: keep(&mut said, "spread", &of.spread, SlopeJson::from),
            at_sizes: of.at_sizes.iter().map(AtSizeJson::from).collect(),
            ccc: keep(&mut said, "ccc", &of.ccc, CoefficientJson::from),
            icc: keep(&mut said, "icc", &of.icc, CoefficientJson::from),
            mae: undefined.keep("mae", of.mae),
            rmse: undefined.keep("rmse", of.rmse),
            undefined: BTreeMap::new(),
            pairs: of.nights.iter().map(NightPairJson::from).collect(),
        };
        said.append(&mut undefined.0);
        DeviationJson { undefined: said, ..out }
    }
}

fn whose(whose: Nights) -> &'static str {
    match whose {
        Nights::OneEach => "one_night_each",
        Nights::SeveralEach => "several_nights_each",
        Nights::OnePerson => "one_person",
    }
}

/// Returns what is said, or notes under its name why it is not.
fn keep<'a, T, J>(
    undefined: &mut BTreeMap<String, String>,
    name: &str,
    said: &'a Result<T, NotSaid>,
    json: impl Fn(&'a T) -> J,
) -> Option<J> {
    match said {
        Ok(value) => Some(json(value)),
        Err(why) => {
            undefined.insert(name.to_owned(), why.code().to_owned());
            None
        }
    }
}

impl From<&NightLimits> for NightLimitsJson {
    fn from(of: &NightLimits) -> NightLimitsJson {
        NightLimitsJson {
            centre: of.centre,
            sd: of.sd,
            lower: of.lower.value,
            lower_interval: [of.lower.interval.low, of.lower.interval.high],
            upper: of.upper.value,
            upper_interval: [of.upper.interval.low, of.upper.interval.high],
            by: of.by.code().to_owned(),
        }
    }
}

impl From<&Slope> for SlopeJson {
    fn from(of: &Slope) -> SlopeJson {
        SlopeJson { slope: of.slope, intercept: of.intercept, interval: [of.interval.low, of.interval.high], p: of.p }
    }
}

impl From<&AtSize> for AtSizeJson {
    fn from(of: &AtSize) -> AtSizeJson {
        AtSizeJson { size: of.size, bias: of.bias, lower: of.limits.low, upper: of.limits.high }
    }
}

impl From<&Coefficient> for CoefficientJson {
    fn from(of: &Coefficient) -> CoefficientJson {
        CoefficientJson { value: of.value, interval: of.interval.ok().map(|i| [i.low, i.high]) }
    }
}

impl From<&NightPair> for NightPairJson {
    fn from(of: &NightPair) -> NightPairJson {
        NightPairJson {
            participant: of.participant.clone(),
            night: of.night.clone(),
            key: of.key.clone(),
            reference: of.reference,
            device: of.device,
        }
    }
}
