//! What the people of a study say of others like them, device by device.

use super::interval::NoInterval;
use super::over_people::{OverPeople, over_people};
use super::pooled::{PooledIntervals, pooled_intervals};
use crate::agreement::{agreement, fold};
use crate::{Agreement, Comparison, DeviceNight, DeviceSummary, NightComparison, nights_of_device};
use counterpane_model::{Scheme, Stage};
use counterpane_stats::{Figure, Resampling, Scale, Undefined};

/// One device, or one further scorer, over all its nights.
#[derive(Clone, Debug, PartialEq)]
pub struct DevicePeople {
    /// Name of the device.
    pub name: String,
    /// In the scheme of [`DeviceSummary::scheme`].
    pub stages: AgreementOverPeople,
    /// In sleep and wake.
    pub sleep_wake: AgreementOverPeople,
    /// Correct epochs of all that the reference scored: missing counts as wrong.
    pub accuracy_missing_wrong: OverPeople,
    /// Of the numbers of all epochs in one matrix.
    pub pooled: PooledIntervals,
}

/// The numbers of the matrices of all nights, each as a mean over people.
#[derive(Clone, Debug, PartialEq)]
pub struct AgreementOverPeople {
    /// Share of pairs that agree.
    pub accuracy: OverPeople,
    /// Cohen's kappa.
    pub kappa: OverPeople,
    /// Mean of the sensitivities of the classes that the reference has.
    pub mean_sensitivity: OverPeople,
    /// One entry for each class of the scheme, in its order.
    pub per_class: Vec<ClassOverPeople>,
}

/// One class over all nights.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassOverPeople {
    /// The class.
    pub class: Stage,
    /// Of the reference's epochs of the class, the share that the device calls so; nights without the class are left out.
    pub sensitivity: OverPeople,
    /// Of the device's epochs of the class, the share that the reference calls so.
    pub ppv: OverPeople,
}

/// A night of a device that was compared: whose it is, and its matrices.
pub(crate) struct Compared<'a> {
    pub(crate) participant: &'a str,
    pub(crate) device: &'a DeviceNight,
    /// In the scheme of the summary.
    pub(crate) stages: Agreement,
}

/// Returns every device of a comparison that was compared on some night, in the order of the comparison.
pub fn people(comparison: &Comparison, asked: Resampling) -> Vec<DevicePeople> {
    comparison.devices.iter().filter_map(|device| of_device(comparison, device, asked)).collect()
}

fn of_device(comparison: &Comparison, device: &DeviceSummary, asked: Resampling) -> Option<DevicePeople> {
    let scheme = device.scheme?;
    let nights = compared(comparison, &device.name, scheme);
    let stages: Vec<(&str, &Agreement)> = nights.iter().map(|n| (n.participant, &n.stages)).collect();
    let sleep_wake: Vec<(&str, &Agreement)> =
        nights.iter().filter_map(|n| Some((n.participant, n.device.sleep_wake.as_ref()?))).collect();
    let correct = correct_of_scored(comparison, &device.name, scheme);
    let missing: Vec<(&str, Figure)> = correct.iter().map(|(who, part, all)| (*who, share(*part, *all))).collect();
    Some(DevicePeople {
        name: device.name.clone(),
        stages: agreement_over_people(scheme, &stages, asked),
        sleep_wake: agreement_over_people(Scheme::SleepWake, &sleep_wake, asked),
        accuracy_missing_wrong: over_people(&missing, Scale::Share, asked),
        pooled: pooled_intervals(scheme, &nights, &correct, asked),
    })
}

/// Returns the nights on which a device was compared, folded down to a scheme.
pub(crate) fn compared<'a>(comparison: &'a Comparison, name: &str, scheme: Scheme) -> Vec<Compared<'a>> {
    let of = |(night, device): (&'a NightComparison, &'a DeviceNight)| {
        let stages = agreement(scheme, &fold(device.agreement.as_ref()?, scheme)?);
        Some(Compared { participant: night.participant.as_str(), device, stages })
    };
    nights_of_device(comparison, name).into_iter().filter_map(of).collect()
}

/// Returns for each night of a device its participant, the correct epochs in a scheme, and those that the reference scored;
/// a night to which the device gave nothing counts as wrong throughout.
fn correct_of_scored<'a>(comparison: &'a Comparison, name: &str, scheme: Scheme) -> Vec<(&'a str, u64, u64)> {
    let of = |(night, device): (&'a NightComparison, &'a DeviceNight)| {
        device.accuracy_missing_wrong.ok()?;
        let correct = device.agreement.as_ref().and_then(|a| fold(a, scheme)).map_or(0, |table| table.agreeing());
        Some((night.participant.as_str(), correct, device.reference_scored))
    };
    nights_of_device(comparison, name).into_iter().filter_map(of).collect()
}

/// Returns a part of all as a share.
pub(crate) fn share(part: u64, all: u64) -> Figure {
    if all == 0 { Err(Undefined::NothingScored) } else { Ok(part as f64 / all as f64) }
}

fn agreement_over_people(scheme: Scheme, nights: &[(&str, &Agreement)], asked: Resampling) -> AgreementOverPeople {
    let over = |scale: Scale, of: &dyn Fn(&Agreement) -> Figure| {
        over_people(&nights.iter().map(|(who, a)| (*who, of(a))).collect::<Vec<_>>(), scale, asked)
    };
    let class = |(i, class): (usize, &Stage)| ClassOverPeople {
        class: *class,
        sensitivity: over(Scale::Share, &|a| a.per_class[i].sensitivity),
        ppv: over(Scale::Share, &|a| a.per_class[i].ppv),
    };
    AgreementOverPeople {
        accuracy: over(Scale::Share, &|a| a.accuracy),
        kappa: over(Scale::Coefficient, &|a| a.kappa),
        mean_sensitivity: over(Scale::Share, &|a| a.mean_sensitivity),
        per_class: scheme.classes().iter().enumerate().map(class).collect(),
    }
}

/// Returns the reason why a number over all epochs has no interval, where there are too few people.
pub(crate) fn enough_people(people: usize) -> Result<(), NoInterval> {
    if people < counterpane_stats::BOOTSTRAP_FROM { Err(NoInterval::FewPeople(people)) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::Across;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_model::{Decided, Night, Recording};

    const ASKED: Resampling = Resampling { replicates: 400, seed: 1, threads: 1 };

    fn moved(recording: Recording, participant: &str) -> Recording {
        Recording { participant: participant.into(), ..recording }
    }

    /// One night for each person: what the scorer says, and what the ring says.
    fn found(nights: &[(&str, &str, &str)]) -> DevicePeople {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let one = |(who, reference, device): &(&str, &str, &str)| {
            let own = Night { participant: (*who).into(), ..night() };
            let device = moved(ring(&[W, Light, N3, R], device), who);
            compare_night(&own, &moved(psg(reference), who), &[&device], &Decided::default(), &protocol).unwrap()
        };
        people(&compare(nights.iter().map(one).collect(), protocol), ASKED).remove(0)
    }

    #[test]
    fn a_class_is_spread_over_the_people_who_have_it() {
        let of = found(&[("P01", "WW22", "WLLL"), ("P02", "WW22", "WWLL"), ("P03", "2222", "LLLL")]);
        let wake = &of.stages.per_class[0].sensitivity;
        assert_eq!((wake.mean, wake.n(), wake.skipped), (Ok(0.75), 2, 1));
        assert_eq!((of.stages.accuracy.n(), of.stages.accuracy.across), (3, Across::People));
        assert_eq!(of.stages.kappa.skipped, 1, "both sides said one and the same class");
        assert_eq!(of.sleep_wake.per_class[1].sensitivity.mean, Ok(1.0));
    }

    #[test]
    fn below_twenty_people_the_mean_over_people_speaks_for_the_pool() {
        let of = found(&[("P01", "WW22", "WLLL"), ("P02", "WW22", "WWLL")]);
        assert_eq!(of.pooled.people, 2);
        assert_eq!(of.pooled.stages.accuracy, Err(NoInterval::FewPeople(2)));
        assert_eq!(of.pooled.accuracy_missing_wrong, Err(NoInterval::FewPeople(2)));
    }

    #[test]
    fn from_twenty_people_on_a_pooled_number_lies_within_its_interval() {
        let codes: Vec<String> = (10..32).map(|i| format!("P{i}")).collect();
        let device = |i: usize| format!("{}{}{}", "W".repeat(8 - i % 4), "L".repeat(12 + i % 4), "3".repeat(10));
        let said: Vec<String> = (0..codes.len()).map(device).collect();
        let reference = format!("{}{}{}", "W".repeat(6), "2".repeat(14), "3".repeat(10));
        let nights: Vec<(&str, &str, &str)> =
            codes.iter().zip(&said).map(|(who, said)| (who.as_str(), reference.as_str(), said.as_str())).collect();
        let of = found(&nights);
        let limits = of.pooled.stages.accuracy.unwrap();
        let mean = of.stages.accuracy.mean.unwrap();
        // All nights are of one length, so the pool and the mean over people are the same number.
        assert!(limits.low < mean && mean < limits.high, "{limits:?} {mean}");
        let own = of.stages.accuracy.interval.unwrap();
        assert!((limits.low - own.low).abs() < 1e-12 && (limits.high - own.high).abs() < 1e-12, "{limits:?} {own:?}");
        assert!(of.pooled.sleep_wake.kappa.is_ok());
    }

    #[test]
    fn a_night_to_which_the_device_gave_nothing_counts_as_wrong() {
        let of = found(&[("P01", "WW22", "WWLL"), ("P02", "WW22", "oooo")]);
        assert_eq!((of.accuracy_missing_wrong.mean, of.stages.accuracy.n()), (Ok(0.5), 1));
    }
}
