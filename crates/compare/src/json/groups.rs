//! The figures of devices by groups of nights, as JSON.

use crate::groups::{Group, GroupPair, GroupedDevice, Grouping};
use counterpane_model::PlanMeasure;
use schemars::JsonSchema;
use serde::Serialize;

/// The figures of every device by groups of its nights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GroupingJson {
    /// `app`, `firmware`, `group`, `side`, `site` or `unit`.
    pub by: String,
    /// Device by device.
    pub devices: Vec<GroupedDeviceJson>,
}

/// One device by groups.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GroupedDeviceJson {
    /// Name of the device.
    pub device: String,
    /// Its groups in the order of their first nights.
    pub groups: Vec<GroupJson>,
    /// Every two groups.
    pub differences: Vec<GroupPairJson>,
}

/// The nights of one group.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GroupJson {
    /// What they share; null where it is not stated.
    pub name: Option<String>,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
    /// Each measure.
    pub figures: Vec<GroupFigureJson>,
}

/// One measure of one group.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GroupFigureJson {
    /// The measure.
    pub measure: String,
    /// Mean over people of the mean over their nights.
    pub value: Option<f64>,
    /// Its 95 % interval over people.
    pub interval: Option<[f64; 2]>,
    /// Why either is null.
    pub undefined: Option<String>,
}

/// Two groups of the same device.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GroupPairJson {
    /// Places of the two groups, from 0.
    pub of: [usize; 2],
    /// Number of participants who have nights in both.
    pub in_both: usize,
    /// Each measure: second minus first.
    pub figures: Vec<GroupFigureJson>,
}

impl From<&Grouping> for GroupingJson {
    fn from(grouping: &Grouping) -> GroupingJson {
        let device = |d: &GroupedDevice| GroupedDeviceJson {
            device: d.device.clone(),
            groups: d.groups.iter().map(|g| group(g, &grouping.measures)).collect(),
            differences: d.pairs.iter().map(|p| pair(p, &grouping.measures)).collect(),
        };
        GroupingJson { by: grouping.by.code().to_owned(), devices: grouping.devices.iter().map(device).collect() }
    }
}

fn group(g: &Group, measures: &[PlanMeasure]) -> GroupJson {
    let figures =
        measures.iter().zip(g.figures.iter().zip(&g.intervals)).map(|(m, (figure, interval))| GroupFigureJson {
            measure: m.to_string(),
            value: figure.ok(),
            interval: interval.ok().map(|(low, high)| [low, high]),
            undefined: figure.err().or(interval.err()).map(|why| why.code().to_owned()),
        });
    GroupJson { name: g.name.clone(), nights: g.nights, participants: g.participants, figures: figures.collect() }
}

fn pair(p: &GroupPair, measures: &[PlanMeasure]) -> GroupPairJson {
    let figures = measures.iter().zip(&p.differences).map(|(m, difference)| GroupFigureJson {
        measure: m.to_string(),
        value: difference.ok().map(|d| d.0),
        interval: difference.ok().map(|d| [d.1.0, d.1.1]),
        undefined: difference.err().map(|why| why.code().to_owned()),
    });
    GroupPairJson { of: p.of, in_both: p.in_both, figures: figures.collect() }
}
