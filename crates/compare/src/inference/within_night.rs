//! How well one night pins its own numbers down.
//!
//! The pairs of epochs of a night are drawn anew in blocks, since neighbours resemble each other. It says nothing about
//! other nights or other people.

use super::interval::{Interval, NoInterval};
use super::pairing::{bouts, pairs, pairs_with_missing, sides};
use super::threads::on_threads;
use crate::{Agreement, Comparison, DeviceNight, NightComparison};
use counterpane_model::{Scheme, Stage};
use counterpane_stats::{
    Figure, Resampling, Scale, Table, Undefined, WORST_NEEDS, accuracy, balanced_accuracy, cohen_kappa, effective_n,
    night_interval, ppv, sensitivity, wilson_interval_of_share,
};
use std::collections::BTreeMap;

/// A stage with fewer bouts than this gets no interval. A convention of this program: a spread cannot be learned from a
/// handful of bouts.
pub const BOUTS_WANT: usize = 5;

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

/// The intervals of the numbers of one matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct AgreementIntervals {
    /// Share of pairs that agree.
    pub accuracy: Interval,
    /// Cohen's kappa.
    pub kappa: Interval,
    /// Mean of the sensitivities of the classes that the reference has.
    pub mean_sensitivity: Interval,
    /// The least sensitivity among the classes with at least 20 epochs; its own, since a minimum leans low.
    pub worst_sensitivity: Interval,
    /// One entry for each class of the scheme, in its order.
    pub per_class: Vec<ClassIntervals>,
}

/// The intervals of one class.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassIntervals {
    /// The class.
    pub class: Stage,
    /// Bouts of the class that the reference has among the pairs.
    pub bouts: usize,
    /// Bouts of the class that the device has among the pairs.
    pub device_bouts: usize,
    /// Of the reference's epochs of the class, the share that the device calls so.
    pub sensitivity: Interval,
    /// Of the device's epochs of the class, the share that the reference calls so.
    pub ppv: Interval,
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
            Drawn { classes: a.scheme.classes().len() + 1, pairs: &pairs, asked }.of(Scale::Share, 1.0, accuracy)
        }
        None => Err(NoInterval::Undefined(Undefined::NoPairs)),
    };
    WithinNight {
        stages: device.agreement.as_ref().map(of),
        sleep_wake: device.sleep_wake.as_ref().map(of),
        accuracy_missing_wrong: missing_wrong,
    }
}

/// Returns the intervals of the numbers of the pairs of one night.
pub(crate) fn agreement_intervals(scheme: Scheme, pairs: &[(usize, usize)], asked: Resampling) -> AgreementIntervals {
    let classes = scheme.classes();
    let drawn = Drawn { classes: classes.len(), pairs, asked };
    let count = |class: usize| pairs.iter().filter(|(r, _)| *r == class).count();
    let of_class = |(i, class): (usize, &Stage)| class_intervals(&drawn, i, *class);
    let per_class: Vec<ClassIntervals> = classes.iter().enumerate().map(of_class).collect();
    let with = |least: usize| (0..classes.len()).filter(|i| count(*i) >= least).collect::<Vec<_>>();
    let (present, counted) = (with(1), with(usize::try_from(WORST_NEEDS).unwrap_or(usize::MAX)));
    let rarest = |of: &[usize]| of.iter().map(|i| count(*i)).min().unwrap_or(0) as f64 / pairs.len().max(1) as f64;
    let few = |of: &[usize]| of.iter().map(|i| per_class[*i].bouts).filter(|n| *n < BOUTS_WANT).min();
    let over = |of: &[usize], statistic: &(dyn Fn(&Table) -> Figure + Sync)| match few(of) {
        Some(n) => Err(NoInterval::FewBouts(n)),
        None if of.is_empty() => Err(NoInterval::Undefined(Undefined::NTooSmall)),
        None => drawn.of(Scale::Share, rarest(of), statistic),
    };
    AgreementIntervals {
        accuracy: drawn.of(Scale::Share, 1.0, accuracy),
        kappa: drawn.of(Scale::Coefficient, 1.0, cohen_kappa),
        mean_sensitivity: over(&present, &|t| all_drawn(t, &present).and_then(|()| balanced_accuracy(t))),
        worst_sensitivity: over(&counted, &|t| least(t, &counted)),
        per_class,
    }
}

fn class_intervals(drawn: &Drawn<'_>, i: usize, class: Stage) -> ClassIntervals {
    let share = |n: usize| n as f64 / drawn.pairs.len().max(1) as f64;
    let reference_share = share(drawn.pairs.iter().filter(|(r, _)| *r == i).count());
    let device_share = share(drawn.pairs.iter().filter(|(_, d)| *d == i).count());
    let own = bouts(drawn.pairs.iter().map(|(r, _)| *r), i);
    let device = bouts(drawn.pairs.iter().map(|(_, d)| *d), i);
    let of = |part: f64, statistic: fn(&Table, usize) -> Figure| drawn.of(Scale::Share, part, |t| statistic(t, i));
    let defined = |part: f64, why| if part > 0.0 { Ok(()) } else { Err(NoInterval::Undefined(why)) };
    let enough = if own < BOUTS_WANT { Err(NoInterval::FewBouts(own)) } else { Ok(()) };
    let device_enough = if device < BOUTS_WANT { Err(NoInterval::FewDeviceBouts(device)) } else { Ok(()) };
    ClassIntervals {
        class,
        bouts: own,
        device_bouts: device,
        sensitivity: defined(reference_share, Undefined::RefClassAbsent)
            .and(enough)
            .and_then(|()| of(reference_share, sensitivity)),
        ppv: defined(device_share, Undefined::DevClassAbsent)
            .and(enough)
            .and(device_enough)
            .and_then(|()| of(device_share, ppv)),
    }
}

/// Says whether every class was drawn: a mean or a minimum over fewer classes is another number.
fn all_drawn(table: &Table, classes: &[usize]) -> Result<(), Undefined> {
    if classes.iter().all(|i| table.row_sum(*i) > 0) { Ok(()) } else { Err(Undefined::RefClassAbsent) }
}

fn least(table: &Table, classes: &[usize]) -> Figure {
    all_drawn(table, classes)?;
    classes.iter().map(|i| sensitivity(table, *i)).reduce(|a, b| Ok(a?.min(b?))).unwrap_or(Err(Undefined::NTooSmall))
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

/// A night to be drawn anew.
struct Drawn<'a> {
    classes: usize,
    pairs: &'a [(usize, usize)],
    asked: Resampling,
}

impl Drawn<'_> {
    /// Returns the interval of a statistic that is made of `part` of the epochs of the night.
    fn of(&self, scale: Scale, part: f64, statistic: impl Fn(&Table) -> Figure + Sync) -> Interval {
        let n = self.pairs.len();
        if (1..10).contains(&n) {
            return Err(NoInterval::FewEpochs(n));
        }
        let found =
            night_interval(self.classes, self.pairs, scale, self.asked, statistic).map_err(|why| match why {
                Undefined::NTooSmall => NoInterval::OftenUndefined,
                Undefined::ZeroVariance => NoInterval::AtTheEnd,
                why => NoInterval::Undefined(why),
            })?;
        if scale == Scale::Share && (found.estimate <= 0.0 || found.estimate >= 1.0) {
            // Nothing and everything do not vary: what the epochs that the share is made of are worth speaks for them.
            let agrees: Vec<f64> = self.pairs.iter().map(|(r, d)| f64::from(u8::from(r == d))).collect();
            let worth = part * effective_n(&agrees).unwrap_or(n as f64 / found.block);
            let interval = wilson_interval_of_share(found.estimate, worth.max(1.0));
            return interval.map(Into::into).map_err(NoInterval::Undefined);
        }
        Ok(found.interval.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_stats::NightInterval;

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
            (2, Err(NoInterval::FewBouts(2)), Err(NoInterval::FewBouts(2)))
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
