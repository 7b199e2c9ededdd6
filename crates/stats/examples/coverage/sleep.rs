//! The simulator, as docs/coverage.md writes it down: nights of sleep, and devices that err in bouts.

use crate::dice::{Dice, Lengths, place};
use counterpane_stats::Table;

pub(crate) const STAGES: usize = 5;
/// Eight hours.
pub(crate) const EPOCHS: usize = 960;
/// Epochs that pass before a night begins, so that it starts anywhere in the chain.
const BEFORE: usize = 400;

/// Mean length of a bout of W, N1, N2, N3 and R, in epochs. Invented, of the size of real ones.
const MEAN_BOUT: [f64; STAGES] = [6.0, 3.0, 12.0, 16.0, 18.0];
/// What follows a bout: rows the stage that ends, each adds to 1. Invented.
const NEXT: [[f64; STAGES]; STAGES] = [
    [0.00, 0.70, 0.25, 0.00, 0.05],
    [0.25, 0.00, 0.65, 0.00, 0.10],
    [0.20, 0.20, 0.00, 0.35, 0.25],
    [0.10, 0.05, 0.85, 0.00, 0.00],
    [0.35, 0.25, 0.40, 0.00, 0.00],
];
/// What the device says in a bout of error: rows the true stage, each adds to 1. It may still be right by luck. Invented.
const SAYS: [[f64; STAGES]; STAGES] = [
    [0.10, 0.15, 0.60, 0.00, 0.15],
    [0.15, 0.00, 0.65, 0.00, 0.20],
    [0.05, 0.10, 0.40, 0.30, 0.15],
    [0.02, 0.00, 0.78, 0.20, 0.00],
    [0.10, 0.10, 0.60, 0.00, 0.20],
];

/// How a device errs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Errors {
    /// Share of the epochs that lie in a bout of error.
    pub(crate) share: f64,
    /// Mean length of such a bout, in epochs.
    pub(crate) mean: f64,
    /// How their lengths spread.
    pub(crate) lengths: Lengths,
}

/// Draws the true stages of one night: a semi-Markov chain, its bouts of the discrete gamma kind, those of wake mixed.
pub(crate) fn reference(dice: &mut Dice) -> Vec<usize> {
    let mut all = Vec::with_capacity(BEFORE + EPOCHS + 64);
    let mut stage = 0;
    while all.len() < BEFORE + EPOCHS {
        let lengths = if stage == 0 { Lengths::Mixed } else { Lengths::Gamma };
        let length = dice.length(MEAN_BOUT[stage], lengths);
        all.extend(std::iter::repeat_n(stage, length));
        stage = dice.pick(&NEXT[stage]);
    }
    all.drain(..BEFORE);
    all.truncate(EPOCHS);
    all
}

/// Draws what a device says: right, then a bout of error, and so on, whatever the true stage. One number decides for a
/// whole bout what it says of each stage, so that errors hang together.
pub(crate) fn device(dice: &mut Dice, reference: &[usize], errors: Errors) -> Vec<usize> {
    let right = (errors.mean * (1.0 - errors.share) / errors.share).max(1.0);
    let (mut wrong, mut left, mut says) = (false, dice.length(right, errors.lengths), 0.0);
    // A start that is as likely within a bout of error as anywhere else.
    let mut skip = (dice.share() * 40.0 * (right + errors.mean)) as usize + BEFORE;
    let mut out = Vec::with_capacity(reference.len());
    while out.len() < reference.len() {
        if left == 0 {
            (wrong, says) = (!wrong, dice.share());
            left = dice.length(if wrong { errors.mean } else { right }, errors.lengths);
        }
        left -= 1;
        if skip > 0 {
            skip -= 1;
            continue;
        }
        let stage = reference[out.len()];
        out.push(if wrong { place(&SAYS[stage], says) } else { stage });
    }
    out
}

/// Returns the shares of the pairs that a night without end would have: rows the reference.
pub(crate) fn truth(errors: Errors) -> [[f64; STAGES]; STAGES] {
    let stages = stationary();
    let mut shares = [[0.0; STAGES]; STAGES];
    for i in 0..STAGES {
        for j in 0..STAGES {
            let right = if i == j { 1.0 - errors.share } else { 0.0 };
            shares[i][j] = stages[i] * (right + errors.share * SAYS[i][j]);
        }
    }
    shares
}

/// Returns the share of each stage: how often the chain visits it, times how long it stays.
fn stationary() -> [f64; STAGES] {
    let mut visits = [0.2; STAGES];
    for _ in 0..2000 {
        let mut next = [0.0; STAGES];
        for (visit, row) in visits.iter().zip(NEXT) {
            next.iter_mut().zip(row).for_each(|(n, share)| *n += visit * share);
        }
        // Half a step, so that a chain that goes back and forth settles too.
        visits.iter_mut().zip(next).for_each(|(v, n)| *v = (*v + n) / 2.0);
    }
    let time: Vec<f64> = visits.iter().zip(MEAN_BOUT).map(|(v, m)| v * m).collect();
    let all: f64 = time.iter().sum();
    std::array::from_fn(|i| time[i] / all)
}

/// Returns the shares as a table of counts, fine enough for three digits more than are printed.
pub(crate) fn as_table(shares: &[[f64; STAGES]; STAGES]) -> Table {
    let counts = shares.iter().map(|row| row.iter().map(|s| (s * 1e12).round() as u64).collect()).collect();
    Table::from_counts(counts).unwrap()
}

/// Returns the table of one night.
pub(crate) fn table_of(reference: &[usize], device: &[usize]) -> Table {
    let side = |s: &[usize]| s.iter().map(|c| Some(*c)).collect::<Vec<_>>();
    Table::from_pairs(STAGES, &side(reference), &side(device)).unwrap()
}
