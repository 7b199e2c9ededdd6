//! How well one night pins its own numbers down.
//!
//! The pairs of epochs of a night are drawn anew in blocks, since neighbours resemble each other. It says nothing about
//! other nights or other people.

use super::agreement_intervals::{AgreementIntervals, agreement_intervals, drawn};
use super::interval::{Interval, NoInterval};
use super::pairing::{pairs, pairs_with_missing, sides};
use crate::{Agreement, Comparison, DeviceNight, NightComparison};
use counterpane_stats::on_threads;
use counterpane_stats::{NightStatistic, Resampling, Table, Undefined, accuracy};
use std::collections::BTreeMap;

/// The intervals of one device, or one further scorer, on one night, 95 % and approximate.
#[derive(Clone, Debug, PartialEq)]
pub struct WithinNight {
    /// Those of [`DeviceNight::agreement`].
    pub stages: Option<AgreementIntervals>,
    /// Those of [`DeviceNight::sleep_wake`].
    pub sleep_wake: Option<AgreementIntervals>,
    /// That of [`DeviceNight::accuracy_missing_wrong`].
    pub accuracy_missing_wrong: Interval,
}

/// Returns the intervals of a device on a night.
pub(crate) fn within_night(night: &NightComparison, device: &DeviceNight, asked: Resampling) -> WithinNight {
    let (reference, own) = sides(night, device);
    let of = |agreement: &Agreement| {
        agreement_intervals(agreement.scheme, &pairs(agreement.scheme, &reference, &own), asked)
    };
    let missing_wrong = match &device.agreement {
        Some(a) => {
            let pairs = pairs_with_missing(a.scheme, &reference, &own);
            let wanted = [NightStatistic::share(accuracy, Table::n)];
            drawn(a.scheme.classes().len() + 1, &pairs, asked, &wanted)[0]
        }
        None => Err(NoInterval::Undefined(Undefined::NoPairs)),
    };
    WithinNight {
        stages: device.agreement.as_ref().map(of),
        sleep_wake: device.sleep_wake.as_ref().map(of),
        accuracy_missing_wrong: missing_wrong,
    }
}

/// The intervals of every device of every night.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WithinNights {
    /// By the keys of reference and recording.
    of: BTreeMap<(String, String), WithinNight>,
}

impl WithinNights {
    /// Draws every night of a comparison anew, on as many threads as were asked for.
    pub(crate) fn draw(comparison: &Comparison, asked: Resampling) -> WithinNights {
        let nights = comparison.nights.iter();
        let all: Vec<(&NightComparison, &DeviceNight)> =
            nights.flat_map(|night| night.devices.iter().map(move |device| (night, device))).collect();
        // One thread for each night is less to start than several for each number.
        let alone = Resampling { threads: 1, ..asked };
        let key = |night: &NightComparison, device: &DeviceNight| (night.reference_key.clone(), device.key.clone());
        let one = |(night, device): &(&_, &_)| (key(night, device), within_night(night, device, alone));
        WithinNights { of: on_threads(&all, asked.threads, one).into_iter().collect() }
    }

    /// Returns those of a device on a night; `None` for a night that is not of the comparison.
    #[must_use]
    pub fn of(&self, night: &NightComparison, device: &DeviceNight) -> Option<&WithinNight> {
        self.of.get(&(night.reference_key.clone(), device.key.clone()))
    }

    /// Returns the keys of reference and recording with what is said of them, by key.
    pub fn all(&self) -> impl Iterator<Item = (&str, &str, &WithinNight)> {
        self.of.iter().map(|((reference, key), of)| (reference.as_str(), key.as_str(), of))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Scheme;
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_stats::{Figure, NightInterval, Scale, cohen_kappa, night_interval};

    const ASKED: Resampling = Resampling { replicates: 400, seed: 1, threads: 2 };

    /// Ten bouts of wake, light and REM sleep each, and two of deep sleep; the device is late by two epochs.
    fn reference() -> String {
        let cycle = |i: usize| format!("{}{}{}", "W".repeat(8), "2".repeat(20 + i % 3), "R".repeat(9 + i % 4));
        let deep = |i: usize| if i % 5 == 2 { "3".repeat(25) } else { String::new() };
        (0..10).map(|i| cycle(i) + &deep(i)).collect()
    }

    fn late(reference: &str) -> String {
        let light = reference.replace('2', "L");
        format!("WW{}", &light[..light.len() - 2])
    }

    fn found(reference: &str, device: &str) -> (NightComparison, WithinNight) {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let device = ring(&[W, Light, N3, R], device);
        let night = compare_night(&night(), &psg(reference), &[&device], &Decided::default(), &protocol).unwrap();
        let within = WithinNights::draw(&compare(vec![night.clone()], protocol), ASKED);
        let own = within.of(&night, &night.devices[0]).unwrap().clone();
        (night, own)
    }

    #[test]
    fn each_number_lies_within_its_own_interval() {
        let (night, own) = found(&reference(), &late(&reference()));
        let (a, of) = (night.devices[0].agreement.as_ref().unwrap(), own.stages.unwrap());
        let inside = |value: Figure, interval: Interval| {
            let (value, limits) = (value.unwrap(), interval.unwrap());
            assert!(limits.low < value && value < limits.high, "{value} {limits:?}");
        };
        inside(a.accuracy, of.accuracy);
        inside(a.kappa, of.kappa);
        inside(night.devices[0].accuracy_missing_wrong, own.accuracy_missing_wrong);
        for (class, interval) in a.per_class.iter().zip(&of.per_class).filter(|(c, _)| c.class != N3) {
            inside(class.sensitivity, interval.sensitivity);
            inside(class.ppv, interval.ppv);
        }
        assert_eq!(own.sleep_wake.unwrap().per_class.len(), 2);
    }

    #[test]
    fn a_stage_of_two_bouts_has_no_interval_and_neither_has_a_mean_over_it() {
        let of = found(&reference(), &late(&reference())).1.stages.unwrap();
        let deep = &of.per_class[2];
        assert_eq!(
            (deep.bouts, deep.sensitivity, deep.ppv),
            (Some(2), Err(NoInterval::FewBouts(2)), Err(NoInterval::FewBouts(2)))
        );
        assert_eq!(
            (of.mean_sensitivity, of.worst_sensitivity),
            (Err(NoInterval::FewBouts(2)), Err(NoInterval::FewBouts(2)))
        );
        let without = reference().replace('3', "");
        let of = found(&without, &late(&without)).1.stages.unwrap();
        assert!(of.mean_sensitivity.is_ok() && of.worst_sensitivity.is_ok());
        assert_eq!(of.per_class[2].sensitivity, Err(NoInterval::Undefined(Undefined::RefClassAbsent)));
    }

    #[test]
    fn the_interval_is_that_of_the_statistics_crate_on_the_same_pairs() {
        let (night, own) = found(&reference(), &late(&reference()));
        let (ours, device) = sides(&night, &night.devices[0]);
        let pairs = pairs(Scheme::Four, &ours, &device);
        let alone = Resampling { threads: 1, ..ASKED };
        let NightInterval { interval, .. } = night_interval(4, &pairs, Scale::Coefficient, alone, cohen_kappa).unwrap();
        assert_eq!(own.stages.unwrap().kappa, Ok(interval.into()));
    }

    #[test]
    fn all_of_a_stage_found_is_worth_no_more_than_its_own_epochs() {
        let device = reference().replace('2', "L").replacen("WWWWWWWWLLLL", "WWWWWWWWWWWW", 4);
        let of = found(&reference(), &device).1.stages.unwrap();
        let (wake, agreement) = (of.per_class[0].sensitivity.unwrap(), of.accuracy.unwrap());
        assert!(wake.high == 1.0 && wake.low < agreement.low, "{wake:?} {agreement:?}");
    }

    #[test]
    fn a_handful_of_epochs_and_full_agreement_say_why_they_have_none() {
        let of = found("WW22", "WWLL").1.stages.unwrap();
        assert_eq!(of.accuracy, Err(NoInterval::FewEpochs(4)));
        let all = found(&reference(), &reference().replace('2', "L")).1.stages.unwrap();
        assert_eq!(all.kappa, Err(NoInterval::AtTheEnd));
        assert_eq!(all.accuracy.unwrap().high, 1.0);
    }

    #[test]
    fn what_is_left_out_is_not_drawn() {
        let (mut night, _) = found("WW22RR33", "WWLLRR33");
        night.excluded = vec![(crate::testing::at(0), crate::testing::at(2))];
        let (reference, device) = sides(&night, &night.devices[0]);
        assert_eq!(pairs(Scheme::Four, &reference, &device), [(1, 1), (1, 1), (3, 3), (3, 3), (2, 2), (2, 2)]);
        night.devices[0].cells[4] = counterpane_model::Cell::Missing;
        let (reference, device) = sides(&night, &night.devices[0]);
        assert_eq!(pairs_with_missing(Scheme::Four, &reference, &device)[2], (3, 4));
    }
}
