//! Whether the bias is small enough, by a tolerance set beforehand.

use crate::quantiles::{t_quantile, t_two_sided};
use crate::t_interval::mean_and_sd;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "equivalence",
    name: "Two one-sided tests of the bias",
    meaning: "Whether the data show that the bias lies within a tolerance that was set before they were looked at.",
    formula: "p is the larger of two one-sided p, of bias <= -tolerance and of bias >= tolerance, t with n - 1 degrees of freedom; within \
              when the 90 % interval of the bias lies inside the tolerance, which is p < 0.05",
    range: "p 0 to 1",
    undefined: "there are fewer than two differences, they do not vary, or the tolerance is not above 0",
    caution: "A bias that does not differ significantly from 0 is not agreement; this is the question to ask instead. It is about the mean: \
              single nights may lie far outside.",
    source: "Schuirmann 1987, Journal of Pharmacokinetics and Biopharmaceutics 15(6), 657-680 (from memory)",
};

/// What two one-sided tests say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Equivalence {
    /// 90 % interval of the bias.
    pub interval_90: (f64, f64),
    /// The larger of the two p.
    pub p: f64,
    /// Whether the interval lies inside the tolerance.
    pub within: bool,
}

/// Returns whether the bias of independent differences lies within -`tolerance` to `tolerance`, in their unit.
///
/// Source: Schuirmann 1987, Journal of Pharmacokinetics and Biopharmaceutics 15(6), 657-680 (from memory).
///
/// ```
/// # use counterpane_stats::equivalence;
/// // Mean 2, s = 1, n = 3, t(95 %, 2) = 2.9200: 2 -+ 2.92 / sqrt(3) = 0.3141 to 3.6859, inside 4, not inside 3.
/// assert!(equivalence(&[1.0, 2.0, 3.0], 4.0)?.within);
/// assert!(!equivalence(&[1.0, 2.0, 3.0], 3.0)?.within);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn equivalence(differences: &[f64], tolerance: f64) -> Result<Equivalence, Undefined> {
    let (mean, sd) = mean_and_sd(differences)?;
    if sd == 0.0 {
        return Err(Undefined::ZeroVariance);
    }
    if tolerance <= 0.0 || tolerance.is_nan() {
        return Err(Undefined::NotPositive);
    }
    let (df, error) = (differences.len() as f64 - 1.0, sd / (differences.len() as f64).sqrt());
    let half = t_quantile(0.95, df) * error;
    // The bound that lies nearer is the one that decides.
    let distance = (tolerance - mean.abs()) / error;
    let beyond = t_two_sided(distance, df) / 2.0;
    let p = if distance < 0.0 { 1.0 - beyond } else { beyond };
    let interval_90 = (mean - half, mean + half);
    Ok(Equivalence { interval_90, p, within: interval_90.0 > -tolerance && interval_90.1 < tolerance })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_and_the_p_say_the_same() {
        for tolerance in [2.0, 3.6858, 3.686, 9.0] {
            let of = equivalence(&[1.0, 2.0, 3.0], tolerance).unwrap();
            assert_eq!(of.within, of.p < 0.05, "at {tolerance}: {of:?}");
        }
        assert!((equivalence(&[1.0, 2.0, 3.0], 2.0).unwrap().p - 0.5).abs() < 1e-12);
    }

    #[test]
    fn differences_that_do_not_vary_and_a_tolerance_of_nothing_have_no_test() {
        assert_eq!(equivalence(&[1.0, 1.0], 5.0), Err(Undefined::ZeroVariance));
        assert_eq!(equivalence(&[1.0, 2.0], 0.0), Err(Undefined::NotPositive));
        assert_eq!(equivalence(&[1.0], 5.0), Err(Undefined::NTooSmall));
    }
}
