//! The baselines of one night of a device, in the epochs in which it was compared.

use super::prior::Priors;
use super::{RANDOM_NIGHTS, usual_guess};
use crate::inference::pairing::{pairs, sides};
use crate::{DeviceNight, NightComparison};
use counterpane_model::{Cell, Scheme, Stage};
use counterpane_stats::{Figure, Table, Undefined, accuracy, chance_accuracy, cohen_kappa, random_night, skill};

/// The baselines of one recording beside a reference.
#[derive(Clone, Debug, PartialEq)]
pub struct NightBaselines {
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Key of the recording.
    pub key: String,
    /// What it got, and what comes for free.
    pub beside: Beside,
}

/// What a device got, beside what guesses get in the same epochs.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// The classes.
    pub scheme: Scheme,
    /// Number of epochs that both sides scored.
    pub n: u64,
    /// Share on which the device agrees.
    pub accuracy: Figure,
    /// Its kappa.
    pub kappa: Figure,
    /// The stage that is always said ([`usual_guess`]).
    pub always: Stage,
    /// Share on which always saying it would agree; its kappa is 0.
    pub always_accuracy: Figure,
    /// Share on which drawing lots with the device's own shares of stages would agree on average; its kappa is 0.
    pub lots_accuracy: Figure,
    /// Random nights with bouts as long as those of the device.
    pub random: RandomNights,
    /// Share on which the time of night alone would agree, learned on other people.
    pub prior_accuracy: Figure,
    /// Its kappa.
    pub prior_kappa: Figure,
    /// Share on which the device agrees about sleep and wake.
    pub sleep_wake: Figure,
    /// Share on which always saying asleep would agree about sleep and wake.
    pub asleep_accuracy: Figure,
}

/// What [`RANDOM_NIGHTS`] random nights got.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RandomNights {
    /// Mean share on which they agree.
    pub accuracy: Figure,
    /// Mean of their kappas.
    pub kappa: Figure,
    /// Standard deviation of their kappas: how far luck alone carries one night.
    pub kappa_sd: Figure,
    /// Share of them whose kappa is at least the device's.
    pub reached: Figure,
}

impl Beside {
    /// Returns how much of the way from always saying one stage to full agreement the device comes.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn skill_over_always(&self) -> Figure {
        skill(self.accuracy?, self.always_accuracy?)
    }

    /// Returns how much of the way from the time of night alone to full agreement the device comes.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn skill_over_prior(&self) -> Figure {
        skill(self.accuracy?, self.prior_accuracy?)
    }

    /// Returns by how much the device agrees more than the time of night alone.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn beyond_prior(&self) -> Figure {
        Ok(self.accuracy? - self.prior_accuracy?)
    }
}

/// Returns the baselines of a night of a device in a scheme.
pub(super) fn beside(
    night: &NightComparison,
    device: &DeviceNight,
    scheme: Scheme,
    priors: &Priors,
    seed: u64,
) -> Beside {
    let (reference, own) = sides(night, device);
    let all = pairs(scheme, &reference, &own);
    let two = pairs(Scheme::SleepWake, &reference, &own);
    let k = scheme.classes().len();
    let always = usual_guess(scheme);
    let guessed = priors.guesses(night, scheme).map(|guesses| with_guesses(scheme, &reference, &own, &guesses));
    let of_prior = |statistic: fn(&Table) -> Figure| statistic(&table(k, guessed.as_deref().map_err(|why| *why)?)?);
    let kappa = table(k, &all).and_then(|t| cohen_kappa(&t));
    Beside {
        scheme,
        n: all.len() as u64,
        accuracy: table(k, &all).and_then(|t| accuracy(&t)),
        kappa,
        always,
        always_accuracy: share_of(&all, scheme.index(always)),
        lots_accuracy: chance_accuracy(&shares(k, all.iter().map(|p| p.0)), &shares(k, all.iter().map(|p| p.1))),
        random: random(k, &all, kappa, seed),
        prior_accuracy: of_prior(accuracy),
        prior_kappa: of_prior(cohen_kappa),
        sleep_wake: table(2, &two).and_then(|t| accuracy(&t)),
        asleep_accuracy: share_of(&two, Scheme::SleepWake.index(Stage::Asleep)),
    }
}

fn table(classes: usize, pairs: &[(usize, usize)]) -> Result<Table, Undefined> {
    let mut counts = vec![vec![0_u64; classes]; classes];
    for (reference, other) in pairs {
        counts[*reference][*other] += 1;
    }
    Table::from_counts(counts).map_err(|_| Undefined::NoPairs)
}

/// The reference beside the guesses, in the epochs in which the device was compared.
fn with_guesses(scheme: Scheme, reference: &[Cell], device: &[Cell], guesses: &[usize]) -> Vec<(usize, usize)> {
    let class = |cell: &Cell| cell.stage().and_then(|stage| scheme.index(stage));
    let both = reference.iter().zip(device).zip(guesses);
    both.filter_map(|((r, d), guess)| Some((class(r)?, class(d).map(|_| *guess)?))).collect()
}

/// Share of the pairs to which the reference gives a class.
fn share_of(pairs: &[(usize, usize)], class: Option<usize>) -> Figure {
    let class = class.ok_or(Undefined::OutsideRange)?;
    let own = pairs.iter().filter(|(r, _)| *r == class).count();
    if pairs.is_empty() { Err(Undefined::NoPairs) } else { Ok(own as f64 / pairs.len() as f64) }
}

/// Shares of the classes of a side; empty without an epoch.
fn shares(classes: usize, side: impl ExactSizeIterator<Item = usize>) -> Vec<f64> {
    let n = side.len() as f64;
    let mut counts = vec![0.0; if n > 0.0 { classes } else { 0 }];
    side.for_each(|class| counts[class] += 1.0);
    counts.into_iter().map(|c: f64| c / n).collect()
}

fn random(classes: usize, pairs: &[(usize, usize)], kappa: Figure, seed: u64) -> RandomNights {
    let own: Vec<usize> = pairs.iter().map(|p| p.1).collect();
    let drawn = |replicate: u32| {
        let made = random_night(&own, seed, u64::from(replicate)).ok()?;
        let beside: Vec<(usize, usize)> = pairs.iter().zip(made).map(|((r, _), made)| (*r, made)).collect();
        let table = table(classes, &beside).ok()?;
        Some((accuracy(&table).ok()?, cohen_kappa(&table).ok()))
    };
    let all: Vec<(f64, Option<f64>)> = (0..RANDOM_NIGHTS).filter_map(drawn).collect();
    let kappas: Vec<f64> = all.iter().filter_map(|(_, kappa)| *kappa).collect();
    let mean = |values: &[f64], least: usize| {
        if values.len() < least {
            Err(Undefined::NTooSmall)
        } else {
            Ok(values.iter().sum::<f64>() / values.len() as f64)
        }
    };
    let centre = mean(&kappas, 2);
    let spread = centre.map(|m| {
        let squares: f64 = kappas.iter().map(|k| (k - m) * (k - m)).sum();
        (squares / (kappas.len() as f64 - 1.0)).sqrt()
    });
    let reached = |own: f64| kappas.iter().filter(|k| **k >= own).count() as f64 / kappas.len() as f64;
    RandomNights {
        accuracy: mean(&all.iter().map(|(a, _)| *a).collect::<Vec<_>>(), 1),
        kappa: centre,
        kappa_sd: spread,
        reached: centre.and(kappa).map(reached),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Stage::{Light, N3, R, W};

    fn found(reference: &str, device: &str) -> Beside {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let device = ring(&[W, Light, N3, R], device);
        let one = compare_night(&night(), &psg(reference), &[&device], &Decided::default(), &protocol).unwrap();
        let comparison = compare(vec![one], protocol);
        let night = &comparison.nights[0];
        beside(night, &night.devices[0], Scheme::Four, &Priors::learn(&comparison), 1)
    }

    #[test]
    fn guesses_are_counted_in_the_epochs_of_the_device() {
        // Of the ten epochs the device says nothing of two; of the eight, four are light and two each wake and REM sleep.
        let of = found("WW2222RR33", "WLLLWLRR..");
        assert_eq!((of.n, of.accuracy, of.always, of.always_accuracy), (8, Ok(0.75), Light, Ok(0.5)));
        // Reference W 1/4, light 1/2, R 1/4; device the same: 1/16 + 1/4 + 1/16.
        assert_eq!(of.lots_accuracy, Ok(0.375));
        assert_eq!((of.sleep_wake, of.asleep_accuracy), (Ok(0.75), Ok(0.75)));
        assert_eq!(of.skill_over_always(), Ok(0.5));
        assert_eq!((of.prior_accuracy, of.skill_over_prior()), (Err(Undefined::NTooSmall), Err(Undefined::NTooSmall)));
    }

    #[test]
    fn random_nights_keep_the_bouts_and_know_nothing() {
        let reference: String = (0..12).map(|i| ["2", "3", "R", "W"][i % 4].repeat(30)).collect();
        let of = found(&reference, &reference.replace('2', "L"));
        let random = of.random;
        assert!(random.kappa.unwrap().abs() < 0.05, "{random:?}");
        assert!(random.kappa_sd.unwrap() > 0.03, "long bouts meet long bouts: {random:?}");
        assert_eq!((of.kappa, random.reached), (Ok(1.0), Ok(0.0)));
        assert_eq!(found(&reference, &reference.replace('2', "L")), of, "the same seed draws the same nights");
    }

    #[test]
    fn a_device_that_always_says_light_is_its_own_baseline() {
        let of = found("WW2222", "LLLLLL");
        assert_eq!((of.accuracy, of.always_accuracy, of.skill_over_always()), (Ok(4.0 / 6.0), Ok(4.0 / 6.0), Ok(0.0)));
        assert_eq!((of.kappa, of.random.reached), (Ok(0.0), Ok(1.0)));
    }
}
