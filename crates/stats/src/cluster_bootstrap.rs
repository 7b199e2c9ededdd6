//! Participants drawn anew, each with all of their nights.

use crate::draws::{Replicates, Resampling, replicates};
use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "cluster_bootstrap",
    name: "Cluster bootstrap",
    meaning: "The values of a statistic over studies whose participants are drawn anew with replacement, each with all nights and epochs.",
    formula: "P participants drawn with replacement out of P, for each replicate",
    range: "those of the statistic",
    undefined: "there are fewer than two participants",
    caution: "Nights and epochs are not drawn anew inside a participant. Below 20 participants its intervals are too narrow: use the t \
              interval of the participants' means.",
    source: "Davison and Hinkley 1997, Bootstrap Methods and their Application, section 3.8; Field and Welsh 2007, Journal of the Royal \
             Statistical Society B 69(3), 369-390 (both from memory)",
};

/// Returns a statistic over resamples of participants; `statistic` takes the numbers (from 0) of those who were drawn.
///
/// The same seed draws the same participants whatever the statistic, so the replicates of two devices may be subtracted
/// one by one. Source: Davison and Hinkley 1997, section 3.8; Field and Welsh 2007 (both from memory).
///
/// ```
/// # use counterpane_stats::{cluster_bootstrap, Resampling};
/// let means = [0.5, 0.7, 0.9];
/// let asked = Resampling { replicates: 100, seed: 1, threads: 1 };
/// let all = cluster_bootstrap(3, asked, |drawn| Ok(drawn.iter().map(|who| means[*who]).sum::<f64>() / 3.0))?;
/// assert!(all.values.iter().all(|mean| (0.5..=0.9).contains(mean)));
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn cluster_bootstrap(
    participants: u32,
    asked: Resampling,
    statistic: impl Fn(&[usize]) -> Figure + Sync,
) -> Result<Replicates, Undefined> {
    if participants < 2 {
        return Err(Undefined::NTooSmall);
    }
    let scratch = || vec![0_usize; participants as usize];
    Ok(replicates(asked, scratch, |drawn, draws| {
        drawn.iter_mut().for_each(|who| *who = draws.below(participants) as usize);
        statistic(drawn)
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_spread_of_a_mean_is_that_of_theory() {
        // Efron and Tibshirani 1993, table 2.2: the ideal bootstrap error of the mean of seven mice is 23.36.
        let mice = [94.0, 197.0, 16.0, 38.0, 99.0, 141.0, 23.0];
        let asked = Resampling { replicates: 20_000, seed: 5, threads: 2 };
        let all = cluster_bootstrap(7, asked, |d| Ok(d.iter().map(|who| mice[*who]).sum::<f64>() / 7.0)).unwrap();
        let mean = all.values.iter().sum::<f64>() / 20_000.0;
        let sd = (all.values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 20_000.0).sqrt();
        assert!((sd - 23.36).abs() < 0.6, "{sd}");
    }

    #[test]
    fn one_participant_is_not_drawn_anew() {
        let asked = Resampling { replicates: 10, seed: 5, threads: 1 };
        assert_eq!(cluster_bootstrap(1, asked, |_| Ok(1.0)), Err(Undefined::NTooSmall));
    }
}
