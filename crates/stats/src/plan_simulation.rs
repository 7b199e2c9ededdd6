//! What a planned study would give, by drawing it many times.

use crate::draws::Draws;
use crate::quantiles::normal_quantile;
use crate::{Resampling, Scale, Statistic, Undefined, on_threads, participant_interval, sign_flip};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "plan_simulation",
    name: "A planned study, drawn many times",
    meaning: "How wide the interval of this program would be, how often it would hold the truth, and how often it would tell the mean from 0.",
    formula: "each participant's mean is normal with s_b around the true mean, each of the N nights normal with s_w around that, cut off at the \
              ends of the scale; the interval of a mean over participants is made of the participants' means, and the sign-flip test up to 16 \
              participants (beyond that, whether the interval leaves out 0)",
    range: "shares 0 to 1, half-widths above 0",
    undefined: "there are fewer than two participants, no night or no study, or the truth does not lie inside its scale",
    caution: "People and nights are taken as normal. Near the end of a scale they are not, and what is cut off there moves the mean.",
    source: "common practice, no source",
};

/// A study that is planned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planned {
    /// The true mean over people.
    pub mean: f64,
    /// Standard deviation between participants.
    pub between: f64,
    /// Standard deviation between nights of one participant.
    pub within: f64,
    /// Number of participants.
    pub participants: u32,
    /// Nights of each.
    pub nights: u32,
    /// What values there are.
    pub scale: Scale,
}

/// What the drawn studies gave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Simulated {
    /// Number of studies that had an interval.
    pub studies: u32,
    /// Mean half-width of their intervals.
    pub half_width: f64,
    /// Share of them whose half-width is no larger than wanted.
    pub narrow_enough: f64,
    /// Share of the intervals that hold the true mean.
    pub coverage: f64,
    /// Share of the studies that tell the mean from 0.
    pub told_from_zero: f64,
}

/// Above this number of participants the interval stands for the test, which would take too long.
const TEST_TO: u32 = 16;

/// Draws `asked.replicates` studies and makes the program's own interval of each; `half` is the half-width wanted.
///
/// ```
/// # use counterpane_stats::{plan_simulation, Planned, Resampling, Scale};
/// let planned = Planned { mean: 0.6, between: 0.13, within: 0.08, participants: 39, nights: 1, scale: Scale::Plain };
/// let of = plan_simulation(&planned, 0.05, Resampling { replicates: 200, seed: 1, threads: 2 })?;
/// assert!((of.half_width - 0.05).abs() < 0.005 && of.coverage > 0.85);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn plan_simulation(planned: &Planned, half: f64, asked: Resampling) -> Result<Simulated, Undefined> {
    let (low, high) = ends(planned.scale);
    if planned.participants < 2 || planned.nights == 0 || asked.replicates == 0 {
        return Err(Undefined::NTooSmall);
    }
    if !(planned.mean > low && planned.mean < high) {
        return Err(Undefined::OutsideRange);
    }
    let numbers: Vec<u64> = (0..u64::from(asked.replicates)).collect();
    let studies = on_threads(&numbers, asked.threads, |number| one(planned, asked.seed, *number));
    let found: Vec<Study> = studies.into_iter().flatten().collect();
    let n = found.len() as f64;
    if found.is_empty() {
        return Err(Undefined::ZeroVariance);
    }
    let share = |of: &dyn Fn(&Study) -> bool| found.iter().filter(|s| of(s)).count() as f64 / n;
    Ok(Simulated {
        studies: found.len() as u32,
        half_width: found.iter().map(Study::half_width).sum::<f64>() / n,
        narrow_enough: share(&|s| s.half_width() <= half),
        coverage: share(&|s| s.interval.0 <= planned.mean && planned.mean <= s.interval.1),
        told_from_zero: share(&|s| s.told_from_zero),
    })
}

#[derive(Clone, Copy)]
struct Study {
    interval: (f64, f64),
    told_from_zero: bool,
}

impl Study {
    fn half_width(&self) -> f64 {
        (self.interval.1 - self.interval.0) / 2.0
    }
}

fn one(planned: &Planned, seed: u64, number: u64) -> Option<Study> {
    let mut draws = Draws::new(seed, number);
    let (low, high) = ends(planned.scale);
    let mut normal = |mean: f64, sd: f64| mean + sd * normal_quantile(draws.share());
    let mut person = || {
        let own = normal(planned.mean, planned.between);
        let nights = (0..planned.nights).map(|_| normal(own, planned.within).clamp(low, high));
        nights.sum::<f64>() / f64::from(planned.nights)
    };
    let means: Vec<f64> = (0..planned.participants).map(|_| person()).collect();
    let asked = Resampling { replicates: 2000, seed: seed ^ number.rotate_left(32), threads: 1 };
    let interval = participant_interval(&means, planned.scale, asked).ok()?.interval;
    let outside = interval.0 > 0.0 || interval.1 < 0.0;
    let told_from_zero =
        if planned.participants > TEST_TO { outside } else { sign_flip(&means, seed).is_ok_and(|p| p < 0.05) };
    Some(Study { interval, told_from_zero })
}

/// The ends of a scale; values at the very end have no interval, so what is cut off stays just inside.
fn ends(scale: Scale) -> (f64, f64) {
    match scale {
        Scale::Plain => (f64::NEG_INFINITY, f64::INFINITY),
        Scale::Share => (0.0, 1.0),
        Scale::Coefficient => (-1.0, 1.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ASKED: Resampling = Resampling { replicates: 1000, seed: 5, threads: 2 };

    fn planned(participants: u32, mean: f64) -> Planned {
        Planned { mean, between: 0.13, within: 0.08, participants, nights: 1, scale: Scale::Plain }
    }

    #[test]
    fn a_planned_mean_gets_the_width_that_it_was_planned_for_and_holds_the_truth() {
        // plan_mean(0.13, 0.08, 1, 0.10) is 12.
        let of = plan_simulation(&planned(12, 0.6), 0.10, ASKED).unwrap();
        assert!((of.half_width - 0.095).abs() < 0.005, "{of:?}");
        // Four standard errors of a share of 0.95 in 1000 studies.
        assert!((of.coverage - 0.95).abs() < 0.028, "{of:?}");
    }

    #[test]
    fn power_is_what_the_closed_form_says() {
        // 15 participants tell 0.8 standard deviations from 0 with a power of 0.80 to 0.83 (statsmodels: 0.8213).
        let of = plan_simulation(&Planned { within: 0.0, ..planned(15, 0.8 * 0.13) }, 0.1, ASKED).unwrap();
        assert!((of.told_from_zero - 0.82).abs() < 0.05, "{of:?}");
    }

    #[test]
    fn five_participants_never_tell_anything() {
        let of = plan_simulation(&planned(5, 5.0), 0.1, ASKED).unwrap();
        assert_eq!(of.told_from_zero, 0.0);
    }

    #[test]
    fn the_number_of_threads_changes_nothing() {
        let on = |threads| plan_simulation(&planned(8, 0.5), 0.1, Resampling { replicates: 50, seed: 2, threads });
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn what_cannot_be_drawn_has_a_reason() {
        assert_eq!(plan_simulation(&planned(1, 0.5), 0.1, ASKED), Err(Undefined::NTooSmall));
        let outside = Planned { scale: Scale::Coefficient, ..planned(5, 1.0) };
        assert_eq!(plan_simulation(&outside, 0.1, ASKED), Err(Undefined::OutsideRange));
    }
}
