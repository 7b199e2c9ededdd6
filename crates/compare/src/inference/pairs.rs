//! Device against device: on the same nights, in the same epochs, person by person.

use super::over_people::{OverPeople, over_people};
use super::ranks::{Ranks, ranks};
use super::shared::{SharedNight, shared_nights};
use crate::primary::scheme_of;
use crate::{Comparison, DeviceSummary};
use counterpane_model::{Plan, PlanMeasure, Scheme};
use counterpane_stats::on_threads;
use counterpane_stats::{Figure, Resampling, Scale, holm, sign_flip};
use std::collections::BTreeSet;

/// Up to this number of people no sign-flip test can reach p = 0.05: the smallest two-sided p is 2 / 2^P.
pub const PEOPLE_WITHOUT_TEST: usize = 5;

/// The level at which two devices are told apart.
pub const LEVEL: f64 = 0.05;

/// All pairs of devices that were worn on the same nights.
#[derive(Clone, Debug, PartialEq)]
pub struct DevicePairs {
    /// The measure on which devices are told apart: that of the protocol, else kappa.
    pub measure: PlanMeasure,
    /// Whether the protocol names it.
    pub named: bool,
    /// Number of people with any device.
    pub people: usize,
    /// Each pair, by name; none where all nights are of one person.
    pub pairs: Vec<DevicePair>,
    /// Which ranks are left open, for each set of devices that tell the same stages apart.
    pub ranks: Vec<Ranks>,
}

/// Two devices.
#[derive(Clone, Debug, PartialEq)]
pub struct DevicePair {
    /// The two.
    pub devices: [String; 2],
    /// The classes that both can express.
    pub scheme: Scheme,
    /// Epochs that both and the reference scored.
    pub epochs: u64,
    /// The pair is one of those that are told apart, all of which are adjusted for each other.
    pub in_family: bool,
    /// On the measure of [`DevicePairs::measure`].
    pub main: PairDifference,
    /// On accuracy and kappa, where they are not that measure: exploratory.
    pub others: Vec<PairDifference>,
}

/// How far two devices lie apart on one measure.
#[derive(Clone, Debug, PartialEq)]
pub struct PairDifference {
    /// The measure; of minutes too many or too few only their size is taken.
    pub measure: PlanMeasure,
    /// Mean over people of each device, on the shared epochs.
    pub means: [Figure; 2],
    /// First minus second, person by person.
    pub difference: OverPeople,
    /// p of the sign-flip test of the people's differences.
    pub p: Figure,
    /// The same by Holm, over all pairs of the family; `None` outside it.
    pub adjusted: Option<f64>,
}

impl DevicePair {
    /// Returns the place of the better of the two where they are told apart, 0 or 1.
    #[must_use]
    pub fn better(&self) -> Option<usize> {
        let told = self.main.adjusted.is_some_and(|p| p < LEVEL);
        let first = self.main.difference.mean.ok()? > 0.0;
        told.then_some(usize::from(first == self.main.measure.in_minutes()))
    }
}

impl DevicePairs {
    /// Returns how many pairs are adjusted for each other.
    #[must_use]
    pub fn family(&self) -> usize {
        self.pairs.iter().filter(|p| p.main.adjusted.is_some()).count()
    }

    /// Returns the most people that a pair of the family has.
    #[must_use]
    pub fn most_people(&self) -> usize {
        self.pairs.iter().filter(|p| p.in_family).map(|p| p.main.difference.n()).max().unwrap_or(0)
    }

    /// Says whether people and pairs allow of telling any two devices apart.
    #[must_use]
    pub fn may_tell(&self) -> bool {
        self.family() > 0 && self.smallest_p() < LEVEL
    }

    /// Returns the smallest adjusted p that the pair with most people could have had.
    #[must_use]
    pub fn smallest_p(&self) -> f64 {
        let people = i32::try_from(self.most_people()).unwrap_or(i32::MAX);
        (self.family() as f64 * 2.0 * 0.5_f64.powi(people)).min(1.0)
    }
}

/// Compares every two devices of a comparison with each other.
pub(crate) fn device_pairs(comparison: &Comparison, plan: Option<&Plan>, asked: Resampling) -> DevicePairs {
    let named = plan.and_then(|p| p.primary);
    let measure = named.unwrap_or(PlanMeasure::Kappa);
    let planned = plan.map(|p| p.devices.as_slice()).unwrap_or_default();
    let people: BTreeSet<&str> = comparison.nights.iter().map(|n| n.participant.as_str()).collect();
    let devices: Vec<&DeviceSummary> = comparison.devices.iter().filter(|d| d.scheme.is_some()).collect();
    let both = |i: usize| (i + 1..devices.len()).map(move |j| (i, j));
    let all: Vec<(&DeviceSummary, &DeviceSummary)> =
        (0..devices.len()).flat_map(both).map(|(i, j)| (devices[i], devices[j])).collect();
    let alone = Resampling { threads: 1, ..asked };
    let one = |(a, b): &(&DeviceSummary, &DeviceSummary)| pair(comparison, [a, b], measure, planned, alone);
    // One person's nights tell nothing of devices in general: nothing is tested then.
    let found = if people.len() < 2 { Vec::new() } else { on_threads(&all, asked.threads, one) };
    let mut pairs: Vec<DevicePair> = found.into_iter().flatten().collect();
    adjust(&mut pairs);
    let ranks = ranks(comparison, measure, &pairs, asked);
    DevicePairs { measure, named: named.is_some(), people: people.len(), pairs, ranks }
}

fn pair(
    comparison: &Comparison,
    two: [&DeviceSummary; 2],
    measure: PlanMeasure,
    planned: &[String],
    asked: Resampling,
) -> Option<DevicePair> {
    let names = two.map(|d| d.name.as_str());
    let scheme = scheme_of(measure, two[0].scheme.min(two[1].scheme))?;
    let nights = shared_nights(comparison, &names, scheme);
    let people: BTreeSet<&str> = nights.iter().map(|n| n.participant).collect();
    if people.len() < 2 {
        return None;
    }
    let others = [PlanMeasure::Accuracy, PlanMeasure::Kappa].into_iter().filter(|other| *other != measure);
    Some(DevicePair {
        devices: names.map(str::to_owned),
        scheme,
        epochs: nights.iter().map(SharedNight::epochs).sum(),
        in_family: planned.is_empty() || names.iter().all(|name| planned.iter().any(|p| p == name)),
        main: difference(&nights, measure, scheme, asked),
        others: others.map(|other| difference(&nights, other, scheme, asked)).collect(),
    })
}

fn difference(nights: &[SharedNight<'_>], measure: PlanMeasure, scheme: Scheme, asked: Resampling) -> PairDifference {
    let value = |night: &SharedNight<'_>, at: usize| night.value(at, measure, scheme);
    let apart: Vec<(&str, Figure)> =
        nights.iter().map(|n| (n.participant, value(n, 0).and_then(|first| Ok(first - value(n, 1)?)))).collect();
    // Only nights on which both have a value: else the means would stand for different nights.
    let known: Vec<&SharedNight<'_>> = nights.iter().zip(&apart).filter(|(_, d)| d.1.is_ok()).map(|(n, _)| n).collect();
    let mean = |at: usize| {
        crate::mean_over_participants(&known.iter().map(|n| (n.participant, value(n, at))).collect::<Vec<_>>())
    };
    let difference = over_people(&apart, Scale::Plain, asked);
    let each: Vec<f64> = difference.each.iter().map(|person| person.mean).collect();
    PairDifference { measure, means: [mean(0), mean(1)], p: sign_flip(&each, asked.seed), difference, adjusted: None }
}

/// Adjusts the pairs of the family for each other.
fn adjust(pairs: &mut [DevicePair]) {
    let family: Vec<&mut PairDifference> =
        pairs.iter_mut().filter(|p| p.in_family && p.main.p.is_ok()).map(|p| &mut p.main).collect();
    let p: Vec<f64> = family.iter().filter_map(|d| d.p.ok()).collect();
    for (of, adjusted) in family.into_iter().zip(holm(&p)) {
        of.adjusted = Some(adjusted);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::Limits;
    use crate::testing::{night, psg, recording};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Stage::{Asleep, Light, N3, R, W};
    use counterpane_model::{Decided, Night, Recording, Source, Stage};

    const ASKED: Resampling = Resampling { replicates: 400, seed: 1, threads: 2 };
    const FOUR: [Stage; 4] = [W, Light, N3, R];

    fn device(name: &str, can: &[Stage], letters: &str) -> Recording {
        let source = Source::Device { device: name.into(), unit: format!("{name}-1") };
        recording(&format!("P01/2026-04-04/{name}-1"), source, can, letters)
    }

    /// For each person what the scorer says, and what each device says.
    fn compared(people: &[(&str, Vec<Recording>)]) -> Comparison {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let one = |(i, (reference, devices)): (usize, &(&str, Vec<Recording>))| {
            let who = format!("P{i:02}");
            let own = |r: &Recording| Recording { participant: who.clone(), ..r.clone() };
            let devices: Vec<Recording> = devices.iter().map(own).collect();
            let night = Night { participant: who.clone(), ..night() };
            let devices: Vec<&Recording> = devices.iter().collect();
            compare_night(&night, &own(&psg(reference)), &devices, &Decided::default(), &protocol).unwrap()
        };
        compare(people.iter().enumerate().map(one).collect(), protocol)
    }

    /// Ten epochs of which the device has `wrong` wake for light.
    fn off_by(name: &str, wrong: usize) -> Recording {
        device(name, &FOUR, &format!("WWWWW{}{}", "W".repeat(wrong), "L".repeat(5 - wrong)))
    }

    fn study(wrong: &[(usize, usize)]) -> DevicePairs {
        let people: Vec<_> =
            wrong.iter().map(|(a, b)| ("WWWWW22222", vec![off_by("a", *a), off_by("b", *b)])).collect();
        device_pairs(&compared(&people), None, ASKED)
    }

    #[test]
    fn the_difference_is_that_of_the_same_people_and_the_test_flips_their_signs() {
        // Kappa is 1 - 0.2 wrong: differences 0.2, 0.4, 0.6; mean 0.4, s = 0.2, t with 2 degrees of freedom 4.30265.
        let found = study(&[(0, 1), (0, 2), (0, 3)]);
        let pair = &found.pairs[0];
        let Limits { low, high } = pair.main.difference.interval.unwrap();
        assert!((pair.main.difference.mean.unwrap() - 0.4).abs() < 1e-12);
        assert!((low + 0.09683).abs() < 5e-6 && (high - 0.89683).abs() < 5e-6, "{low} {high}");
        // Of the 8 patterns of signs only the two of one sign reach the mean.
        assert_eq!((pair.main.p, pair.main.adjusted, pair.better()), (Ok(0.25), Some(0.25), None));
        assert_eq!((pair.epochs, pair.scheme, found.people), (30, Scheme::Four, 3));
        assert_eq!(pair.others[0].measure, PlanMeasure::Accuracy);
        assert!((pair.others[0].difference.mean.unwrap() - 0.2).abs() < 1e-12);
    }

    #[test]
    fn six_people_can_tell_one_pair_apart_and_five_cannot() {
        let six = study(&[(0, 1), (0, 2), (0, 3), (0, 1), (0, 2), (0, 3)]);
        assert_eq!((six.pairs[0].main.p, six.pairs[0].better()), (Ok(2.0 / 64.0), Some(0)));
        assert_eq!(six.ranks[0].devices.iter().map(|d| d.interval).collect::<Vec<_>>(), [(1, 1), (2, 2)]);
        let five = study(&[(0, 1), (0, 2), (0, 3), (0, 1), (0, 2)]);
        assert_eq!((five.pairs[0].better(), five.smallest_p()), (None, 0.0625));
    }

    #[test]
    fn only_epochs_that_both_scored_count() {
        let people = |b: &str| vec![("WWWWW22222", vec![off_by("a", 5), device("b", &FOUR, b)]); 2];
        let found = device_pairs(&compared(&people("WWWWW.....")), None, ASKED);
        assert_eq!((found.pairs[0].epochs, found.pairs[0].others[0].means), (10, [Ok(1.0), Ok(1.0)]));
        assert_eq!(found.pairs[0].main.means[0], Err(counterpane_stats::Undefined::NoPairs));
    }

    #[test]
    fn one_person_tests_nothing() {
        let found = study(&[(0, 1)]);
        assert_eq!((found.people, found.pairs.len(), found.ranks.len()), (1, 0, 0));
    }

    #[test]
    fn two_devices_meet_in_the_classes_that_both_can_say() {
        let coarse =
            |wrong: usize| device("c", &[W, Asleep], &format!("WWWWW{}{}", "W".repeat(wrong), "A".repeat(5 - wrong)));
        let people = vec![("WWWWW22222", vec![off_by("a", 0), coarse(1)]); 3];
        let found = device_pairs(&compared(&people), None, ASKED);
        assert_eq!(found.pairs[0].scheme, Scheme::SleepWake);
        assert!(found.ranks.is_empty(), "they tell different stages apart, so none is above the other");
    }

    #[test]
    fn a_protocol_names_the_measure_and_the_devices() {
        let plan = Plan {
            primary: Some(PlanMeasure::Difference(Stage::Asleep)),
            devices: vec!["a".into()],
            ..Plan::default()
        };
        let people = vec![("WWWWW22222", vec![off_by("a", 0), off_by("b", 2)]); 2];
        let found = device_pairs(&compared(&people), Some(&plan), ASKED);
        // The second sleeps two epochs too little, a minute; its size counts, so the first is better.
        assert_eq!((found.named, found.pairs[0].main.means), (true, [Ok(0.0), Ok(1.0)]));
        assert_eq!((found.pairs[0].in_family, found.pairs[0].main.adjusted), (false, None));
        assert_eq!(found.pairs[0].others.len(), 2);
    }
}
