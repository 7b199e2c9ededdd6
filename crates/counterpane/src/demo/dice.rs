//! Random choices that are the same on every machine and for every version of a library.

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

/// A stream of random choices.
pub(crate) struct Dice(Pcg32);

impl Dice {
    /// Returns the stream of a seed. Different streams of one seed do not influence each other, so a
    /// change to one device leaves the others as they were.
    pub(crate) fn new(seed: u64, stream: u64) -> Dice {
        Dice(Pcg32::new(seed, stream))
    }

    /// Returns a whole number of `0..n`, each as likely as any other; 0 when `n` is 0.
    pub(crate) fn below(&mut self, n: u32) -> u32 {
        counterpane_stats::below(n, || self.0.next_u32())
    }

    /// Returns a whole number from `low` to `high`, both included.
    pub(crate) fn between(&mut self, (low, high): (u32, u32)) -> u32 {
        low + self.below(high.saturating_sub(low) + 1)
    }

    /// Returns a whole number from `low` to `high`, those in the middle more likely: the mean of two.
    pub(crate) fn about(&mut self, range: (u32, u32)) -> u32 {
        (self.between(range) + self.between(range)).div_ceil(2)
    }

    /// Returns the index of one of the weights, each as likely as it is heavy; 0 when all are 0.
    pub(crate) fn pick(&mut self, weights: &[u32]) -> usize {
        let mut left = self.below(weights.iter().sum());
        for (index, weight) in weights.iter().enumerate() {
            if left < *weight {
                return index;
            }
            left -= weight;
        }
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stream_is_that_of_the_generator_s_authors() {
        // First outputs of PCG32 with state 42 and stream 54 in the demo of pcg-random.org.
        let mut dice = Dice::new(42, 54);
        let first: Vec<u32> = (0..3).map(|_| dice.0.next_u32()).collect();
        assert_eq!(first, [0xa15c_02b7, 0x7b47_f409, 0xba1d_3330]);
    }

    #[test]
    fn every_face_comes_up_about_as_often() {
        let mut dice = Dice::new(1, 1);
        let mut faces = [0_u32; 6];
        (0..60_000).for_each(|_| faces[dice.below(6) as usize] += 1);
        assert!(faces.iter().all(|n| (9_500..10_500).contains(n)), "{faces:?}");
    }

    #[test]
    fn heavy_weights_come_up_and_empty_ones_do_not() {
        let mut dice = Dice::new(1, 2);
        let mut seen = [0_u32; 3];
        (0..9_000).for_each(|_| seen[dice.pick(&[2, 0, 1])] += 1);
        assert_eq!(seen[1], 0);
        assert!((5_700..6_300).contains(&seen[0]), "{seen:?}");
        assert_eq!((dice.below(0), dice.pick(&[])), (0, 0));
    }
}
