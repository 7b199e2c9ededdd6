//! More of the wakes of a night: by length, one to one, false ones for each hour, and how late they were noticed.

use crate::wake_bouts::shares;
use crate::{Figure, Undefined, WakeBouts};

/// Where the bins of [`WakeBouts::by_length`] begin, in minutes; the last has no end. A convention of this program.
pub const WAKE_BINS: [f64; 3] = [0.5, 2.0, 5.0];

/// The wakes of the reference whose lengths lie in one bin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WakeBin {
    /// Shortest length, in minutes.
    pub from: f64,
    /// Length from which on they belong to the next bin; none for the last.
    pub below: Option<f64>,
    /// Number of wakes of the reference.
    pub bouts: usize,
    /// How many of them the device found.
    pub found: usize,
}

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
    /// Returns how many of the reference's wakes were found, by their length; `epoch_minutes` is the length of a position.
    ///
    /// ```
    /// # use counterpane_stats::wake_bouts;
    /// let side = |s: &str| s.chars().map(|c| Some(c == 'W')).collect::<Vec<_>>();
    /// // Wakes of 1 min, missed, and of 2 min, found.
    /// let of = wake_bouts(&side("LWWLLWWWWL"), &side("LLLLLWWWWL"), 2, 0.5)?;
    /// assert_eq!(of.by_length(0.5).map(|bin| (bin.bouts, bin.found)), [(1, 0), (1, 1), (0, 0)]);
    /// # Ok::<(), counterpane_stats::Undefined>(())
    /// ```
    #[must_use]
    pub fn by_length(&self, epoch_minutes: f64) -> [WakeBin; 3] {
        std::array::from_fn(|i| {
            // A wake that is shorter than the first bin, of epochs below half a minute, belongs to it too.
            let (from, below) = (if i == 0 { 0.0 } else { WAKE_BINS[i] }, WAKE_BINS.get(i + 1).copied());
            let inside = |minutes: f64| minutes >= from && below.is_none_or(|end| minutes < end);
            let of_bin = || self.bouts.iter().filter(|b| inside(b.at.len() as f64 * epoch_minutes));
            WakeBin { from: WAKE_BINS[i], below, bouts: of_bin().count(), found: of_bin().filter(|b| b.found).count() }
        })
    }

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

    /// Returns the wakes of the device that are not true, for each hour of sleep of the reference.
    ///
    /// # Errors
    /// [`Undefined::NoSleep`] without sleep.
    pub fn false_per_hour(&self, epoch_minutes: f64) -> Figure {
        let hours = self.sleep as f64 * epoch_minutes / 60.0;
        if hours > 0.0 { Ok((self.device - self.device_true) as f64 / hours) } else { Err(Undefined::NoSleep) }
    }

    /// Returns by how many minutes on average the device's wake starts late, over the wakes that it found.
    ///
    /// # Errors
    /// [`Undefined::NoPairs`] when it found none.
    pub fn onset_error(&self, epoch_minutes: f64) -> Figure {
        let late: Vec<i64> = self.bouts.iter().filter(|b| b.found).filter_map(|b| b.onset_error).collect();
        if late.is_empty() {
            return Err(Undefined::NoPairs);
        }
        Ok(late.iter().sum::<i64>() as f64 * epoch_minutes / late.len() as f64)
    }
}

#[cfg(test)]
mod tests {
    use crate::{Undefined, WakeBouts, wake_bouts};
    use proptest::prelude::*;

    fn of(reference: &str, device: &str) -> WakeBouts {
        let side = |s: &str| s.chars().map(|c| (c != '.').then_some(c == 'W')).collect::<Vec<_>>();
        wake_bouts(&side(reference), &side(device), 1, 0.5).unwrap()
    }

    #[test]
    fn bins_begin_at_two_and_at_five_minutes() {
        let night = format!("L{}L{}L{}L{}L", "W".repeat(3), "W".repeat(4), "W".repeat(9), "W".repeat(10));
        let bins = of(&night, &night.replace("LWWWL", "LLLLL")).by_length(0.5);
        assert_eq!(
            bins.map(|b| (b.from, b.below, b.bouts, b.found)),
            [(0.5, Some(2.0), 1, 0), (2.0, Some(5.0), 2, 2), (5.0, None, 1, 1)]
        );
    }

    #[test]
    fn half_of_what_both_cover_makes_partners() {
        let pairs = |reference, device| of(reference, device).one_to_one().pairs;
        // 2 of 4 positions, then 1 of 3.
        assert_eq!(pairs("LWWWLL", "LLWWWL"), [(0, 0)]);
        assert_eq!(pairs("LWWLLL", "LLWWLL"), []);
        assert_eq!(pairs("LWWLWWLWWL", "LWWLLLLWWL"), [(0, 0), (2, 1)]);
    }

    #[test]
    fn false_wakes_count_for_each_hour_of_sleep() {
        // Two wakes of the device, one of them true, in 120 epochs of sleep.
        let sleep = "L".repeat(60);
        let night = of(&format!("{sleep}WW{sleep}"), &format!("LLWL{}WW{sleep}", "L".repeat(56)));
        assert_eq!(night.false_per_hour(0.5), Ok(1.0));
    }

    #[test]
    fn lateness_is_the_mean_over_the_wakes_that_were_found() {
        // Late by 1 and early by 2 epochs of half a minute; the third wake is missed.
        assert_eq!(of("LLWWWWLLLLLWWWLLWWL", "LLLWWWLLLWWWWWLLLLL").onset_error(0.5), Ok(-0.25));
        assert_eq!(of("LWWL", "LLLL").onset_error(0.5), Err(Undefined::NoPairs));
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
