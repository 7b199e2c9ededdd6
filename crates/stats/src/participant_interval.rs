//! The interval of a mean over participants.

use crate::t_interval::mean_and_sd;
use crate::{
    Resampling, Statistic, Undefined, atanh_interval, cluster_bootstrap, logit_interval, percentile_interval,
    t_interval,
};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "participant_interval",
    name: "Interval of a mean over participants, 95 %",
    meaning: "What the means of the participants leave open about people like them.",
    formula: "below 20 participants mean +- t s / sqrt(P); where that leaves the range of the statistic, on the logit or Fisher's scale with \
              s / sqrt(P) divided by the slope of the scale at the mean; from 20 on percentiles of the cluster bootstrap",
    range: "those of the statistic",
    undefined: "there are fewer than two participants, or all of them sit at the end of the range",
    caution: "One value for each participant: the mean of the participant's nights. With two to four participants show each of them, and warn.",
    source: "Student 1908, Biometrika 6(1), 1-25 (from memory); Field and Welsh 2007, Journal of the Royal Statistical Society B 69(3), \
             369-390 (from memory); the change at 20 is a convention of this program, after simulations",
};

/// From this number of participants on the cluster bootstrap is used.
pub const BOOTSTRAP_FROM: usize = 20;

/// What values a statistic can take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Any number, such as minutes.
    Plain,
    /// 0 to 1, such as accuracy.
    Share,
    /// -1 to 1, such as kappa.
    Coefficient,
}

/// How an interval was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IntervalBy {
    /// Student's t.
    T,
    /// Student's t on the logit scale or Fisher's.
    TOnScale,
    /// Percentiles of the cluster bootstrap.
    ClusterBootstrap,
}

/// A mean over participants with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ParticipantInterval {
    /// Number of participants.
    pub participants: usize,
    /// Mean of their values.
    pub mean: f64,
    /// Lower and upper limit.
    pub interval: (f64, f64),
    /// How it was made.
    pub by: IntervalBy,
}

/// Returns the mean of the participants' values with its interval; `asked` is used from 20 participants on.
///
/// ```
/// # use counterpane_stats::{participant_interval, IntervalBy, Resampling, Scale};
/// let asked = Resampling { replicates: 2000, seed: 1, threads: 1 };
/// // Mean 2, s = 1: as Student's interval.
/// let of = participant_interval(&[1.0, 2.0, 3.0], Scale::Plain, asked)?;
/// assert!(of.by == IntervalBy::T && (of.interval.1 - 4.4841).abs() < 5e-5);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn participant_interval(values: &[f64], scale: Scale, asked: Resampling) -> Result<ParticipantInterval, Undefined> {
    let (mean, sd) = mean_and_sd(values)?;
    let (interval, by) = if values.len() < BOOTSTRAP_FROM {
        by_t(values, scale, mean, sd)?
    } else {
        let n = values.len();
        let people = u32::try_from(n).map_err(|_| Undefined::OutsideRange)?;
        let of = |drawn: &[usize]| Ok(drawn.iter().map(|who| values[*who]).sum::<f64>() / n as f64);
        (percentile_interval(&cluster_bootstrap(people, asked, of)?.values)?, IntervalBy::ClusterBootstrap)
    };
    Ok(ParticipantInterval { participants: values.len(), mean, interval, by })
}

fn by_t(values: &[f64], scale: Scale, mean: f64, sd: f64) -> Result<((f64, f64), IntervalBy), Undefined> {
    let plain = t_interval(values)?;
    let (n, lowest) = (values.len() as f64, if scale == Scale::Share { 0.0 } else { -1.0 });
    if scale == Scale::Plain || (plain.0 >= lowest && plain.1 <= 1.0) {
        return Ok((plain, IntervalBy::T));
    }
    let error = sd / n.sqrt();
    let interval = match scale {
        Scale::Share => logit_interval(mean, error / (mean * (1.0 - mean)), n - 1.0)?,
        _ => atanh_interval(mean, error / (1.0 - mean * mean), n - 1.0)?,
    };
    Ok((interval, IntervalBy::TOnScale))
}

#[cfg(test)]
mod tests {
    use super::*;

    const ASKED: Resampling = Resampling { replicates: 2000, seed: 3, threads: 2 };

    #[test]
    fn near_the_end_of_the_range_the_limits_stay_inside() {
        let of = participant_interval(&[0.99, 0.98, 0.70], Scale::Share, ASKED).unwrap();
        assert_eq!(of.by, IntervalBy::TOnScale);
        assert!(of.interval.0 > 0.0 && of.interval.1 < 1.0);
        let of = participant_interval(&[0.9, -0.8], Scale::Coefficient, ASKED).unwrap();
        assert!(of.interval.0 > -1.0 && of.interval.1 < 1.0);
    }

    #[test]
    fn from_twenty_participants_on_they_are_drawn_anew() {
        let values: Vec<f64> = (0..20).map(f64::from).collect();
        let of = participant_interval(&values, Scale::Plain, ASKED).unwrap();
        assert_eq!(of.by, IntervalBy::ClusterBootstrap);
        assert!(of.interval.0 > 6.0 && of.interval.0 < of.mean && of.interval.1 < 13.0);
    }

    #[test]
    fn one_participant_has_none() {
        assert_eq!(participant_interval(&[0.5], Scale::Share, ASKED), Err(Undefined::NTooSmall));
    }
}
