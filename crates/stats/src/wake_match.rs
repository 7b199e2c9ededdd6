//! The wakes of both sides, one to one.

use crate::wake_bouts::shares;
use crate::{Figure, WakeBouts};

/// The wakes of both sides, one to one.
#[derive(Clone, Debug, PartialEq)]
pub struct WakeMatch {
    /// Places of the pairs in [`WakeBouts::bouts`] and [`WakeBouts::device_at`].
    pub pairs: Vec<(usize, usize)>,
    /// Share of the reference's wakes that have a partner.
    pub recall: Figure,
    /// Share of the device's wakes that have a partner.
    pub precision: Figure,
    /// Harmonic mean of both.
    pub f1: Figure,
}

impl WakeBouts {
    /// Returns the wakes of both sides one to one: two are partners when what they have in common is at least half of what
    /// they cover together.
    ///
    /// ```
    /// # use counterpane_stats::wake_bouts;
    /// let side = |s: &str| s.chars().map(|c| Some(c == 'W')).collect::<Vec<_>>();
    /// // One long wake of the device covers both of the reference; with the second it has 4 of 7 positions in common.
    /// let of = wake_bouts(&side("LWWLWWWWL"), &side("LWWWWWWWL"), 2, 0.5)?;
    /// assert_eq!((of.recall, of.one_to_one().recall, of.one_to_one().precision), (Ok(1.0), Ok(0.5), Ok(1.0)));
    /// # Ok::<(), counterpane_stats::Undefined>(())
    /// ```
    #[must_use]
    pub fn one_to_one(&self) -> WakeMatch {
        // No search for the largest matching is needed. Wakes of one side lie apart, so if two of them had half of what
        // they cover together with one wake of the other side in common, both halves would fill that wake and leave no
        // room for what parts them. Each wake has at most one partner, and all pairs together are the largest matching.
        let mut pairs = Vec::new();
        for (i, bout) in self.bouts.iter().enumerate() {
            for (j, device) in self.device_at.iter().enumerate() {
                let common = bout.at.end.min(device.end).saturating_sub(bout.at.start.max(device.start));
                if common > 0 && 2 * common >= bout.at.len() + device.len() - common {
                    pairs.push((i, j));
                }
            }
        }
        let [recall, precision, f1] = shares(pairs.len(), self.bouts.len(), pairs.len(), self.device_at.len());
        WakeMatch { pairs, recall, precision, f1 }
    }
}

#[cfg(test)]
mod tests {
    use crate::{WakeBouts, wake_bouts};
    use proptest::prelude::*;

    fn of(reference: &str, device: &str) -> WakeBouts {
        let side = |s: &str| s.chars().map(|c| (c != '.').then_some(c == 'W')).collect::<Vec<_>>();
        wake_bouts(&side(reference), &side(device), 1, 0.5).unwrap()
    }

    #[test]
    fn half_of_what_both_cover_makes_partners() {
        let pairs = |reference, device| of(reference, device).one_to_one().pairs;
        // 2 of 4 positions, then 1 of 3.
        assert_eq!(pairs("LWWWLL", "LLWWWL"), [(0, 0)]);
        assert_eq!(pairs("LWWLLL", "LLWWLL"), []);
        assert_eq!(pairs("LWWLWWLWWL", "LWWLLLLWWL"), [(0, 0), (2, 1)]);
    }

    proptest! {
        #[test]
        fn no_wake_has_two_partners(reference in "L[LW]{0,40}L", device in "L[LW]{40}") {
            let night = of(&reference, &device);
            let pairs = night.one_to_one().pairs;
            let mut seen = [pairs.iter().map(|p| p.0).collect::<Vec<_>>(), pairs.iter().map(|p| p.1).collect()];
            for side in &mut seen {
                side.sort_unstable();
                side.dedup();
                prop_assert_eq!(side.len(), pairs.len());
            }
            prop_assert!(night.one_to_one().recall.unwrap_or(0.0) <= 1.0);
        }
    }
}
