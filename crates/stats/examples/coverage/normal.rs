//! The same for differences that are normal, which the limits of agreement take for granted.

use crate::dice::Dice;
use crate::people::SIZES;
use crate::rows::{Row, on_two_threads};
use counterpane_stats::{limits_of_agreement, mover_limits};

/// Mean, and standard deviations between people and between nights of one, in minutes. Invented.
const MEAN: f64 = 6.0;
const BETWEEN: f64 = 6.0;
const WITHIN: f64 = 8.0;
const NIGHTS: usize = 3;

const KINDS: [(&str, &str); 4] = [
    ("limits-exact", "one normal difference each"),
    ("limits-approximate", "one normal difference each"),
    ("limits-repeated", "3 normal differences each, upper limit"),
    ("limits-repeated", "3 normal differences each, lower limit"),
];

pub(crate) fn rows(seed: u64, studies: u32) -> Vec<Row> {
    let sizes = SIZES.iter().enumerate();
    sizes.flat_map(|(at, n)| of_size(seed, (at as u64 + 11) << 40, *n, studies)).collect()
}

fn of_size(seed: u64, stream: u64, n: u32, studies: u32) -> Vec<Row> {
    let found = on_two_threads(studies, |number| study(&mut Dice::new(seed, stream | u64::from(number)), n));
    let row = |(i, (kind, scenario)): (usize, &(&'static str, &str))| {
        let holds: Vec<bool> = found.iter().map(|study| study[i]).collect();
        Row::new(kind, "a normal measure", scenario, n, &holds, upper())
    };
    KINDS.iter().enumerate().map(row).collect()
}

fn upper() -> f64 {
    MEAN + 1.96 * BETWEEN.hypot(WITHIN)
}

fn study(dice: &mut Dice, n: u32) -> [bool; 4] {
    let mut person = || {
        let own = MEAN + dice.normal(BETWEEN);
        (0..NIGHTS).map(|_| own + dice.normal(WITHIN)).collect()
    };
    let people: Vec<Vec<f64>> = (0..n).map(|_| person()).collect();
    let first: Vec<f64> = people.iter().map(|nights: &Vec<f64>| nights[0]).collect();
    let (limits, mover) = (limits_of_agreement(&first).unwrap(), mover_limits(&people).unwrap());
    let holds = |(low, high): (f64, f64), truth: f64| low <= truth && truth <= high;
    [
        holds(limits.upper.exact, upper()),
        holds(limits.upper.approximate, upper()),
        holds(mover.upper_interval, upper()),
        holds(mover.lower_interval, 2.0 * MEAN - upper()),
    ]
}
