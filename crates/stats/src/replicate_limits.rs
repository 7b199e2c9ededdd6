//! Limits of agreement of replicate readings of a value that does not change.

use crate::limits_of_agreement::LIMIT_Z;
use crate::t_interval::{mean, mean_and_sd};
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "replicate_limits",
    name: "Limits of agreement of replicate readings",
    meaning: "The limits of agreement of single readings, when each side read one unchanging value of each participant several times.",
    formula: "sd^2 = variance of the participants' mean differences + (1 - mean of 1/m_i) s^2 for each side, s^2 its mean square within \
              participants, m_i its readings of participant i; mean of the mean differences -+ 1.96 sd",
    range: "any, in the unit of the measure",
    undefined: "there are fewer than two participants, or a side read none of them twice",
    caution: "Not for nights: the sleep of a person changes from night to night. Use the form for several nights.",
    source: "Bland and Altman 1999, Statistical Methods in Medical Research 8(2), sections 5.1 and 5.2",
};

/// Limits of agreement of replicate readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReplicateLimits {
    /// Mean of the participants' mean differences, device minus reference.
    pub bias: f64,
    /// Mean square within participants: the reference's, the device's.
    pub within: [f64; 2],
    /// Standard deviation of the difference of single readings.
    pub sd: f64,
    /// Lower and upper limit.
    pub limits: (f64, f64),
}

/// Returns the limits of agreement; each participant is `[readings of the reference, readings of the device]`.
///
/// Source: Bland and Altman 1999, Statistical Methods in Medical Research 8(2), sections 5.1 and 5.2.
///
/// ```
/// # use counterpane_stats::replicate_limits;
/// // Mean differences 1 and 3: variance 2. Within: reference 0, device 2, of two readings each: 2 + 0 + 2/2 = 3.
/// let of = replicate_limits(&[[vec![5.0, 5.0], vec![5.0, 7.0]], [vec![5.0, 5.0], vec![7.0, 9.0]]])?;
/// assert!(of.bias == 2.0 && of.within == [0.0, 2.0] && (of.sd - 3_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why they are undefined.
pub fn replicate_limits(participants: &[[Vec<f64>; 2]]) -> Result<ReplicateLimits, Undefined> {
    let apart = |[reference, device]: &[Vec<f64>; 2]| Ok(mean(device)? - mean(reference)?);
    let apart: Vec<f64> = participants.iter().map(apart).collect::<Result<_, Undefined>>()?;
    let (bias, sd_of_means) = mean_and_sd(&apart)?;
    let (reference, share) = side(participants, 0)?;
    let (device, other_share) = side(participants, 1)?;
    let sd = (sd_of_means * sd_of_means + share * reference + other_share * device).sqrt();
    let limits = (bias - LIMIT_Z * sd, bias + LIMIT_Z * sd);
    Ok(ReplicateLimits { bias, within: [reference, device], sd, limits })
}

/// Returns the mean square within participants of one side, and 1 minus the mean of 1/m.
fn side(participants: &[[Vec<f64>; 2]], side: usize) -> Result<(f64, f64), Undefined> {
    let (mut squares, mut df, mut inverse) = (0.0, 0.0, 0.0);
    for readings in participants.iter().filter_map(|p| p.get(side)) {
        let middle = mean(readings)?;
        squares += readings.iter().map(|r| (r - middle).powi(2)).sum::<f64>();
        df += readings.len() as f64 - 1.0;
        inverse += 1.0 / readings.len() as f64;
    }
    if df == 0.0 {
        return Err(Undefined::NTooSmall);
    }
    Ok((squares / df, 1.0 - inverse / participants.len() as f64))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn single_readings_are_not_replicates() {
        let once = [[vec![1.0], vec![2.0]], [vec![3.0], vec![3.0]]];
        assert_eq!(replicate_limits(&once), Err(Undefined::NTooSmall));
        assert_eq!(replicate_limits(&[[vec![], vec![2.0]]]), Err(Undefined::NoPairs));
    }
}
