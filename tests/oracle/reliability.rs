//! Agreement over nights against pingouin: intraclass correlations with their intervals, limits of agreement, equivalence.

use crate::statistics::{between, some};
use crate::{python, same_numbers, seed};
use counterpane_stats::{Icc, ccc, differences, equivalence, icc, limits_of_agreement};
use rand_pcg::Pcg32;
use serde_json::{Value, json};

const PROBLEMS: usize = 200;

struct Problem {
    pairs: Vec<[f64; 2]>,
    four: Vec<[f64; 4]>,
    tolerance: f64,
}

impl Problem {
    fn new(rng: &mut Pcg32) -> Problem {
        let (slope, noise, people) = (between(rng, 0.3, 1.4), between(rng, 1.0, 80.0), some(rng, 3, 40));
        let mut sides = |n: usize| -> Vec<f64> {
            let truth = between(rng, 200.0, 520.0);
            let side = |i: usize| if i == 0 { truth } else { 40.0 + slope * truth + between(rng, -noise, noise) };
            (0..n).map(side).collect()
        };
        let pairs = (0..people).map(|_| sides(2)).map(|s| [s[0], s[1]]).collect();
        let four = (0..people).map(|_| sides(4)).map(|s| [s[0], s[1], s[2], s[3]]).collect();
        Problem { pairs, four, tolerance: between(rng, 5.0, 80.0) }
    }

    fn json(&self) -> Value {
        json!({ "pairs": self.pairs, "four": self.four, "tolerance": self.tolerance })
    }

    /// Returns our numbers, by the names of the second opinion.
    fn ours(&self) -> Vec<(String, f64)> {
        let d = differences(&self.pairs);
        let limits = limits_of_agreement(&d).unwrap();
        let mut ours: Vec<(String, f64)> = [
            ("lower", limits.lower.value),
            ("bias", limits.bias),
            ("upper", limits.upper.value),
            ("ccc", ccc(&self.pairs).unwrap().value),
            ("equivalence_p", equivalence(&d, self.tolerance).unwrap().p),
        ]
        .map(|(name, number)| (name.to_owned(), number))
        .into();
        ours.extend(forms("two", icc(&self.pairs).unwrap()));
        ours.extend(forms("four", icc(&self.four).unwrap()));
        ours
    }
}

fn forms(sides: &str, of: Icc) -> Vec<(String, f64)> {
    let mut out = Vec::new();
    for (name, form) in [("absolute", of.absolute.unwrap()), ("consistency", of.consistency.unwrap())] {
        let (low, high) = form.interval.unwrap();
        out.push((format!("{sides}_{name}"), form.value));
        out.push((format!("{sides}_{name}_low"), low));
        out.push((format!("{sides}_{name}_high"), high));
    }
    out
}

#[test]
fn intraclass_correlations_limits_and_equivalence_are_those_of_pingouin() {
    let Some(python) = python("pingouin") else { return };
    let mut rng = Pcg32::new(seed("agreement over nights"), 13);
    let problems: Vec<Problem> = (0..PROBLEMS).map(|_| Problem::new(&mut rng)).collect();
    let problems: Vec<_> = problems.iter().map(|problem| (problem.json(), problem.ours())).collect();
    same_numbers(&python, "reliability_oracle.py", &problems);
}
