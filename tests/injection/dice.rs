//! Chance that a seed repeats.

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;

pub(crate) struct Dice(Pcg32);

impl Dice {
    pub(crate) fn new(seed: u64, stream: u64) -> Dice {
        let mut dice = Dice(Pcg32::new(seed, stream));
        // The first numbers of neighbouring streams are alike.
        for _ in 0..8 {
            dice.0.next_u32();
        }
        dice
    }

    /// A number below `bound`.
    pub(crate) fn below(&mut self, bound: usize) -> usize {
        counterpane_stats::below(bound as u32, || self.0.next_u32()) as usize
    }

    pub(crate) fn share(&mut self) -> f64 {
        (f64::from(self.0.next_u32()) + 0.5) / 4_294_967_296.0
    }

    pub(crate) fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }
}
