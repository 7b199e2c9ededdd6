//! Whether two devices differ, judged by participants.

use crate::draws::Draws;
use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "sign_flip",
    name: "Sign-flip test",
    meaning: "How often the mean difference would be at least as far from 0 if each participant's difference might as well have had the \
              other sign.",
    formula: "the share of the 2^P patterns of signs whose |mean| is at least that seen; above 16 participants (1 + number of 100,000 drawn \
              patterns) / 100,001",
    range: "above 0, at most 1",
    undefined: "there is no participant",
    caution: "The smallest p is 2 / 2^P: with five participants or fewer it cannot fall below 0.05. One difference for each participant.",
    source: "Fisher 1935, The Design of Experiments, section 21 (from memory)",
};

/// Up to this number of participants every pattern is counted.
const COUNT_TO: usize = 16;

/// How many patterns are drawn above it.
const PATTERNS: u64 = 100_000;

/// Returns the two-sided p of the participants' differences; `seed` is used above 16 participants.
///
/// Source: Fisher 1935, The Design of Experiments, section 21 (from memory).
///
/// ```
/// # use counterpane_stats::sign_flip;
/// // Only the two patterns of one sign reach the mean that was seen: 2 of 8.
/// assert_eq!(sign_flip(&[0.1, 0.2, 0.3], 1), Ok(0.25));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn sign_flip(differences: &[f64], seed: u64) -> Figure {
    if differences.is_empty() {
        return Err(Undefined::NoPairs);
    }
    let size: f64 = differences.iter().map(|d| d.abs()).sum();
    // Sums of the same numbers in another order must not count as different.
    let seen = differences.iter().sum::<f64>().abs() - 1e-12 * size;
    if differences.len() > COUNT_TO {
        let mut draws = Draws::new(seed, 0);
        let mut flipped = || differences.iter().map(|d| if draws.below(2) == 0 { *d } else { -d }).sum::<f64>();
        let reached = (0..PATTERNS).filter(|_| flipped().abs() >= seen).count();
        return Ok((1 + reached) as f64 / (PATTERNS + 1) as f64);
    }
    let patterns = 1_u32 << differences.len();
    let flipped = |pattern: u32| {
        differences.iter().enumerate().map(|(at, d)| if pattern >> at & 1 == 0 { *d } else { -d }).sum::<f64>()
    };
    Ok((0..patterns).filter(|pattern| flipped(*pattern).abs() >= seen).count() as f64 / f64::from(patterns))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_participants_cannot_reach_one_in_twenty() {
        assert_eq!(sign_flip(&[0.1, 0.4, 0.2, 0.3, 0.9], 1), Ok(2.0 / 32.0));
        assert_eq!(sign_flip(&[0.1, 0.4, 0.2, 0.3, 0.9, 0.1], 1), Ok(2.0 / 64.0));
    }

    #[test]
    fn no_difference_is_no_surprise() {
        assert_eq!(sign_flip(&[0.0, 0.0], 1), Ok(1.0));
        assert_eq!(sign_flip(&[0.3, -0.3], 1), Ok(1.0));
        assert_eq!(sign_flip(&[], 1), Err(Undefined::NoPairs));
    }

    #[test]
    fn drawn_patterns_come_near_to_counted_ones() {
        let differences: Vec<f64> = (0..16).map(|i| f64::from(i % 5) - 1.4).collect();
        let counted = sign_flip(&differences, 1).unwrap();
        // A participant without a difference changes nothing, but makes 17 of them.
        let drawn = sign_flip(&[differences, vec![0.0]].concat(), 7).unwrap();
        assert!((counted - drawn).abs() < 0.01, "{counted} {drawn}");
    }
}
