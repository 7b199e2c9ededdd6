//! What the precision of a reading leaves open: the numbers of a night, with every change moved within it.
//!
//! **Model.** Where a person read the times of the changes off a picture to `p` minutes, the true time of each lies anywhere
//! within `p` of the one that was typed, each as likely as another and independently of the rest. Times that cross are put in
//! order, so bouts become shorter or longer and none changes its place. The two times by which a picture was scaled may be wrong
//! together; that is not in it.

mod figures;
mod moved;

use crate::agreement::{agreement, fold};
use crate::{
    Agreement, Comparison, DeviceNight, NightComparison, NothingToCompare, Protocol, compare_night,
    mean_over_participants, nights_of_device,
};
use counterpane_model::{Decided, Night, Recording, Source};
use counterpane_stats::on_threads;
use counterpane_stats::{Figure, Resampling, percentile_interval};
pub use figures::Read;
use figures::figures;
use moved::moved;

/// No more redraws than this are made of a night: the ends of a spread need no more.
pub const MOST_REDRAWS: u32 = 500;

/// A recording whose times were read off a picture, and what that leaves open of its numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Key of the recording.
    pub key: String,
    /// Who says it.
    pub source: Source,
    /// How finely it was read, milliseconds either way.
    pub precision_ms: i64,
    /// The same of the reference; 0 where it was not read off a picture.
    pub reference_precision_ms: i64,
    /// How often its changes were moved.
    pub redraws: u32,
    /// Each number of the night with its spread.
    pub spreads: Vec<Spread>,
    /// What each redraw gives in the scheme of the night; `None` where nothing can be compared in it.
    pub agreements: Vec<Option<Agreement>>,
}

/// A number, and where it lies when the changes are moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Which number.
    pub of: Read,
    /// As it was read.
    pub value: f64,
    /// Between these lie 95 % of the redraws that have a value.
    pub within: (f64, f64),
    /// Redraws in which it is undefined.
    pub undefined: u32,
}

/// A device over its nights, some of which were read off a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct MeansRead {
    /// Name of the device.
    pub name: String,
    /// Nights that were read off a picture.
    pub nights: usize,
    /// Nights that enter the mean.
    pub of: usize,
    /// Accuracy, mean over participants of the mean over their nights.
    pub accuracy: Option<Spread>,
    /// Kappa, likewise.
    pub kappa: Option<Spread>,
}

/// Moves the changes of a recording, and of the reference where it was read off a picture too, and compares again; `None`
/// where neither was, or nothing is compared.
///
/// # Errors
/// As for [`compare_night`].
pub fn reading(
    night: &Night,
    reference: &Recording,
    other: &Recording,
    decided: &Decided,
    protocol: &Protocol,
    asked: Resampling,
) -> Result<Option<Reading>, NothingToCompare> {
    if (reference.precision_ms == 0 && other.precision_ms == 0) || other.spans.is_empty() {
        return Ok(None);
    }
    let as_read = compare_night(night, reference, &[other], decided, protocol)?;
    let Some(device) = as_read.devices.first().filter(|d| d.agreement.is_some()) else { return Ok(None) };
    let redraws = asked.replicates.min(MOST_REDRAWS);
    let each = |r: u32| {
        // The reference moves alike for every device that stands beside it.
        let reference = moved(reference, asked.seed, u64::from(r));
        let other = moved(other, asked.seed, u64::from(r));
        let night = compare_night(night, &reference, &[&other], decided, protocol).ok()?;
        let device = night.devices.into_iter().next()?;
        Some((figures(&device), device.agreement.clone()))
    };
    let all: Vec<u32> = (0..redraws).collect();
    let drawn = on_threads(&all, asked.threads, |r| each(*r));
    let spreads = figures(device).into_iter().filter_map(|(of, value)| {
        let values = drawn.iter().map(|d| d.as_ref()?.0.iter().find(|(o, _)| *o == of)?.1.ok());
        spread(of, value.ok()?, values.collect())
    });
    Ok(Some(Reading {
        reference_key: reference.key.clone(),
        key: other.key.clone(),
        source: other.source.clone(),
        precision_ms: other.precision_ms,
        reference_precision_ms: reference.precision_ms,
        redraws,
        spreads: spreads.collect(),
        agreements: drawn.into_iter().map(|d| d?.1).collect(),
    }))
}

/// Returns a number with its spread; `None` when no redraw has a value.
fn spread(of: Read, value: f64, values: Vec<Option<f64>>) -> Option<Spread> {
    let defined: Vec<f64> = values.iter().flatten().copied().collect();
    let undefined = u32::try_from(values.len() - defined.len()).ok()?;
    Some(Spread { of, value, within: percentile_interval(&defined).ok()?, undefined })
}

/// Returns what the readings leave open of the means of each device that has one, by name.
#[must_use]
pub fn means_read(comparison: &Comparison, readings: &[Reading]) -> Vec<MeansRead> {
    let mean = |device: &crate::DeviceSummary| {
        let nights: Vec<_> =
            nights_of_device(comparison, &device.name).into_iter().filter(|(_, d)| d.agreement.is_some()).collect();
        let read: Vec<Option<&Reading>> = nights.iter().map(|(n, d)| of_night(readings, n, d)).collect();
        let redraws = read.iter().flatten().map(|r| r.agreements.len()).min()?;
        let scheme = device.scheme?;
        let value_in = |r: usize, figure: fn(&Agreement) -> Figure| {
            let values = nights.iter().zip(&read).map(|((night, d), reading)| {
                let drawn = match reading {
                    Some(reading) => reading.agreements.get(r).and_then(Option::as_ref),
                    None => d.agreement.as_ref(),
                };
                let folded = drawn.and_then(|a| Some(agreement(scheme, &fold(a, scheme)?)));
                (night.participant.as_str(), folded.map_or(Err(counterpane_stats::Undefined::NoPairs), |a| figure(&a)))
            });
            mean_over_participants(&values.collect::<Vec<_>>()).ok()
        };
        let of = |read: Read, value: Figure, figure: fn(&Agreement) -> Figure| {
            spread(read, value.ok()?, (0..redraws).map(|r| value_in(r, figure)).collect())
        };
        Some(MeansRead {
            name: device.name.clone(),
            nights: read.iter().flatten().count(),
            of: nights.len(),
            accuracy: of(Read::Accuracy, device.mean_accuracy, |a| a.accuracy),
            kappa: of(Read::Kappa, device.mean_kappa, |a| a.kappa),
        })
    };
    comparison.devices.iter().filter_map(mean).collect()
}

/// Returns the reading of a device on a night.
#[must_use]
pub fn of_night<'a>(readings: &'a [Reading], night: &NightComparison, device: &DeviceNight) -> Option<&'a Reading> {
    readings.iter().find(|r| r.key == device.key && r.reference_key == night.reference_key)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Window, compare};
    use counterpane_model::Stage::{Light, N3, R, W};

    const SCORED: Protocol = Protocol { scheme: None, window: Window::Scored };
    const ASKED: Resampling = Resampling { replicates: 500, seed: 7, threads: 1 };

    fn read(reference: &str, device: &str, precision_ms: i64) -> Reading {
        let device = Recording { precision_ms, ..ring(&[W, Light, N3, R], device) };
        reading(&night(), &psg(reference), &device, &Decided::default(), &SCORED, ASKED).unwrap().unwrap()
    }

    fn of(reading: &Reading, of: Read) -> Spread {
        *reading.spreads.iter().find(|s| s.of == of).unwrap()
    }

    /// Worked by hand. The scorer's change stands between epochs 3 and 4 of eight, and the device's was read at the same time, to 30 s.
    /// Its true time lies within 15 s of there with probability 1/2, and then every epoch agrees; else one epoch
    /// changes sides, and seven of eight agree.
    #[test]
    fn a_change_read_to_an_epoch_moves_one_epoch_in_every_other_redraw() {
        let found = read("????WWWW2222????", "WWWWWWWWLLLLLLLL", 30_000);
        let accuracy = of(&found, Read::Accuracy);
        assert_eq!((accuracy.value, accuracy.within, accuracy.undefined), (1.0, (0.875, 1.0), 0));
        let whole = found.agreements.iter().flatten().filter(|a| a.accuracy == Ok(1.0)).count();
        let seven = found.agreements.iter().flatten().filter(|a| a.accuracy == Ok(0.875)).count();
        assert_eq!(whole + seven, 500);
        // Five standard deviations of a share of 1/2 of 500.
        assert!((195..=305).contains(&whole), "{whole}");
        let sleep = of(&found, Read::TotalSleepDifference);
        assert_eq!((sleep.value, sleep.within), (0.0, (-0.5, 0.5)));
    }

    #[test]
    fn a_finer_reading_leaves_less_open() {
        let width = |ms| {
            let (reference, device) = ("WWWWWW222222RRRRRR222222", "WWWWWLLLLLLLRRRRRRLLLLLL");
            let kappa = of(&read(reference, device, ms), Read::Kappa);
            kappa.within.1 - kappa.within.0
        };
        assert!(width(120_000) > width(30_000) && width(30_000) > 0.0 && width(1000) == 0.0);
    }

    #[test]
    fn a_printed_time_leaves_nothing_open() {
        let asked =
            reading(&night(), &psg("WW22"), &ring(&[W, Light, N3, R], "WWLL"), &Decided::default(), &SCORED, ASKED);
        assert_eq!(asked, Ok(None));
    }

    #[test]
    fn a_seed_repeats_it_on_any_number_of_threads() {
        let on = |threads| {
            let device = Recording { precision_ms: 60_000, ..ring(&[W, Light, N3, R], "WWWLLLLL") };
            let asked = Resampling { threads, ..ASKED };
            reading(&night(), &psg("WWWW2222"), &device, &Decided::default(), &SCORED, asked).unwrap()
        };
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn the_mean_of_a_person_moves_half_as_far_when_one_of_two_nights_was_read() {
        let (reference, device) = ("????WWWW2222????", "WWWWWWWWLLLLLLLL");
        let two = |label: &str, precision_ms| {
            let key = |r: Recording| Recording {
                night: label.into(),
                key: r.key.replace("2026-04-04", label),
                precision_ms: if r.source.is_reference() { 0 } else { precision_ms },
                ..r
            };
            let own = Night { label: label.into(), ..night() };
            (own, key(psg(reference)), key(ring(&[W, Light, N3, R], device)))
        };
        let nights = [two("2026-04-04", 30_000), two("2026-04-05", 0)];
        let none = Decided::default();
        let compared = nights.iter().map(|(n, r, d)| compare_night(n, r, &[d], &none, &SCORED).unwrap()).collect();
        let readings: Vec<Reading> =
            nights.iter().filter_map(|(n, r, d)| reading(n, r, d, &none, &SCORED, ASKED).unwrap()).collect();
        let means = means_read(&compare(compared, SCORED), &readings);
        assert_eq!((means[0].name.as_str(), means[0].nights, means[0].of), ("ring-a", 1, 2));
        assert_eq!(means[0].accuracy.unwrap().within, (0.9375, 1.0));
    }
}
