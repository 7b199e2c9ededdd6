//! How often the intervals over participants hold what all people would give.

use crate::dice::{Dice, Lengths};
use crate::rows::{Row, on_two_threads};
use crate::sleep::{Errors, device, reference, table_of};
use counterpane_stats::{
    Resampling, Scale, accuracy, bca_interval, bias, cluster_bootstrap, cohen_kappa, limits_of_agreement, mover_limits,
    participant_interval, percentile_interval,
};

/// Numbers of participants.
pub(crate) const SIZES: [u32; 4] = [4, 8, 15, 30];
/// Participants that are drawn to learn the truth.
const MANY: u32 = 40_000;
/// Share of the epochs in bouts of error of a usual person: the first device and the second.
const SHARES: [f64; 2] = [0.30, 0.36];
/// Standard deviations of the logit of that share: between people for both devices alike, between people for each device
/// alone, and between nights of one person.
const SPREAD: [f64; 3] = [0.4, 0.25, 0.3];
const NIGHTS: usize = 3;
const HALF_MINUTE: f64 = 0.5;

/// What one night of one person gives.
#[derive(Clone, Copy, Default)]
struct Night {
    accuracy: f64,
    kappa: f64,
    /// Kappa of the first device less that of the second.
    kappa_difference: f64,
    /// Minutes of sleep by the first device less those of the reference.
    sleep: f64,
}

/// What all people and all their nights would give.
struct Truth {
    mean: Night,
    /// Standard deviation of the difference in sleep over people and nights.
    sleep_sd: f64,
}

pub(crate) fn rows(seed: u64, studies: u32) -> Vec<Row> {
    let truth = truth(seed);
    let sizes = SIZES.iter().enumerate();
    sizes.flat_map(|(at, n)| of_size(seed, (at as u64 + 1) << 40, *n, studies, &truth)).collect()
}

fn truth(seed: u64) -> Truth {
    let people = on_two_threads(MANY, |number| person(&mut Dice::new(!seed, u64::from(number)), 1)[0]);
    let n = people.len() as f64;
    let mean = |of: fn(&Night) -> f64| people.iter().map(of).sum::<f64>() / n;
    let sleep = mean(|p| p.sleep);
    let sleep_sd = (people.iter().map(|p| (p.sleep - sleep).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let mean = Night {
        accuracy: mean(|p| p.accuracy),
        kappa: mean(|p| p.kappa),
        kappa_difference: mean(|p| p.kappa_difference),
        sleep,
    };
    Truth { mean, sleep_sd }
}

/// Draws the nights of one person, with both devices on each.
fn person(dice: &mut Dice, nights: usize) -> Vec<Night> {
    let both = dice.normal(SPREAD[0]);
    let own = [0; 2].map(|_| both + dice.normal(SPREAD[1]));
    (0..nights).map(|_| night(dice, own)).collect()
}

fn night(dice: &mut Dice, own: [f64; 2]) -> Night {
    let truth = reference(dice);
    let of_night = dice.normal(SPREAD[2]);
    let said = [0, 1].map(|i| {
        let logit = (SHARES[i] / (1.0 - SHARES[i])).ln() + own[i] + of_night;
        device(dice, &truth, Errors { share: 1.0 / (1.0 + (-logit).exp()), mean: 6.0, lengths: Lengths::Geometric })
    });
    let tables = said.each_ref().map(|device| table_of(&truth, device));
    let kappas = tables.each_ref().map(|t| cohen_kappa(t).unwrap());
    let asleep = |side: &[usize]| side.iter().filter(|s| **s != 0).count() as f64 * HALF_MINUTE;
    Night {
        accuracy: accuracy(&tables[0]).unwrap(),
        kappa: kappas[0],
        kappa_difference: kappas[0] - kappas[1],
        sleep: asleep(&said[0]) - asleep(&truth),
    }
}

/// The kinds of intervals: name of the kind, of the statistic, and nights of each participant.
const KINDS: [(&str, &str, usize); 13] = [
    ("participants", "accuracy", 1),
    ("participants", "kappa", 1),
    ("participants", "kappa", NIGHTS),
    ("participants", "kappa of two devices, difference", 1),
    ("participants", "kappa of two devices, difference", NIGHTS),
    ("cluster-bootstrap", "kappa", 1),
    ("bias", "sleep time", 1),
    ("limits-exact", "sleep time, lower", 1),
    ("limits-exact", "sleep time, upper", 1),
    ("limits-approximate", "sleep time, upper", 1),
    ("limits-bca", "sleep time, upper", 1),
    ("limits-repeated", "sleep time, lower", NIGHTS),
    ("limits-repeated", "sleep time, upper", NIGHTS),
];

fn of_size(seed: u64, stream: u64, n: u32, studies: u32, truth: &Truth) -> Vec<Row> {
    let found = on_two_threads(studies, |number| study(seed, stream | u64::from(number), n, truth));
    let row = |(i, (kind, statistic, nights)): (usize, &(&'static str, &str, usize))| {
        let holds: Vec<bool> = found.iter().filter_map(|study| study[i]).collect();
        let scenario = if *nights == 1 { "one night each".to_owned() } else { format!("{nights} nights each") };
        Row::new(kind, statistic, &scenario, n, &holds, truth_of(i, truth))
    };
    KINDS.iter().enumerate().map(row).collect()
}

fn truth_of(kind: usize, truth: &Truth) -> f64 {
    let limit = 1.96 * truth.sleep_sd;
    match kind {
        0 => truth.mean.accuracy,
        1 | 2 | 5 => truth.mean.kappa,
        3 | 4 => truth.mean.kappa_difference,
        6 => truth.mean.sleep,
        7 | 11 => truth.mean.sleep - limit,
        _ => truth.mean.sleep + limit,
    }
}

/// Returns for each kind whether its interval holds the truth; none where there is no interval.
fn study(seed: u64, number: u64, n: u32, truth: &Truth) -> Vec<Option<bool>> {
    let mut dice = Dice::new(seed, number);
    let people: Vec<Vec<Night>> = (0..n).map(|_| person(&mut dice, NIGHTS)).collect();
    let asked = Resampling { replicates: 2000, seed: seed ^ number, threads: 1 };
    let means = |of: fn(&Night) -> f64, nights: usize| -> Vec<f64> {
        people.iter().map(|p| p[..nights].iter().map(of).sum::<f64>() / nights as f64).collect()
    };
    let over = |of: fn(&Night) -> f64, nights: usize, scale: Scale| {
        participant_interval(&means(of, nights), scale, asked).ok().map(|found| found.interval)
    };
    let kappas = means(|p| p.kappa, 1);
    let drawn = cluster_bootstrap(n, asked, |who| Ok(who.iter().map(|w| kappas[*w]).sum::<f64>() / f64::from(n)));
    let sleep = means(|p| p.sleep, 1);
    let repeated: Vec<Vec<f64>> = people.iter().map(|p| p.iter().map(|night| night.sleep).collect()).collect();
    let (limits, mover) = (limits_of_agreement(&sleep).ok(), mover_limits(&repeated).ok());
    let intervals = [
        over(|p| p.accuracy, 1, Scale::Share),
        over(|p| p.kappa, 1, Scale::Coefficient),
        over(|p| p.kappa, NIGHTS, Scale::Coefficient),
        over(|p| p.kappa_difference, 1, Scale::Plain),
        over(|p| p.kappa_difference, NIGHTS, Scale::Plain),
        drawn.ok().and_then(|all| percentile_interval(&all.values).ok()),
        bias(&sleep).ok().and_then(|of| of.interval.ok()),
        limits.map(|of| of.lower.exact),
        limits.map(|of| of.upper.exact),
        limits.map(|of| of.upper.approximate),
        limits.and_then(|of| bootstrapped(&sleep, of.upper.value, asked)),
        mover.map(|of| of.lower_interval),
        mover.map(|of| of.upper_interval),
    ];
    let holds = |(i, of): (usize, &Option<(f64, f64)>)| {
        of.map(|(low, high)| low <= truth_of(i, truth) && truth_of(i, truth) <= high)
    };
    intervals.iter().enumerate().map(holds).collect()
}

/// Returns the BCa interval of the upper limit over people drawn anew: what might do better where differences are not normal.
fn bootstrapped(sleep: &[f64], estimate: f64, asked: Resampling) -> Option<(f64, f64)> {
    let upper = |all: &mut dyn Iterator<Item = f64>| limit(&all.collect::<Vec<f64>>());
    let n = sleep.len() as u32;
    let drawn = cluster_bootstrap(n, asked, |who| Ok(upper(&mut who.iter().map(|w| sleep[*w])))).ok()?;
    let without = |left_out: usize| upper(&mut sleep.iter().enumerate().filter(|(i, _)| *i != left_out).map(|p| *p.1));
    let jackknife: Vec<f64> = (0..sleep.len()).map(without).collect();
    bca_interval(&drawn.values, estimate, &jackknife).ok().map(|of| of.interval)
}

fn limit(sleep: &[f64]) -> f64 {
    let n = sleep.len() as f64;
    let mean = sleep.iter().sum::<f64>() / n;
    mean + 1.96 * (sleep.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}
