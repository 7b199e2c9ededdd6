//! What was laid down beforehand, and how a comparison stands to it, as JSON.

use super::Undefineds;
use crate::{Exploratory, Laid, PrimaryLine, Seen, Standing};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// What was laid down beforehand, and how a comparison stands to it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StandingJson {
    /// What was laid down; null where nothing was, and then everything is exploratory.
    pub laid_down: Option<LaidJson>,
    /// How the comparison was asked for otherwise: `scheme`, `window`, `scorer`, `nights`, `with-excluded`.
    pub departures: Vec<String>,
    /// Whether any result was laid down before anybody looked.
    pub any_predeclared: bool,
    /// The primary measure of each device, or kappa and accuracy where none was laid down.
    pub primary: Vec<PrimaryJson>,
}

/// What was laid down, and since when.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LaidJson {
    /// The one text that stands for it: a line for each key.
    pub text: String,
    /// Each time that it was laid down or changed; empty where nothing could be noted.
    pub seen: Vec<SeenJson>,
}

/// A protocol as it was seen at one time.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SeenJson {
    /// Number of the decision.
    pub decision: u64,
    /// When.
    pub at: String,
    /// By whom.
    pub by: String,
    /// SHA-256 of its text.
    pub sha256: String,
    /// `before` or `after` results were looked at.
    pub looked: String,
}

/// The measure that a study is about, of one device over its nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PrimaryJson {
    /// Name of the device.
    pub device: String,
    /// The measure, as study.toml writes it.
    pub measure: String,
    /// The scheme in which it is formed; null where the device cannot express one with the class.
    pub scheme: Option<String>,
    /// Mean over participants of the mean over their nights; minutes for a difference.
    pub value: Option<f64>,
    /// 95 % interval of that mean over participants.
    pub interval: Option<[f64; 2]>,
    /// Where a tolerance was laid down: whether the 90 % interval of the mean lies inside it.
    pub within_tolerance: Option<bool>,
    /// That 90 % interval.
    pub interval_90: Option<[f64; 2]>,
    /// Number of participants.
    pub participants: usize,
    /// Number of nights.
    pub nights: usize,
    /// Nights without a value.
    pub skipped: usize,
    /// Nights that a rule marks.
    pub marked: usize,
    /// Nights that a rule leaves out.
    pub ruled_out: usize,
    /// Whether it was laid down before anybody looked.
    pub predeclared: bool,
    /// Why it is exploratory: `no-protocol`, `no-primary`, `not-noted`, `laid-down-after-looking`, `other-device`, or one of
    /// `departures`.
    pub exploratory: Vec<String>,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

impl From<&Standing> for StandingJson {
    fn from(standing: &Standing) -> StandingJson {
        StandingJson {
            laid_down: standing.laid.as_ref().map(LaidJson::from),
            departures: standing.departures.iter().map(|d| d.code().to_owned()).collect(),
            any_predeclared: standing.any_predeclared(),
            primary: standing.lines.iter().map(PrimaryJson::from).collect(),
        }
    }
}

impl From<&Laid> for LaidJson {
    fn from(laid: &Laid) -> LaidJson {
        LaidJson { text: laid.plan.text(), seen: laid.seen.iter().map(SeenJson::from).collect() }
    }
}

impl From<&Seen> for SeenJson {
    fn from(seen: &Seen) -> SeenJson {
        SeenJson {
            decision: seen.decision,
            at: seen.at.clone(),
            by: seen.by.clone(),
            sha256: seen.sha256.clone(),
            looked: seen.looked.code().to_owned(),
        }
    }
}

impl From<&PrimaryLine> for PrimaryJson {
    fn from(line: &PrimaryLine) -> PrimaryJson {
        let mut undefined = Undefineds::default();
        let value = undefined.keep("value", line.value);
        let low = undefined.keep("interval", line.interval.map(|i| i.0));
        let tolerance = line.equivalence.and_then(|e| {
            undefined.keep("within_tolerance", e.map(|e| e.p));
            e.ok()
        });
        PrimaryJson {
            device: line.device.clone(),
            measure: line.measure.to_string(),
            scheme: line.scheme.map(|s| s.code().to_owned()),
            value,
            interval: low.zip(line.interval.ok()).map(|(low, i)| [low, i.1]),
            within_tolerance: tolerance.map(|e| e.within),
            interval_90: tolerance.map(|e| [e.interval_90.0, e.interval_90.1]),
            participants: line.participants,
            nights: line.nights,
            skipped: line.skipped,
            marked: line.marked,
            ruled_out: line.ruled_out,
            predeclared: line.exploratory.is_empty(),
            exploratory: line.exploratory.iter().map(|e: &Exploratory| e.code().to_owned()).collect(),
            undefined: undefined.0,
        }
    }
}
