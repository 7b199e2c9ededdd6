//! A night that is nobody's, with bouts as long as those of a real one.

use crate::draws::Draws;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "random_night",
    name: "Random night that keeps bouts",
    meaning: "A made-up series of stages whose bouts are about as long as those of a given night and which knows nothing of it otherwise.",
    formula: "a Markov chain with the night's own frequencies of stages at the start and of steps from stage to stage; generator PCG XSH RR \
              64/32",
    range: "the classes of the night",
    undefined: "the night is empty",
    caution: "Its kappa is 0 on average and yet often 0.1 for a single night, because long bouts meet long bouts: judge a device against \
              many such nights.",
    source: "common practice, no source",
};

/// Returns a random night of the length of `night`, a series of classes; each `replicate` of a seed is another one.
///
/// ```
/// # use counterpane_stats::random_night;
/// // A night of one stage has only itself to draw from.
/// assert_eq!(random_night(&[2, 2, 2], 1, 0), Ok(vec![2, 2, 2]));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn random_night(night: &[usize], seed: u64, replicate: u64) -> Result<Vec<usize>, Undefined> {
    let n = u32::try_from(night.len()).map_err(|_| Undefined::OutsideRange)?;
    if n == 0 {
        return Err(Undefined::NoPairs);
    }
    let mut draws = Draws::new(seed, replicate);
    // What follows each class, one entry for each time: a draw from the list is a step of the chain.
    let classes = night.iter().max().map_or(0, |largest| largest + 1);
    let mut follows = vec![Vec::new(); classes];
    night.iter().zip(night.iter().skip(1)).for_each(|(from, to)| follows[*from].push(*to));
    let mut made: Vec<usize> = vec![night[draws.below(n) as usize]];
    while made.len() < night.len() {
        let next = made.last().map_or(&[][..], |last| &follows[*last]);
        // A stage that only ends the night leads nowhere: begin anew.
        let pool = if next.is_empty() { night } else { next };
        made.push(pool[draws.below(pool.len() as u32) as usize]);
    }
    Ok(made)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bouts_are_about_as_long_and_a_seed_repeats_them() {
        let night: Vec<usize> = (0..900).map(|t| t / 30 % 3).collect();
        let made = random_night(&night, 4, 1).unwrap();
        let changes = made.windows(2).filter(|pair| pair[0] != pair[1]).count();
        // 29 changes in the night; as a count by chance within five standard deviations.
        assert!((3..=56).contains(&changes), "{changes}");
        assert_eq!(made, random_night(&night, 4, 1).unwrap());
        assert_ne!(made, random_night(&night, 4, 2).unwrap());
    }

    #[test]
    fn a_stage_that_only_ends_the_night_leads_somewhere() {
        assert_eq!(random_night(&[0, 1], 1, 0).map(|made| made.len()), Ok(2));
        assert_eq!(random_night(&[], 1, 0), Err(Undefined::NoPairs));
    }
}
