//! What the best of many shifts gains by chance: the device's night beside references of other nights.

use super::lags::{Classes, gain as gain_of};

/// No more foreign nights than this are laid beside a night; they are taken evenly from all.
const MOST: usize = 40;

/// The gain of the best shift where there is nothing to find.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// What the best shift of the night itself gains in accuracy.
    pub gain: f64,
    /// Number of foreign nights that were laid beside it.
    pub nights: usize,
    /// Mean gain beside them.
    pub mean: f64,
    /// Largest gain beside them.
    pub most: f64,
    /// Share of them, the night itself counted too, that gain as much.
    pub as_much: f64,
}

/// Returns the gains beside references of other nights, laid epoch by epoch from the starts of their windows; `None` without one.
pub(super) fn chance(gain: f64, own: &Classes, foreign: &[&[Option<usize>]]) -> Option<Chance> {
    let step = foreign.len().div_ceil(MOST).max(1);
    let beside = |other: &&[Option<usize>]| gain_of(&own.beside(other).ok()?);
    let gains: Vec<f64> = foreign.iter().step_by(step).filter_map(beside).collect();
    let n = gains.len() as f64;
    let reached = gains.iter().filter(|g| **g >= gain).count() as f64;
    (!gains.is_empty()).then(|| Chance {
        gain,
        nights: gains.len(),
        mean: gains.iter().sum::<f64>() / n,
        most: gains.iter().copied().fold(0.0, f64::max),
        as_much: (1.0 + reached) / (1.0 + n),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn night(shift: usize) -> Classes {
        let side = |late: usize| (0..400).map(|t: usize| Some((t + shift * 13 - late.min(t)) / 37 % 3)).collect();
        Classes { n: 3, reference: side(0), device: side(4) }
    }

    fn references(nights: &[Classes]) -> Vec<&[Option<usize>]> {
        nights.iter().map(|n| n.reference.as_slice()).collect()
    }

    #[test]
    fn a_night_gains_more_beside_its_own_reference() {
        let (own, others) = (night(0), [night(1), night(2), night(3)]);
        let gain = gain_of(&own.beside(&own.reference).unwrap()).unwrap();
        let found = chance(gain, &own, &references(&others)).unwrap();
        assert_eq!(found.nights, 3);
        assert!(found.mean <= found.most && found.gain > 0.05, "{found:?}");
    }

    #[test]
    fn without_a_foreign_night_there_is_no_chance() {
        assert_eq!(chance(0.1, &night(0), &[]), None);
    }

    #[test]
    fn many_nights_are_thinned_evenly() {
        let others: Vec<Classes> = (1..=100).map(night).collect();
        let found = chance(0.5, &night(0), &references(&others)).unwrap();
        assert_eq!(found.nights, 34);
        assert_eq!(found.as_much, 1.0 / 35.0);
    }
}
