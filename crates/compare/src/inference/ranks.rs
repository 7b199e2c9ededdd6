//! Which ranks the people of a study leave open to each device.

use super::pairs::DevicePair;
use super::shared::shared_nights;
use crate::primary::scheme_of;
use crate::summary::people;
use crate::{Comparison, DeviceSummary};
use counterpane_model::{PlanMeasure, Scheme};
use counterpane_stats::{Figure, Resampling, ToldApart, cluster_bootstrap, rank_interval, rank_shares};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Mutex;

/// Devices that tell the same stages apart, with the ranks that each may have.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranks {
    /// The classes.
    pub scheme: Scheme,
    /// People who wore all of them on the same nights: those who are drawn anew.
    pub people: usize,
    /// Each device, by name.
    pub devices: Vec<Ranked>,
}

/// One device among others.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    /// Name of the device.
    pub device: String,
    /// Best and worst rank: 1 + those that are better beyond chance, to all less those that are worse.
    pub interval: (usize, usize),
    /// Share of resampled studies in which it has each rank, from the first; empty where fewer than two people wore all.
    pub shares: Vec<f64>,
}

/// Returns the ranks of each set of two or more devices of one scheme.
pub(crate) fn ranks(
    comparison: &Comparison,
    measure: PlanMeasure,
    pairs: &[DevicePair],
    asked: Resampling,
) -> Vec<Ranks> {
    let mut sets: BTreeMap<Scheme, Vec<&str>> = BTreeMap::new();
    for DeviceSummary { name, scheme, .. } in &comparison.devices {
        let tested = pairs.iter().any(|p| p.in_family && p.devices.contains(name));
        if let (Some(scheme), true) = (scheme, tested) {
            sets.entry(*scheme).or_default().push(name);
        }
    }
    sets.retain(|_, names| names.len() > 1);
    sets.into_iter()
        .rev()
        .filter_map(|(scheme, names)| of_set(comparison, measure, scheme, &names, pairs, asked))
        .collect()
}

fn of_set(
    comparison: &Comparison,
    measure: PlanMeasure,
    scheme: Scheme,
    names: &[&str],
    pairs: &[DevicePair],
    asked: Resampling,
) -> Option<Ranks> {
    let place = |name: &str| names.iter().position(|own| *own == name);
    let told = |pair: &DevicePair| {
        let better = pair.better()?;
        let [a, b] = [place(&pair.devices[better])?, place(&pair.devices[1 - better])?];
        Some(ToldApart { better: a, worse: b })
    };
    let apart: Vec<ToldApart> = pairs.iter().filter_map(told).collect();
    let means = means_of_people(comparison, measure, scheme_of(measure, Some(scheme))?, names);
    let shares = drawn(&means, names.len(), measure.in_minutes(), asked);
    let of = |(at, interval): (usize, (usize, usize))| Ranked {
        device: names[at].to_owned(),
        interval,
        shares: shares.get(at).cloned().unwrap_or_default(),
    };
    let devices = rank_interval(names.len(), &apart).into_iter().enumerate().map(of).collect();
    Some(Ranks { scheme, people: means.len(), devices })
}

/// For each person who wore all of the devices at once, the mean of each over those nights.
fn means_of_people(comparison: &Comparison, measure: PlanMeasure, scheme: Scheme, names: &[&str]) -> Vec<Vec<f64>> {
    let nights = shared_nights(comparison, names, scheme);
    let of_device = |at: usize| {
        let values: Vec<(&str, Figure)> =
            nights.iter().map(|n| (n.participant, n.value(at, measure, scheme))).collect();
        people(&values).into_iter().map(|(who, (sum, n))| (who, sum / n as f64)).collect::<BTreeMap<&str, f64>>()
    };
    let all: Vec<BTreeMap<&str, f64>> = (0..names.len()).map(of_device).collect();
    let who: BTreeSet<&str> = nights.iter().map(|n| n.participant).collect();
    who.into_iter().filter_map(|who| all.iter().map(|of| of.get(who).copied()).collect()).collect()
}

/// The shares of studies whose people are drawn anew; nothing below two people.
fn drawn(means: &[Vec<f64>], devices: usize, low_is_good: bool, asked: Resampling) -> Vec<Vec<f64>> {
    let rows = Mutex::new(Vec::new());
    let one = Resampling { threads: 1, ..asked };
    let of = |drawn: &[usize]| {
        let sum = |at: usize| drawn.iter().filter_map(|who| means.get(*who)?.get(at)).sum::<f64>();
        let sign = if low_is_good { -1.0 } else { 1.0 };
        let row: Vec<f64> = (0..devices).map(|at| sign * sum(at)).collect();
        if let Ok(mut rows) = rows.lock() {
            rows.push(row);
        }
        Ok(0.0)
    };
    let n = u32::try_from(means.len()).unwrap_or(u32::MAX);
    match cluster_bootstrap(n, one, of) {
        Ok(_) => rank_shares(devices, &rows.into_inner().unwrap_or_default()),
        Err(_) => Vec::new(),
    }
}
