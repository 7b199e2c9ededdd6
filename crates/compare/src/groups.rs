//! The figures of a device by groups of its nights: before and after an update, left and right, young and old.

use crate::primary::{primary, scale, scheme_of};
use crate::summary::{interval_of_people, mean_of_people};
use crate::{Comparison, DeviceNight, DeviceSummary, NightComparison, mean_over_participants, nights_of_device};
use counterpane_model::stage::UnknownWord;
use counterpane_model::{Missing, PlanMeasure};
use counterpane_stats::{Figure, Resampling, Scale, Undefined};
use std::collections::BTreeMap;

/// What tells nights of a device apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum By {
    /// Version of the app.
    App,
    /// Version of the firmware.
    Firmware,
    /// Group of the participant.
    Group,
    /// Side of the body.
    Side,
    /// Site on the body.
    Site,
    /// The physical piece.
    Unit,
}

impl By {
    /// Everything that tells nights apart, by name.
    pub const ALL: [By; 6] = [By::App, By::Firmware, By::Group, By::Side, By::Site, By::Unit];

    /// Returns the word that the command and JSON use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            By::App => "app",
            By::Firmware => "firmware",
            By::Group => "group",
            By::Side => "side",
            By::Site => "site",
            By::Unit => "unit",
        }
    }
}

impl std::str::FromStr for By {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<By, UnknownWord> {
        By::ALL.into_iter().find(|by| by.code() == text).ok_or_else(|| UnknownWord {
            what: "way to group nights",
            word: text.to_owned(),
            known: By::ALL.map(By::code).join(", "),
        })
    }
}

/// What was asked of a grouping.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupsAsked {
    /// What tells nights apart.
    pub by: By,
    /// The measures.
    pub measures: Vec<PlanMeasure>,
    /// What becomes of missing epochs in them.
    pub missing: Missing,
    /// What intervals are drawn with.
    pub drawn: Resampling,
}

/// The figures of every device by groups of its nights.
#[derive(Clone, Debug, PartialEq)]
pub struct Grouping {
    /// What tells nights apart.
    pub by: By,
    /// The measures.
    pub measures: Vec<PlanMeasure>,
    /// Device by device, by name; those that are not compared are not there.
    pub devices: Vec<GroupedDevice>,
}

/// One device by groups.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupedDevice {
    /// Name of the device.
    pub device: String,
    /// Its groups in the order of their first nights.
    pub groups: Vec<Group>,
    /// Every two groups.
    pub pairs: Vec<GroupPair>,
}

/// The nights of one group.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What they share; `None` where it is not stated.
    pub name: Option<String>,
    /// Number of nights with a value of any measure.
    pub nights: usize,
    /// Number of participants of those.
    pub participants: usize,
    /// For each measure the mean over people of the mean over their nights.
    pub figures: Vec<Figure>,
    /// For each measure the 95 % interval of that mean over people.
    pub intervals: Vec<Result<(f64, f64), Undefined>>,
}

/// Two groups of the same device.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupPair {
    /// Places of the two groups.
    pub of: [usize; 2],
    /// Number of participants who have nights in both.
    pub in_both: usize,
    /// For each measure the mean over those participants of second minus first, with its 95 % interval.
    pub differences: Vec<Difference>,
}

/// A mean difference with its 95 % interval, or why there is none.
pub type Difference = Result<(f64, (f64, f64)), NoDifference>;

/// Why two groups are not set against each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoDifference {
    /// Nobody has nights in both: the groups differ in their people too.
    NobodyInBoth,
    /// One person has: nothing tells the device from the person.
    OneInBoth,
    /// There is no value.
    Undefined(Undefined),
}

impl NoDifference {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            NoDifference::NobodyInBoth => "nobody_in_both",
            NoDifference::OneInBoth => "one_in_both",
            NoDifference::Undefined(why) => why.code(),
        }
    }
}

/// Returns the figures of every device by groups; `label` gives the group of a device's night, by participant, label of the night,
/// and piece.
#[must_use]
pub fn groups(
    comparison: &Comparison,
    asked: &GroupsAsked,
    label: &dyn Fn(&str, &str, &str) -> Option<String>,
) -> Grouping {
    let of = |device: &DeviceSummary| of_device(comparison, device, asked, label);
    let devices = comparison.devices.iter().filter_map(of).collect();
    Grouping { by: asked.by, measures: asked.measures.clone(), devices }
}

/// One night: its participant and a figure for each measure.
type Value<'a> = (&'a str, Vec<Figure>);

fn of_device(
    comparison: &Comparison,
    device: &DeviceSummary,
    asked: &GroupsAsked,
    label: &dyn Fn(&str, &str, &str) -> Option<String>,
) -> Option<GroupedDevice> {
    let finest = device.scheme?;
    let mut found: Vec<(Option<String>, &str, Vec<Value<'_>>)> = Vec::new();
    let value = |n: &NightComparison, d: &DeviceNight, m: PlanMeasure| {
        primary(n, d, m, asked.missing, scheme_of(m, Some(finest)).ok_or(Undefined::NoPairs)?)
    };
    for (n, d) in nights_of_device(comparison, &device.name) {
        let name = label(&n.participant, &n.night, d.source.piece());
        let figures = asked.measures.iter().map(|m| value(n, d, *m)).collect();
        let own: Value<'_> = (&n.participant, figures);
        match found.iter_mut().find(|(other, ..)| *other == name) {
            Some((_, first, values)) => {
                *first = (*first).min(n.night.as_str());
                values.push(own);
            }
            None => found.push((name, &n.night, vec![own])),
        }
    }
    found.sort_by(|a, b| (a.1, &a.0).cmp(&(b.1, &b.0)));
    let groups = found.iter().map(|(name, _, values)| group(name, values, asked)).collect();
    let pairs = (0..found.len()).flat_map(|i| (i + 1..found.len()).map(move |j| [i, j]));
    let pairs = pairs.map(|of| pair(of, &found[of[0]].2, &found[of[1]].2, asked)).collect();
    Some(GroupedDevice { device: device.name.clone(), groups, pairs })
}

fn group(name: &Option<String>, values: &[Value<'_>], asked: &GroupsAsked) -> Group {
    let defined = || values.iter().filter(|(_, figures)| figures.iter().any(Result::is_ok));
    let people: std::collections::BTreeSet<&str> = defined().map(|(who, _)| *who).collect();
    let of = |m: usize| measure(values, m);
    let scales = asked.measures.iter().map(|m| scale(*m)).enumerate();
    Group {
        name: name.clone(),
        nights: defined().count(),
        participants: people.len(),
        figures: (0..asked.measures.len()).map(|m| mean_over_participants(&of(m))).collect(),
        intervals: scales.map(|(m, scale)| interval_of_people(&mean_of_people(&of(m)), scale, asked.drawn)).collect(),
    }
}

fn measure<'a>(values: &[Value<'a>], m: usize) -> Vec<(&'a str, Figure)> {
    values.iter().filter_map(|(who, figures)| Some((*who, *figures.get(m)?))).collect()
}

/// People who have nights in both groups are their own control; others would make the difference one of people.
fn pair(of: [usize; 2], first: &[Value<'_>], second: &[Value<'_>], asked: &GroupsAsked) -> GroupPair {
    let own = |values: &[Value<'_>], m: usize| -> BTreeMap<String, f64> {
        let mut by: BTreeMap<&str, Vec<(&str, Figure)>> = BTreeMap::new();
        measure(values, m).into_iter().for_each(|(who, figure)| by.entry(who).or_default().push((who, figure)));
        by.into_iter().filter_map(|(who, own)| Some((who.to_owned(), mean_over_participants(&own).ok()?))).collect()
    };
    let in_both = |m: usize| -> Vec<f64> {
        let (a, b) = (own(first, m), own(second, m));
        a.iter().filter_map(|(who, value)| Some(b.get(who)? - value)).collect()
    };
    let people = |values: &[Value<'_>]| {
        values.iter().map(|(who, _)| (*who).to_owned()).collect::<std::collections::BTreeSet<_>>()
    };
    let difference = |m: usize| match in_both(m).as_slice() {
        [] => Err(NoDifference::NobodyInBoth),
        [_] => Err(NoDifference::OneInBoth),
        several => {
            let mean = several.iter().sum::<f64>() / several.len() as f64;
            let interval = interval_of_people(several, Scale::Plain, asked.drawn);
            interval.map(|i| (mean, i)).map_err(NoDifference::Undefined)
        }
    };
    GroupPair {
        of,
        in_both: people(first).intersection(&people(second)).count(),
        differences: (0..asked.measures.len()).map(difference).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Stage::{Light, N3, R, W};

    fn one(participant: &str, label: &str, device: &str) -> NightComparison {
        let moved = |mut r: counterpane_model::Recording| {
            (r.participant, r.night) = (participant.to_owned(), label.to_owned());
            r
        };
        let night = counterpane_model::Night { participant: participant.into(), label: label.into(), ..night() };
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let others = [&moved(ring(&[W, Light, N3, R], device))];
        compare_night(&night, &moved(psg("WW2233RR")), &others, &Decided::default(), &protocol).unwrap()
    }

    /// Groups by the first letter of the night's label.
    fn check(nights: &[(&str, &str, &str)]) -> GroupedDevice {
        let nights = nights.iter().map(|(p, n, d)| one(p, n, d)).collect();
        let asked = GroupsAsked {
            by: By::Firmware,
            measures: vec![PlanMeasure::Accuracy],
            missing: Missing::LeftOut,
            drawn: Resampling { replicates: 200, seed: 1, threads: 1 },
        };
        let comparison = compare(nights, Protocol { scheme: None, window: Window::Scored });
        groups(&comparison, &asked, &|_, night, _| Some(night[..1].to_owned())).devices.remove(0)
    }

    #[test]
    fn people_who_have_nights_before_and_after_are_their_own_control() {
        let found = check(&[
            ("P01", "a1", "WLLL33RR"),
            ("P01", "b1", "WWLL33RR"),
            ("P02", "a1", "WLLLLLRR"),
            ("P02", "b1", "WWLLL3RR"),
            ("P03", "b1", "LLLLLLLL"),
        ]);
        let names: Vec<_> = found.groups.iter().map(|g| (g.name.clone().unwrap(), g.nights, g.participants)).collect();
        assert_eq!(names, [("a".into(), 2, 2), ("b".into(), 3, 3)]);
        assert_eq!(found.groups[0].figures, [Ok((7.0 / 8.0 + 5.0 / 8.0) / 2.0)]);
        let pair = &found.pairs[0];
        // P03 has no night before, so only the other two count: they gain one and two epochs of eight.
        assert_eq!(pair.in_both, 2);
        let (mean, (low, high)) = pair.differences[0].unwrap();
        // By hand: s = 0.125 / sqrt(2), its error 0.0625, t(97.5 %, 1) = 12.7062.
        assert!(mean == 0.1875 && (low + 0.60664).abs() < 1e-4 && (high - 0.98164).abs() < 1e-4, "{low} {high}");
    }

    #[test]
    fn a_gain_that_is_the_same_for_everybody_has_no_interval() {
        let found = check(&[
            ("P01", "a1", "WLLL33RR"),
            ("P01", "b1", "WWLL33RR"),
            ("P02", "a1", "WLLL33RR"),
            ("P02", "b1", "WWLL33RR"),
        ]);
        assert_eq!(found.pairs[0].differences, [Err(NoDifference::Undefined(Undefined::ZeroVariance))]);
    }

    #[test]
    fn groups_of_different_people_are_not_set_against_each_other() {
        let apart = check(&[("P01", "a1", "WLLL33RR"), ("P02", "b1", "WWLL33RR")]);
        assert_eq!(apart.pairs[0].differences, [Err(NoDifference::NobodyInBoth)]);
        let one = check(&[("P01", "a1", "WLLL33RR"), ("P01", "b1", "WWLL33RR"), ("P02", "b1", "WWLL33RR")]);
        assert_eq!(one.pairs[0].differences, [Err(NoDifference::OneInBoth)]);
        assert_eq!(one.groups[0].intervals, [Err(Undefined::NTooSmall)]);
    }
}
