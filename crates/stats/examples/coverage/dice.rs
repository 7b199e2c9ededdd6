//! Chance for the simulator: uniform, normal, and lengths of bouts.

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;

/// One stream of chance.
pub(crate) struct Dice(Pcg32);

/// How the lengths of bouts are spread around their mean, all at least one epoch long.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lengths {
    /// Geometric: a bout ends at each epoch with the same probability.
    Geometric,
    /// One more than a negative binomial number of shape 3, the gamma distribution of whole numbers: more alike.
    Gamma,
    /// Four of five bouts geometric with half the mean, the fifth with three times the mean: a few are very long.
    Mixed,
}

impl Dice {
    pub(crate) fn new(seed: u64, stream: u64) -> Dice {
        Dice(Pcg32::new(seed.wrapping_add(stream.wrapping_mul(0x9E37_79B9_7F4A_7C15)), stream))
    }

    /// Returns a number above 0 and below 1.
    pub(crate) fn share(&mut self) -> f64 {
        (f64::from(self.0.next_u32()) + 0.5) / 4_294_967_296.0
    }

    /// Returns a normal number with mean 0, by the polar form of Box and Muller 1958.
    pub(crate) fn normal(&mut self, sd: f64) -> f64 {
        let (radius, turn) = ((-2.0 * self.share().ln()).sqrt(), std::f64::consts::TAU * self.share());
        sd * radius * turn.cos()
    }

    /// Returns the place that a share falls into; the shares add up to 1.
    pub(crate) fn pick(&mut self, shares: &[f64]) -> usize {
        place(shares, self.share())
    }

    /// Returns the length of a bout, with the given mean of at least 1.
    pub(crate) fn length(&mut self, mean: f64, lengths: Lengths) -> usize {
        match lengths {
            Lengths::Geometric => 1 + self.failures(mean - 1.0),
            Lengths::Gamma => 1 + (0..3).map(|_| self.failures((mean - 1.0) / 3.0)).sum::<usize>(),
            Lengths::Mixed if self.share() < 0.8 => 1 + self.failures((mean - 1.0) * 0.5),
            Lengths::Mixed => 1 + self.failures((mean - 1.0) * 3.0),
        }
    }

    /// Returns a geometric number from 0 on with the given mean.
    fn failures(&mut self, mean: f64) -> usize {
        if mean <= 0.0 { 0 } else { (self.share().ln() / (mean / (1.0 + mean)).ln()) as usize }
    }
}

/// Returns the place that `at`, 0 to 1, falls into.
pub(crate) fn place(shares: &[f64], at: f64) -> usize {
    let mut left = at;
    for (i, share) in shares.iter().enumerate() {
        left -= share;
        if left < 0.0 {
            return i;
        }
    }
    shares.len() - 1
}
