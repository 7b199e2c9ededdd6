//! Headlines with one choice undone at a time, as JSON.

use crate::what_if::{Choice, Headline, WhatIf};
use counterpane_model::PlanMeasure;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Headlines as they are, and with each choice undone alone.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WhatIfJson {
    /// The measures, as study.toml writes them.
    pub measures: Vec<String>,
    /// Every device that is compared.
    pub as_is: Vec<HeadlineJson>,
    /// Each choice undone.
    pub otherwise: Vec<OtherwiseJson>,
    /// For each measure the choice that changes it most; empty where nothing changes.
    pub largest: Vec<LargestJson>,
}

/// The headline of one device.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HeadlineJson {
    /// Name of the device.
    pub device: String,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
    /// Value of each measure: mean over people of the mean over their nights; null where it is undefined.
    pub values: BTreeMap<String, Option<f64>>,
    /// How much larger each is than as it is; null where either is undefined.
    pub changes: BTreeMap<String, Option<f64>>,
}

/// One choice undone.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OtherwiseJson {
    /// `acceptance`, `exclusion`, `clock`, `export`, `missing`, `window` or `rules`.
    pub choice: String,
    /// Number of the decision, where it is one.
    pub decision: Option<u64>,
    /// What holds instead: the code that is not accepted, the recording that counts, `left-out` or `wrong`, `lights` or `scored`.
    pub instead: Option<String>,
    /// Participant and label of the night that it speaks of.
    pub night: Option<[String; 2]>,
    /// Unit or scorer that it speaks of.
    pub source: Option<String>,
    /// The devices that it concerns.
    pub headlines: Vec<HeadlineJson>,
}

/// The choice that changes a measure most.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LargestJson {
    /// The measure.
    pub measure: String,
    /// Place of the choice in `otherwise`, from 0.
    pub choice: usize,
    /// The device.
    pub device: String,
    /// How much larger the value is with the choice undone.
    pub change: f64,
}

impl From<&WhatIf> for WhatIfJson {
    fn from(what_if: &WhatIf) -> WhatIfJson {
        let headline = |h: &Headline| headline(what_if, h);
        let otherwise = what_if.otherwise.iter().map(|o| OtherwiseJson {
            choice: o.choice.code().to_owned(),
            decision: decision(&o.choice),
            instead: instead(&o.choice),
            night: o.night.clone().map(|(p, n)| [p, n]),
            source: o.source.clone(),
            headlines: o.headlines.iter().map(headline).collect(),
        });
        let device = |choice: usize, device: usize| {
            what_if.otherwise.get(choice).and_then(|o| o.headlines.get(device)).map(|h| h.device.clone())
        };
        WhatIfJson {
            measures: what_if.measures.iter().map(PlanMeasure::to_string).collect(),
            as_is: what_if.as_is.iter().map(headline).collect(),
            otherwise: otherwise.collect(),
            largest: what_if
                .largest()
                .into_iter()
                .map(|l| LargestJson {
                    measure: l.measure.to_string(),
                    choice: l.choice,
                    device: device(l.choice, l.device).unwrap_or_default(),
                    change: l.change,
                })
                .collect(),
        }
    }
}

fn headline(what_if: &WhatIf, h: &Headline) -> HeadlineJson {
    let named = |of: &dyn Fn(usize) -> Option<f64>| {
        what_if.measures.iter().enumerate().map(|(i, m)| (m.to_string(), of(i))).collect()
    };
    HeadlineJson {
        device: h.device.clone(),
        nights: h.nights,
        participants: h.participants,
        values: named(&|i| h.figures.get(i).and_then(|f| f.ok())),
        changes: named(&|i| what_if.change(h, i)),
    }
}

fn decision(choice: &Choice) -> Option<u64> {
    match choice {
        Choice::Acceptance { decision, .. } | Choice::Exclusion { decision } | Choice::Clock { decision } => {
            Some(*decision)
        }
        Choice::Export { .. } | Choice::Missing(_) | Choice::Window(_) | Choice::Rules => None,
    }
}

fn instead(choice: &Choice) -> Option<String> {
    match choice {
        Choice::Acceptance { code, .. } => Some(code.clone()),
        Choice::Export { recording } => Some(recording.clone()),
        Choice::Missing(missing) => Some(missing.code().to_owned()),
        Choice::Window(window) => Some((*window).to_owned()),
        Choice::Exclusion { .. } | Choice::Clock { .. } | Choice::Rules => None,
    }
}
