//! All devices over all their nights: means over people beside the range that they hide.

use super::table::{Cell, Row, Table};
use crate::minutes::{self, Quantity};
use crate::words;
use crate::words::intervals::{between_minutes, between_shares, between_two};
use counterpane_compare::agreement::{agreement, fold};
use counterpane_compare::comparison::{Figure, Undefined};
use counterpane_compare::{
    Agreement, Comparison, DeviceNight, DeviceSummary, Inference, Limits, NightComparison, OverPeople, Scale,
    nights_of_device, over_people,
};
use std::collections::BTreeMap;

/// The caution of this section.
pub(crate) const CAUTION: &str = "Read this with care: epochs of one night resemble each other, and so do nights of one \
    person. These numbers describe the nights of this report; they are no test, no ranking, and no forecast for \
    another person. Look at the ranges before the means.";

/// One device with the nights that count for it.
pub(crate) struct Pool<'a> {
    summary: &'a DeviceSummary,
    nights: Vec<(&'a NightComparison, &'a DeviceNight)>,
}

impl<'a> Pool<'a> {
    /// Returns the nights of a device that were compared, or could have been had it said anything.
    pub(crate) fn of(comparison: &'a Comparison, summary: &'a DeviceSummary) -> Pool<'a> {
        let mut nights = nights_of_device(comparison, &summary.name);
        nights.retain(|(_, device)| device.accuracy_missing_wrong.is_ok());
        Pool { summary, nights }
    }

    /// Epochs to which the device gives a stage, of all that the references scored.
    pub(crate) fn coverage(&self) -> Figure {
        let both = self.nights.iter().map(|(_, d)| d.coverage.unwrap_or(0.0) * d.reference_scored as f64).sum();
        share(both, self.scored())
    }

    /// Epochs that agree, of all that the references scored: missing counts as wrong.
    pub(crate) fn missing_wrong(&self) -> Figure {
        share(self.summary.pooled.as_ref().map_or(0.0, agreed), self.scored())
    }

    /// Epochs that the references scored, in words.
    pub(crate) fn n(&self) -> String {
        format!("{:.0} epochs of {}", self.scored(), words::count(self.nights.len(), "night"))
    }

    /// Ranges of a number of an agreement over nights and over people, in words.
    pub(crate) fn ranges(&self, of: fn(&Agreement) -> Figure, wording: fn(f64) -> String) -> Vec<String> {
        let value = |d: &DeviceNight| of(&self.folded(d)?).ok();
        ranges(&self.values(value), wording)
    }

    fn scored(&self) -> f64 {
        self.nights.iter().map(|(_, d)| d.reference_scored as f64).sum()
    }

    /// What a night gave, in the scheme in which the device is summed up.
    fn folded(&self, device: &DeviceNight) -> Option<Agreement> {
        let scheme = self.summary.scheme?;
        Some(agreement(scheme, &fold(device.agreement.as_ref()?, scheme)?))
    }

    /// A number of each night that has it, with its person.
    fn values(&self, of: impl Fn(&DeviceNight) -> Option<f64>) -> Vec<(&'a str, f64)> {
        self.nights.iter().filter_map(|(night, d)| Some((night.participant.as_str(), of(d)?))).collect()
    }

    fn missing_wrong_on(&self, device: &DeviceNight) -> Option<f64> {
        let right = self.folded(device).map_or(0.0, |a| agreed(&a));
        share(right, device.reference_scored as f64).ok()
    }

    fn under(&self) -> String {
        match self.summary.scheme {
            Some(scheme) => format!("in {}; {}", words::scheme_words(scheme), words::over(self.summary)),
            None => words::over(self.summary),
        }
    }
}

fn agreed(a: &Agreement) -> f64 {
    a.matrix.iter().enumerate().filter_map(|(i, row)| row.get(i)).sum::<u64>() as f64
}

fn share(part: f64, all: f64) -> Figure {
    if all > 0.0 { Ok(part / all) } else { Err(Undefined::NothingScored) }
}

/// The least and the most over nights, and over the means of people where there are several.
fn ranges(values: &[(&str, f64)], wording: fn(f64) -> String) -> Vec<String> {
    let mut people: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for (person, value) in values {
        people.entry(person).or_default().push(*value);
    }
    let means: Vec<f64> = people.values().map(|v| v.iter().sum::<f64>() / v.len() as f64).collect();
    let nights: Vec<f64> = values.iter().map(|(_, v)| *v).collect();
    [("nights", nights), ("people", means)].iter().filter_map(|(what, of)| range(what, of, wording)).collect()
}

fn range(what: &str, values: &[f64], wording: fn(f64) -> String) -> Option<String> {
    if values.len() < 2 {
        return None;
    }
    let least = wording(values.iter().copied().fold(f64::INFINITY, f64::min));
    let most = wording(values.iter().copied().fold(f64::NEG_INFINITY, f64::max));
    if least == most {
        return Some(format!("{what}: all {most}"));
    }
    let unit = if least.ends_with(" %") && most.ends_with(" %") { " %" } else { "" };
    Some(format!("{what} {} to {most}", least.strip_suffix(unit).unwrap_or(&least)))
}

/// Every device in one line: agreement beside what it leaves out.
pub(crate) fn overview(pools: &[Pool<'_>], inference: &Inference) -> Table {
    let note = "Means weigh each person the same; coverage pools every epoch and is counted, so it has no interval. Below each \
                the 95 % interval of the mean over people (of one person: over their nights, and for this person only), then the \
                least and the most over nights, and over the means of people. Devices that tell different stages apart are not comparable in these numbers.";
    let columns =
        ["Device", "Epochs that agree", "Cohen's kappa", "Coverage", "Agree, of all scored (missing counts as wrong)"];
    let mut table = Table::new("all-o".into(), "Agreement of each device over its nights", note, &columns);
    for pool in pools.iter().filter(|p| p.summary.pooled.is_some()) {
        let own = inference.people_of(&pool.summary.name);
        let missing = own.map(|p| &p.accuracy_missing_wrong);
        let wrong = pool.values(|d| pool.missing_wrong_on(d));
        let cells = vec![
            mean(
                pool.summary.mean_accuracy,
                own.map(|p| &p.stages.accuracy),
                &pool.ranges(|a| a.accuracy, words::share),
            ),
            kappa(pool.summary.mean_kappa, own.map(|p| &p.stages.kappa), &pool.ranges(|a| a.kappa, words::two)),
            cell(pool.coverage(), words::share, &ranges(&pool.values(|d| d.coverage.ok()), words::share)),
            mean(missing.map_or(Err(Undefined::NoPairs), |m| m.mean), missing, &ranges(&wrong, words::share)),
        ];
        table.row(Row::new(&pool.summary.name, &pool.under(), cells));
    }
    table
}

/// A mean over people of shares, its interval, and ranges below.
fn mean(value: Figure, of: Option<&OverPeople>, under: &[String]) -> Cell {
    cell(value, words::share, &[within(of, between_shares), under.to_vec()].concat())
}

fn kappa(value: Figure, of: Option<&OverPeople>, under: &[String]) -> Cell {
    cell(value, words::two, &[within(of, between_two), under.to_vec()].concat())
}

/// The interval of a mean over people; the row says of how many.
fn within(of: Option<&OverPeople>, wording: fn(Limits) -> String) -> Vec<String> {
    let said = |of: &OverPeople| match of.interval {
        Ok(limits) => format!("95 %: {}", wording(limits)),
        Err(why) => why.words(),
    };
    of.map(said).into_iter().collect()
}

fn cell(value: Figure, wording: fn(f64) -> String, under: &[String]) -> Cell {
    match value {
        Ok(value) => Cell::number_lines(&wording(value), &under.iter().map(String::as_str).collect::<Vec<_>>()),
        Err(_) => Cell::none("-"),
    }
}

/// Mean differences in minutes of every device, with the range over nights and people.
pub(crate) fn differences(comparison: &Comparison, inference: &Inference) -> Table {
    let note = "Device minus reference over the epochs that both scored: the mean over people of the mean over their nights. \
                Below it the 95 % interval of the mean over people (of one person: over their nights, and for this person only), \
                then the least and the most over nights, and over the means of people; a mean near 0 may hide large differences of both signs. Claims are not in it.";
    let of = |device: &DeviceSummary| {
        let nights = nights_of_device(comparison, &device.name);
        let counted = |(night, d)| Some((night, minutes::counted_of(&device.name, d)?));
        nights.into_iter().filter_map(counted).collect::<Vec<(&NightComparison, _)>>()
    };
    let all: Vec<_> = comparison.devices.iter().map(|d| (d, of(d))).filter(|(_, nights)| !nights.is_empty()).collect();
    let sources: Vec<_> = all.iter().flat_map(|(_, nights)| nights.iter().map(|(_, s)| s.clone())).collect();
    let quantities = minutes::quantities(&sources);
    let heads: Vec<&str> = std::iter::once("Device").chain(quantities.iter().map(|q| q.head())).collect();
    let mut table = Table::new("all-d".into(), "Minutes over all nights: mean difference", note, &heads);
    for (device, nights) in &all {
        let people = nights.iter().map(|(n, _)| &n.participant).collect::<std::collections::BTreeSet<_>>().len();
        let under = format!("{} of {}", words::count(nights.len(), "night"), words::count(people, "participant"));
        let cells = quantities.iter().map(|q| difference(nights, *q, inference)).collect();
        table.row(Row::new(&device.name, &under, cells));
    }
    table
}

fn difference(
    nights: &[(&NightComparison, minutes::SourceMinutes<'_>)],
    quantity: Quantity,
    inference: &Inference,
) -> Cell {
    let own: Vec<(&str, Result<f64, String>)> =
        nights.iter().map(|(night, s)| (night.participant.as_str(), s.difference(quantity))).collect();
    let known: Vec<(&str, f64)> = own.iter().filter_map(|(p, d)| Some((*p, d.clone().ok()?))).collect();
    let figures: Vec<(&str, Figure)> = known.iter().map(|(p, d)| (*p, Ok(*d))).collect();
    let of = over_people(&figures, Scale::Plain, inference.asked);
    let Ok(mean) = of.mean else {
        let why = own.into_iter().find_map(|(_, d)| d.err()).unwrap_or_else(|| "-".to_owned());
        return Cell::none(&why);
    };
    let mut under = [within(Some(&of), between_minutes), ranges(&known, bare)].concat();
    if known.len() < nights.len() {
        under.push(format!("from {} only", words::count(known.len(), "night")));
    }
    Cell::number_lines(&words::signed(mean), &under.iter().map(String::as_str).collect::<Vec<_>>())
}

/// The unit stands at the mean; without it the ranges find room beside each other.
fn bare(minutes: f64) -> String {
    words::signed(minutes).trim_end_matches(" min").to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_say_the_least_and_the_most_over_nights_and_people() {
        let values = [("P01", -10.0), ("P01", 20.0), ("P02", 2.5)];
        assert_eq!(ranges(&values, bare), ["nights \u{2212}10 to +20".to_owned(), "people +2.5 to +5".to_owned()]);
        assert_eq!(ranges(&values[..2], words::two), ["nights \u{2212}10.00 to 20.00".to_owned()]);
        assert_eq!(ranges(&[("P01", 0.997), ("P01", 0.996)], words::share), ["nights: all over 99 %".to_owned()]);
        assert!(ranges(&values[..1], words::share).is_empty());
    }
}
