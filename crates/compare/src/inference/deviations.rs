//! How far a device's whole-night measures lie from the reference's, over nights.

mod measure;
mod reason;
mod spread;

pub use measure::NightMeasure;
pub use reason::{NotSaid, WANT_FOR_COEFFICIENTS, WANT_FOR_LIMITS};
pub use spread::{AtSize, Coefficient, Limit, LimitsBy, NightLimits, Slope};

use super::Limits;
use crate::counted::counted;
use crate::{Comparison, DeviceNight, NightComparison, nights_of_device};
use counterpane_stats::{Figure, bias, differences, mae, rmse, t_interval};
use measure::Skip;
use spread::{coefficients, limits, ratio_limits, sizes, slopes};
use std::collections::BTreeMap;

/// A device beside its references, measure by measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Deviations {
    /// Name of the device, or code of a further scorer.
    pub name: String,
    /// The measures that the device can tell, in the order of [`NightMeasure::ALL`].
    pub measures: Vec<Deviation>,
}

/// Whom the nights are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nights {
    /// Several people, one night each.
    OneEach,
    /// Several people, one of them at least with several nights.
    SeveralEach,
    /// One person: whatever is said holds within this person.
    OnePerson,
}

/// One measure of one device over its nights. Every difference is device minus reference.
#[derive(Clone, Debug, PartialEq)]
pub struct Deviation {
    /// The measure.
    pub of: NightMeasure,
    /// The nights that have it on both sides.
    pub nights: Vec<NightPair>,
    /// How many people they are of.
    pub people: usize,
    /// Whom they are of.
    pub whose: Nights,
    /// Nights without a difference: the measure is undefined on one side, or one side does not tell it.
    pub skipped_undefined: usize,
    /// Nights left out because a gap leaves a latency in doubt.
    pub skipped_unsure: usize,
    /// Nights that count although not both sides scored more than 5 % of the window.
    pub with_gaps: usize,
    /// Mean difference: over people, of the mean over their nights, so that each person weighs the same.
    pub bias: Figure,
    /// Its 95 % interval by Student's t.
    pub bias_interval: Result<Limits, NotSaid>,
    /// The limits between which about 95 of 100 differences of single nights lie.
    pub limits: Result<NightLimits, NotSaid>,
    /// The same as ratios device / reference, where the spread grows with the size and every value is above 0.
    pub ratio_limits: Option<NightLimits>,
    /// By how much the difference changes for one unit more of the mean of both sides.
    pub proportional: Result<Slope, NotSaid>,
    /// By how much the size of the differences about that line changes for one unit more.
    pub spread: Result<Slope, NotSaid>,
    /// The limits at the least, the middle and the largest size that was seen, where the difference or its spread
    /// changes with the size.
    pub at_sizes: Vec<AtSize>,
    /// Lin's concordance correlation.
    pub ccc: Result<Coefficient, NotSaid>,
    /// The intraclass correlation of absolute agreement, ICC(2,1).
    pub icc: Result<Coefficient, NotSaid>,
    /// Mean size of the differences, over nights.
    pub mae: Figure,
    /// Root of the mean square of the differences, over nights.
    pub rmse: Figure,
}

/// Both values of one night.
#[derive(Clone, Debug, PartialEq)]
pub struct NightPair {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Key of the device's recording.
    pub key: String,
    /// What the reference gives, in the unit of the measure.
    pub reference: f64,
    /// What the device gives.
    pub device: f64,
}

impl NightPair {
    /// Returns device minus reference.
    #[must_use]
    pub fn difference(&self) -> f64 {
        self.device - self.reference
    }

    /// Returns the mean of both sides.
    #[must_use]
    pub fn size(&self) -> f64 {
        f64::midpoint(self.reference, self.device)
    }
}

/// Returns the differences of every device that stages, by name.
#[must_use]
pub fn deviations(comparison: &Comparison) -> Vec<Deviations> {
    let of_device = |name: &str| {
        let nights = nights_of_device(comparison, name);
        let measures: Vec<Deviation> = NightMeasure::ALL.into_iter().filter_map(|of| deviation(of, &nights)).collect();
        (!measures.is_empty()).then(|| Deviations { name: name.to_owned(), measures })
    };
    comparison.devices.iter().filter_map(|d| of_device(&d.name)).collect()
}

/// Returns the differences of one measure; `None` where the device cannot tell it.
fn deviation(of: NightMeasure, all: &[(&NightComparison, &DeviceNight)]) -> Option<Deviation> {
    // A night without an epoch that both scored has nothing to say of any measure.
    let given: Vec<_> = all.iter().filter(|(_, d)| d.measures_masked.is_some()).collect();
    if !given.iter().any(|(_, d)| of.told_by(&d.vocabulary)) {
        return None;
    }
    let (mut nights, mut undefined, mut unsure, mut with_gaps) = (Vec::new(), 0, 0, 0);
    for (night, device) in given {
        match of.pair(night, device) {
            Ok([reference, own]) => {
                with_gaps += usize::from(has_gaps(night, device));
                nights.push(NightPair {
                    participant: night.participant.clone(),
                    night: night.night.clone(),
                    key: device.key.clone(),
                    reference,
                    device: own,
                });
            }
            Err(Skip::LatencyUnsure) => unsure += 1,
            Err(Skip::NotTold | Skip::Undefined) => undefined += 1,
        }
    }
    Some(summed_up(of, nights, [undefined, unsure, with_gaps]))
}

/// Says whether more than 5 % of the window has no pair of stages, of what nobody left out on purpose.
fn has_gaps(night: &NightComparison, device: &DeviceNight) -> bool {
    let epochs: Vec<_> = counted(night, device).collect();
    let without = epochs.iter().filter(|(r, d)| r.stage().is_none() || d.stage().is_none()).count();
    20 * without > epochs.len()
}

fn summed_up(of: NightMeasure, nights: Vec<NightPair>, counts: [usize; 3]) -> Deviation {
    let people = by_person(&nights);
    let whose = match people.len() {
        1 => Nights::OnePerson,
        n if n == nights.len() => Nights::OneEach,
        _ => Nights::SeveralEach,
    };
    // The unit that is independent: a person, or a night where there is one person only.
    let units: Vec<[f64; 2]> =
        if whose == Nights::OnePerson { people.concat() } else { people.iter().map(|p| mean_pair(p)).collect() };
    let own = differences(&units);
    let each = differences(&people.concat());
    let (proportional, spread) = slopes(&units, whose);
    let grows = spread.as_ref().is_ok_and(Slope::grows);
    let (ccc, icc) = coefficients(&units, whose);
    let ratio_limits = if grows { ratio_limits(&people, whose) } else { None };
    let changes = grows || proportional.as_ref().is_ok_and(Slope::is_told);
    Deviation {
        of,
        people: people.len(),
        whose,
        skipped_undefined: counts[0],
        skipped_unsure: counts[1],
        with_gaps: counts[2],
        bias: bias(&own).map(|b| b.mean),
        bias_interval: NotSaid::wants(units.len(), 2, whose).and_then(|()| Ok(Limits::from(t_interval(&own)?))),
        limits: limits(&people, whose),
        ratio_limits,
        at_sizes: if changes && whose == Nights::OneEach { sizes(&units, grows) } else { Vec::new() },
        proportional,
        spread,
        ccc,
        icc,
        mae: mae(&each),
        rmse: rmse(&each),
        nights,
    }
}

/// Returns `[reference, device]` of the nights of each person, by code.
fn by_person(nights: &[NightPair]) -> Vec<Vec<[f64; 2]>> {
    let mut people: BTreeMap<&str, Vec<[f64; 2]>> = BTreeMap::new();
    for night in nights {
        people.entry(&night.participant).or_default().push([night.reference, night.device]);
    }
    people.into_values().collect()
}

fn mean_pair(nights: &[[f64; 2]]) -> [f64; 2] {
    [0, 1].map(|side| nights.iter().map(|pair| pair[side]).sum::<f64>() / nights.len() as f64)
}

#[cfg(test)]
mod tests;
