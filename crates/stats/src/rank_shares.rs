//! How often each device comes first, second and so on in studies drawn anew.

use crate::Statistic;

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "rank_shares",
    name: "Share of resampled studies for each rank",
    meaning: "In what share of resampled studies a device has each rank.",
    formula: "replicates in which the device has the rank, divided by all; devices that tie share their ranks equally",
    range: "0 to 1; each device adds to 1, each rank adds to 1",
    undefined: "never; without a replicate there are no shares",
    caution: "Not the probability of being the best. Unstable when devices are close: the rank interval is the safer claim.",
    source: "Hall and Miller 2009, Annals of Statistics 37(6B), 3929-3959 (from memory)",
};

/// Returns for each device the share of replicates in which it has each rank, the highest value first.
///
/// `replicates` holds one row for each resampled study, with one value for each of `devices` devices; rows of another
/// length are left out.
///
/// ```
/// # use counterpane_stats::rank_shares;
/// // The first is ahead once, and once they tie.
/// assert_eq!(rank_shares(2, &[vec![0.9, 0.8], vec![0.7, 0.7]]), [[0.75, 0.25], [0.25, 0.75]]);
/// ```
#[must_use]
pub fn rank_shares(devices: usize, replicates: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut shares = vec![vec![0.0; devices]; devices];
    let rows: Vec<&Vec<f64>> = replicates.iter().filter(|row| row.len() == devices).collect();
    for row in &rows {
        for (device, value) in row.iter().enumerate() {
            let ahead = row.iter().filter(|other| *other > value).count();
            let ties = row.iter().filter(|other| *other == value).count().max(1);
            for share in shares[device].iter_mut().skip(ahead).take(ties) {
                *share += 1.0 / (ties * rows.len()) as f64;
            }
        }
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_a_device_and_of_a_rank_add_to_one() {
        let shares = rank_shares(3, &[vec![3.0, 1.0, 1.0], vec![1.0, 2.0, 3.0], vec![1.0, 1.0, 1.0]]);
        for at in 0..3 {
            assert!((shares[at].iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert!((shares.iter().map(|device| device[at]).sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }
}
