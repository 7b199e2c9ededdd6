//! Limits of agreement when participants have several nights.

use crate::limits_of_agreement::LIMIT_Z;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "repeated_limits",
    name: "Limits of agreement, several nights for each participant",
    meaning: "The limits between which about 95 of 100 differences lie, when each participant gives several nights and the true value \
              varies from night to night.",
    formula: "one-way analysis of variance of d by participant: lambda = (N^2 - sum m_i^2) / ((P - 1) N), between = max(0, (MSB - MSW) / \
              lambda), sd = sqrt(between + MSW); bias -+ 1.96 sd, with m_i nights of participant i, N nights of P participants",
    range: "any, in the unit of the measure",
    undefined: "there are fewer than two participants, or none has a second night",
    caution: "The plain standard deviation over all nights is too small. The bias counts each night equally; the mean of the participants' \
              means, given beside it, counts each participant equally, and the two can differ much.",
    source: "Bland and Altman 2007, Journal of Biopharmaceutical Statistics 17(4), 571-582, section 3",
};

/// The limits of agreement of repeated nights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RepeatedLimits {
    /// Number of participants.
    pub participants: usize,
    /// Number of nights.
    pub nights: usize,
    /// Mean of all differences.
    pub bias: f64,
    /// Mean of the participants' means.
    pub mean_of_means: f64,
    /// Variance between participants.
    pub between: f64,
    /// Variance within participants.
    pub within: f64,
    /// Standard deviation of a difference.
    pub sd: f64,
    /// Lower and upper limit.
    pub limits: (f64, f64),
}

/// Returns the limits of agreement of differences grouped by participant.
///
/// Source: Bland and Altman 2007, Journal of Biopharmaceutical Statistics 17(4), 571-582.
///
/// ```
/// # use counterpane_stats::repeated_limits;
/// // Means 1 and 5, within squares 2 and 2: MSW = 4/2 = 2, MSB = 2 (2^2 + 2^2) = 16, lambda = (16 - 8) / 4 = 2,
/// // between = (16 - 2) / 2 = 7, sd = 3.
/// let of = repeated_limits(&[vec![0.0, 2.0], vec![4.0, 6.0]])?;
/// assert_eq!((of.bias, of.between, of.within, of.sd), (3.0, 7.0, 2.0, 3.0));
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why they are undefined.
pub fn repeated_limits(participants: &[Vec<f64>]) -> Result<RepeatedLimits, Undefined> {
    let groups = Groups::of(participants)?;
    let (people, nights) = (groups.means.len() as f64, groups.nights as f64);
    let squares: f64 = groups.sizes.iter().map(|m| m * m).sum();
    let lambda = (nights * nights - squares) / ((people - 1.0) * nights);
    let apart: f64 = groups.means.iter().zip(&groups.sizes).map(|(mean, m)| m * (mean - groups.bias).powi(2)).sum();
    let between = ((apart / (people - 1.0) - groups.within) / lambda).max(0.0);
    let sd = (between + groups.within).sqrt();
    Ok(RepeatedLimits {
        participants: groups.means.len(),
        nights: groups.nights,
        bias: groups.bias,
        mean_of_means: groups.means.iter().sum::<f64>() / people,
        between,
        within: groups.within,
        sd,
        limits: (groups.bias - LIMIT_Z * sd, groups.bias + LIMIT_Z * sd),
    })
}

/// Differences by participant, and their mean square within participants.
pub(crate) struct Groups {
    pub(crate) nights: usize,
    pub(crate) bias: f64,
    pub(crate) means: Vec<f64>,
    pub(crate) sizes: Vec<f64>,
    pub(crate) within: f64,
}

impl Groups {
    /// Takes participants without a night as absent.
    pub(crate) fn of(participants: &[Vec<f64>]) -> Result<Groups, Undefined> {
        let present: Vec<&Vec<f64>> = participants.iter().filter(|p| !p.is_empty()).collect();
        let nights: usize = present.iter().map(|p| p.len()).sum();
        if nights == 0 {
            return Err(Undefined::NoPairs);
        }
        if present.len() < 2 || nights == present.len() {
            return Err(Undefined::NTooSmall);
        }
        let means: Vec<f64> = present.iter().map(|p| p.iter().sum::<f64>() / p.len() as f64).collect();
        let inside = |(p, mean): (&&Vec<f64>, &f64)| p.iter().map(|d| (d - mean).powi(2)).sum::<f64>();
        let within = present.iter().zip(&means).map(inside).sum::<f64>() / (nights - present.len()) as f64;
        let bias = present.iter().flat_map(|p| p.iter()).sum::<f64>() / nights as f64;
        Ok(Groups { nights, bias, means, sizes: present.iter().map(|p| p.len() as f64).collect(), within })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn variance_between_participants_is_never_negative() {
        let of = repeated_limits(&[vec![0.0, 10.0], vec![1.0, 9.0], vec![5.0]]).unwrap();
        assert_eq!((of.between, of.participants, of.nights), (0.0, 3, 5));
        assert_eq!(of.sd, of.within.sqrt());
    }

    #[test]
    fn one_participant_or_one_night_each_is_not_repeated() {
        assert_eq!(repeated_limits(&[vec![1.0, 2.0, 3.0]]), Err(Undefined::NTooSmall));
        assert_eq!(repeated_limits(&[vec![1.0], vec![2.0], vec![]]), Err(Undefined::NTooSmall));
        assert_eq!(repeated_limits(&[vec![]]), Err(Undefined::NoPairs));
    }
}
