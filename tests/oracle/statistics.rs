//! Differences over nights, intervals and tests, against scipy, statsmodels and scikit-learn.

use crate::{python, same_numbers, seed};
use counterpane_stats::{
    Resampling, Scale, bias, differences, equivalence, holm, icc, limits_of_agreement, mae, mape, participant_interval,
    percentile_interval, proportional_bias, repeated_limits, rmse, sign_flip, spread_growth, wilson_interval,
};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;
use serde_json::{Value, json};

const PROBLEMS: usize = 150;

/// One problem of each kind.
struct Problem {
    pairs: Vec<[f64; 2]>,
    tolerance: f64,
    groups: Vec<Vec<f64>>,
    signs: Vec<f64>,
    /// A share for each of fewer than 20 people, whose interval is Student's.
    people: Vec<f64>,
    p: Vec<f64>,
    hits: u32,
    n: u32,
}

/// Returns a number from `low` to `high` in steps that print short.
pub(crate) fn between(rng: &mut Pcg32, low: f64, high: f64) -> f64 {
    let share = f64::from(rng.next_u32()) / f64::from(u32::MAX);
    ((low + (high - low) * share) * 100.0).round() / 100.0
}

pub(crate) fn some(rng: &mut Pcg32, least: u32, most: u32) -> usize {
    (least + rng.next_u32() % (most - least + 1)) as usize
}

impl Problem {
    fn new(rng: &mut Pcg32) -> Problem {
        let (slope, noise) = (between(rng, 0.2, 1.3), between(rng, 1.0, 60.0));
        let people = some(rng, 4, 40);
        let pair = |rng: &mut Pcg32| {
            let reference = between(rng, 200.0, 520.0);
            [reference, 90.0 + slope * reference + between(rng, -noise, noise)]
        };
        let n = 1 + rng.next_u32() % 900;
        Problem {
            pairs: (0..people).map(|_| pair(rng)).collect(),
            tolerance: between(rng, 5.0, 80.0),
            groups: (0..some(rng, 2, 12))
                .map(|_| (0..some(rng, 2, 6)).map(|_| between(rng, -50.0, 50.0)).collect())
                .collect(),
            signs: (0..some(rng, 2, 9)).map(|_| between(rng, -0.3, 0.5)).collect(),
            // Never all alike: people who differ in nothing have no interval here, and one without a width there.
            people: (0..some(rng, 2, 19)).map(|i| between(rng, 0.05, 0.97) + 0.001 * i as f64).collect(),
            p: (0..some(rng, 1, 28)).map(|_| between(rng, 0.0, 1.0).powi(3)).collect(),
            hits: rng.next_u32() % (n + 1),
            n,
        }
    }

    fn json(&self) -> Value {
        json!({ "pairs": self.pairs, "tolerance": self.tolerance, "groups": self.groups, "signs": self.signs, "people": self.people,
            "p": self.p, "hits": self.hits, "n": self.n })
    }

    /// Returns our numbers, by the names of the second opinion.
    fn ours(&self) -> Vec<(String, f64)> {
        let d = differences(&self.pairs);
        let (mean, limits) = (bias(&d).unwrap(), limits_of_agreement(&d).unwrap());
        let (line, growth) = (proportional_bias(&self.pairs).unwrap(), spread_growth(&self.pairs).unwrap());
        let (squares, repeated) = (icc(&self.pairs).unwrap(), repeated_limits(&self.groups).unwrap());
        let wilson = wilson_interval(self.hits.into(), self.n.into()).unwrap();
        let percentiles = percentile_interval(&self.p).unwrap();
        let mut ours: Vec<(String, f64)> = [
            ("bias", mean.mean),
            ("sd", limits.sd),
            ("bias_low", mean.interval.unwrap().0),
            ("bias_high", mean.interval.unwrap().1),
            ("exact_near", limits.upper.exact.0),
            ("exact_far", limits.upper.exact.1),
            ("slope", line.slope),
            ("intercept", line.intercept),
            ("slope_p", line.slope_p),
            ("lm", growth.lm),
            ("lm_p", growth.p),
            ("equivalence_p", equivalence(&d, self.tolerance).unwrap().p),
            ("mae", mae(&d).unwrap()),
            ("rmse", rmse(&d).unwrap()),
            ("mape", mape(&self.pairs).unwrap()),
            ("participants", squares.participants),
            ("sides", squares.sides),
            ("rest", squares.rest),
            ("within", repeated.within),
            ("mean_of_means", repeated.mean_of_means),
            ("sign_flip", sign_flip(&self.signs, 1).unwrap()),
            ("wilson_low", wilson.0),
            ("wilson_high", wilson.1),
            ("percentile_low", percentiles.0),
            ("percentile_high", percentiles.1),
        ]
        .map(|(name, number)| (name.to_owned(), number))
        .into();
        let coefficients: Vec<f64> = self.people.iter().map(|v| 2.0 * v - 1.0).collect();
        for (name, values, scale) in
            [("share", &self.people, Scale::Share), ("coefficient", &coefficients, Scale::Coefficient)]
        {
            // Fewer than 20 people are not drawn, so nothing is asked of the seed.
            let asked = Resampling { replicates: 200, seed: 1, threads: 1 };
            let (low, high) = participant_interval(values, scale, asked).unwrap().interval;
            ours.extend([(format!("{name}_low"), low), (format!("{name}_high"), high)]);
        }
        ours.extend(holm(&self.p).into_iter().enumerate().map(|(i, p)| (format!("holm_{i}"), p)));
        ours
    }
}

#[test]
fn differences_intervals_and_tests_are_those_of_other_libraries() {
    let Some(python) = python("scipy, sklearn, statsmodels, pandas") else { return };
    let mut rng = Pcg32::new(seed("random differences"), 11);
    let problems: Vec<Problem> = (0..PROBLEMS).map(|_| Problem::new(&mut rng)).collect();
    let problems: Vec<_> = problems.iter().map(|problem| (problem.json(), problem.ours())).collect();
    same_numbers(&python, "stats_oracle.py", &problems);
}
