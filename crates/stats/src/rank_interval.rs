//! Which ranks the data leave open to each device.

use crate::Statistic;

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "rank_interval",
    name: "Rank interval",
    meaning: "The best and the worst rank that a device may have, from which others are told apart from it.",
    formula: "1 + number of devices that are significantly better, to D - number that are significantly worse, after Holm's adjustment",
    range: "1 to D",
    undefined: "never",
    caution: "Devices that cannot be told apart share ranks: no order may be read into them.",
    source: "Mogstad, Romano, Shaikh and Wilhelm 2024, Review of Economic Studies 91(1), 476-518 (from memory)",
};

/// A difference between two devices that is not put down to chance: `better` and `worse` are their numbers from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ToldApart {
    /// The device that does better.
    pub better: usize,
    /// The device that does worse.
    pub worse: usize,
}

/// Returns the best and the worst rank of each of `devices` devices.
///
/// ```
/// # use counterpane_stats::{rank_interval, ToldApart};
/// // Only the first is better than the last.
/// assert_eq!(rank_interval(3, &[ToldApart { better: 0, worse: 2 }]), [(1, 2), (1, 3), (2, 3)]);
/// ```
#[must_use]
pub fn rank_interval(devices: usize, apart: &[ToldApart]) -> Vec<(usize, usize)> {
    let better = |device: usize| apart.iter().filter(|a| a.worse == device).count();
    let worse = |device: usize| apart.iter().filter(|a| a.better == device).count();
    (0..devices).map(|device| (1 + better(device), devices.saturating_sub(worse(device)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn devices_that_are_not_told_apart_may_have_any_rank() {
        assert_eq!(rank_interval(2, &[]), [(1, 2), (1, 2)]);
        assert!(rank_interval(0, &[]).is_empty());
    }
}
