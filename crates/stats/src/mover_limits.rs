//! The intervals of limits of agreement when participants have several nights.

use crate::quantiles::{chi_square_quantile, t_quantile};
use crate::repeated_limits::Groups;
use crate::special::Z95;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "mover_limits",
    name: "Limits of agreement of repeated nights, with intervals by MOVER",
    meaning: "The limits of agreement when participants have several nights, each with a 95 % interval made of the intervals of the variance \
              between participants, the variance within, and the bias (method of variance estimates recovery).",
    formula: "sd^2 = v + (1 - 1/h) MSW, v the variance of the participants' means, h the harmonic mean of their nights; limits bias -+ \
              1.959964 sd; intervals by squaring and adding the distances to the chi-square limits of both parts and to the t limits of \
              the bias",
    range: "any, in the unit of the measure",
    undefined: "there are fewer than two participants, or none has a second night",
    caution: "The standard deviation differs slightly from that of the analysis of variance when participants have unequal numbers of \
              nights.",
    source: "Zou 2013, Statistical Methods in Medical Research 22(6), 630-642",
};

/// Limits of agreement of repeated nights, with intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoverLimits {
    /// Mean of all differences.
    pub bias: f64,
    /// Standard deviation of a difference.
    pub sd: f64,
    /// The lower limit.
    pub lower: f64,
    /// Its 95 % interval.
    pub lower_interval: (f64, f64),
    /// The upper limit.
    pub upper: f64,
    /// Its 95 % interval.
    pub upper_interval: (f64, f64),
}

/// Returns the limits of agreement of differences grouped by participant, with intervals.
///
/// Source: Zou 2013, Statistical Methods in Medical Research 22(6), 630-642.
///
/// ```
/// # use counterpane_stats::mover_limits;
/// // Means 1 and 5: v = 8. MSW = 2, h = 2: sd^2 = 8 + 2/2 = 9; the limits are 3 -+ 1.96 * 3.
/// let of = mover_limits(&[vec![0.0, 2.0], vec![4.0, 6.0]])?;
/// assert!((of.sd - 3.0).abs() < 1e-12 && (of.upper - 8.88).abs() < 0.001);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why they are undefined.
pub fn mover_limits(participants: &[Vec<f64>]) -> Result<MoverLimits, Undefined> {
    let groups = Groups::of(participants)?;
    let people = groups.means.len() as f64;
    let (_, sd_of_means) = crate::t_interval::mean_and_sd(&groups.means)?;
    let variance = sd_of_means * sd_of_means;
    let harmonic = people / groups.sizes.iter().map(|m| 1.0 / m).sum::<f64>();
    let inner = (1.0 - 1.0 / harmonic) * groups.within;
    let total = variance + inner;
    let inner_df = groups.nights - groups.means.len();
    // How far each part reaches down and up, as a share of itself.
    let (down, up) = reach(groups.means.len() - 1)?;
    let (inner_down, inner_up) = reach(inner_df)?;
    let low = total - (variance * down).hypot(inner * inner_down);
    let high = total + (variance * up).hypot(inner * inner_up);
    let [at, at_low, at_high] = [total, low.max(0.0), high].map(|v| Z95 * v.sqrt());
    let of_bias = t_quantile(0.975, people - 1.0) * (variance / people).sqrt();
    let (near, far) = (of_bias.hypot(at - at_low), of_bias.hypot(at_high - at));
    let (lower, upper) = (groups.bias - at, groups.bias + at);
    Ok(MoverLimits {
        bias: groups.bias,
        sd: total.sqrt(),
        lower,
        lower_interval: (lower - far, lower + near),
        upper,
        upper_interval: (upper - near, upper + far),
    })
}

fn reach(df: usize) -> Result<(f64, f64), Undefined> {
    let whole = u32::try_from(df).map_err(|_| Undefined::OutsideRange)?;
    let df = f64::from(whole);
    Ok((1.0 - df / chi_square_quantile(0.975, whole), df / chi_square_quantile(0.025, whole) - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_intervals_mirror_each_other() {
        let of = mover_limits(&[vec![0.0, 2.0, 1.0], vec![4.0, 6.0], vec![-1.0, 0.5, 2.0, 7.0]]).unwrap();
        assert!((of.upper_interval.1 - of.bias - (of.bias - of.lower_interval.0)).abs() < 1e-12);
        assert!(of.lower_interval.0 < of.lower && of.lower < of.lower_interval.1);
    }

    #[test]
    fn one_night_each_is_not_repeated() {
        assert_eq!(mover_limits(&[vec![1.0], vec![2.0]]), Err(Undefined::NTooSmall));
    }
}
