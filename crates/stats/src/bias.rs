//! By how much the device is off on average.

use crate::t_interval::{mean, mean_and_sd};
use crate::{Figure, Statistic, Undefined, t_interval};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "bias",
    name: "Bias",
    meaning: "The mean of the differences, device minus reference, with its interval.",
    formula: "mean d +- t s / sqrt(n), s the standard deviation of the differences (divisor n - 1), t with n - 1 degrees of freedom",
    range: "any, in the unit of the measure",
    undefined: "there is no difference; its standard deviation and interval need two",
    caution: "One difference for each participant. A bias near 0 is not agreement: errors to both sides cancel out.",
    source: "Bland and Altman 1986, Lancet 327(8476), 307-310",
};

/// The mean of the differences and what they leave open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bias {
    /// Number of differences.
    pub n: usize,
    /// Their mean, in their unit.
    pub mean: f64,
    /// Their standard deviation, divisor n - 1.
    pub sd: Figure,
    /// 95 % interval of the mean.
    pub interval: Result<(f64, f64), Undefined>,
}

/// Returns device minus reference for pairs of `[reference, device]`.
///
/// ```
/// # use counterpane_stats::differences;
/// assert_eq!(differences(&[[400.0, 415.0], [380.0, 370.0]]), [15.0, -10.0]);
/// ```
#[must_use]
pub fn differences(pairs: &[[f64; 2]]) -> Vec<f64> {
    pairs.iter().map(|[reference, device]| device - reference).collect()
}

/// Returns the mean of differences of independent participants, with its interval.
///
/// Source: Bland and Altman 1986, Lancet 327(8476), 307-310.
///
/// ```
/// # use counterpane_stats::bias;
/// // Mean 2, s = 1: 2 -+ 4.3027 / sqrt(3).
/// let of = bias(&[1.0, 2.0, 3.0])?;
/// assert_eq!((of.mean, of.sd), (2.0, Ok(1.0)));
/// // One difference is shown, without an interval.
/// assert!(bias(&[12.5])?.interval.is_err());
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn bias(differences: &[f64]) -> Result<Bias, Undefined> {
    let sd = mean_and_sd(differences).map(|(_, sd)| sd);
    Ok(Bias { n: differences.len(), mean: mean(differences)?, sd, interval: t_interval(differences) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{PEAK_FLOW, prints};

    #[test]
    fn the_peak_flows_have_their_printed_bias() {
        // Bland and Altman 1986: the large meter minus the mini meter, so the device is the large one.
        let of = bias(&differences(&PEAK_FLOW.map(|[large, mini]| [mini, large]))).unwrap();
        prints(Ok(of.mean), "-2.1");
        prints(of.sd, "38.8");
        prints(of.sd.map(|sd| sd / 17_f64.sqrt()), "9.4");
        prints(of.interval.map(|i| i.0), "-22.0");
        prints(of.interval.map(|i| i.1), "17.8");
    }

    #[test]
    fn nothing_has_no_mean() {
        assert_eq!(bias(&[]), Err(Undefined::NoPairs));
        assert_eq!(bias(&[3.0]).unwrap().sd, Err(Undefined::NTooSmall));
    }
}
