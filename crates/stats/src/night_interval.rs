//! The interval of a statistic within one night.

use crate::atanh_interval::atanh_limits;
use crate::draws::{Replicates, Resampling, replicated};
use crate::logit_interval::logit_limits;
use crate::night_draws::NightDraws;
use crate::quantiles::t_quantile;
use crate::t_interval::mean_and_sd;
use crate::{Figure, Scale, Statistic, Table, Undefined, block_length, effective_n, wilson_interval_of_share};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "night_interval",
    name: "Interval within one night, 95 %, approximate",
    meaning: "How well one night pins a number down.",
    formula: "the standard deviation of the statistic over the stationary bootstrap, divided by the slope of the logit (shares) or Fisher's \
              scale (coefficients) at the estimate; estimate +- t times it on that scale, t with n/b - 1 degrees of freedom; b is twice the \
              largest block length of the agreement and of each class's hits, at most n/5. For a share of 0 or 1: Wilson with the effective \
              number of the epochs that it is a share of",
    range: "those of the statistic",
    undefined: "there is no pair, the statistic is undefined or at the end of its range, there are fewer than ten pairs, or more than 5 % of \
                the resamples have no value",
    caution: "It says nothing about other nights or other people. A stage with fewer than five bouts in the reference should get no interval.",
    source: "Politis and Romano 1994, Journal of the American Statistical Association 89, 1303-1313; the scale, t and twice the block \
             length are a convention of this program, after simulations",
};

/// An interval within one night.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NightInterval {
    /// The statistic of the night.
    pub estimate: f64,
    /// Lower and upper limit.
    pub interval: (f64, f64),
    /// Mean block length that was used, in epochs.
    pub block: f64,
}

/// A statistic whose interval within one night is asked for.
pub struct NightStatistic<'a> {
    scale: Scale,
    of: Box<dyn Fn(&Table) -> Figure + Sync + 'a>,
    among: Box<dyn Fn(&Table) -> u64 + Sync + 'a>,
}

impl<'a> NightStatistic<'a> {
    /// Asks for a share, 0 to 1; `among` gives the number of pairs that it is a share of: all for accuracy, the row of a
    /// class for its sensitivity, its column for its positive predictive value.
    pub fn share(
        of: impl Fn(&Table) -> Figure + Sync + 'a,
        among: impl Fn(&Table) -> u64 + Sync + 'a,
    ) -> NightStatistic<'a> {
        NightStatistic { scale: Scale::Share, of: Box::new(of), among: Box::new(among) }
    }

    /// Asks for a coefficient, -1 to 1, such as kappa.
    pub fn coefficient(of: impl Fn(&Table) -> Figure + Sync + 'a) -> NightStatistic<'a> {
        NightStatistic { scale: Scale::Coefficient, of: Box::new(of), among: Box::new(Table::n) }
    }

    /// Asks for a number of any size; its interval is made without a change of scale.
    pub fn plain(of: impl Fn(&Table) -> Figure + Sync + 'a) -> NightStatistic<'a> {
        NightStatistic { scale: Scale::Plain, of: Box::new(of), among: Box::new(Table::n) }
    }
}

/// Returns a statistic of one night with its interval; `pairs` are `(reference, other)` classes in the order of time.
///
/// `scale` is [`Scale::Share`] for a share of all pairs or [`Scale::Coefficient`]; [`Scale::Plain`] makes the interval
/// without a change of scale. Several statistics of one night are cheaper by [`night_intervals`], from the same draws.
///
/// ```
/// # use counterpane_stats::{accuracy, night_interval, Resampling, Scale};
/// let pairs: Vec<(usize, usize)> = (0..300).map(|t| (t / 30 % 2, (t + t / 50) / 30 % 2)).collect();
/// let asked = Resampling { replicates: 2000, seed: 1, threads: 2 };
/// let night = night_interval(2, &pairs, Scale::Share, asked, accuracy)?;
/// assert!(night.interval.0 < night.estimate && night.estimate < night.interval.1);
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn night_interval(
    classes: usize,
    pairs: &[(usize, usize)],
    scale: Scale,
    asked: Resampling,
    statistic: impl Fn(&Table) -> Figure + Sync,
) -> Result<NightInterval, Undefined> {
    let wanted = NightStatistic { scale, of: Box::new(statistic), among: Box::new(Table::n) };
    night_intervals(classes, pairs, asked, &[wanted]).pop().unwrap_or(Err(Undefined::NoPairs))
}

/// Returns several statistics of one night with their intervals, all from the same draws, in the order of `wanted`.
///
/// ```
/// # use counterpane_stats::{cohen_kappa, night_intervals, sensitivity, NightStatistic, Resampling};
/// let pairs: Vec<(usize, usize)> = (0..300).map(|t| (t / 30 % 2, (t + t / 50) / 30 % 2)).collect();
/// let asked = Resampling { replicates: 2000, seed: 1, threads: 1 };
/// let wanted = [
///     NightStatistic::coefficient(cohen_kappa),
///     NightStatistic::share(|t| sensitivity(t, 0), |t| t.row_sum(0)),
///     // The same draws, seen as one class against all others.
///     NightStatistic::coefficient(|t| cohen_kappa(&t.folded(2, &[0, 1]).unwrap())),
/// ];
/// let of = night_intervals(2, &pairs, asked, &wanted);
/// assert_eq!((of.len(), of[0]), (3, of[2]));
/// ```
#[must_use]
pub fn night_intervals(
    classes: usize,
    pairs: &[(usize, usize)],
    asked: Resampling,
    wanted: &[NightStatistic<'_>],
) -> Vec<Result<NightInterval, Undefined>> {
    let night = night_block(classes, pairs).and_then(|block| Drawn::of(classes, pairs, block, asked, wanted));
    match night {
        Ok(night) => {
            wanted.iter().zip(&night.replicates).map(|(statistic, values)| night.interval(statistic, values)).collect()
        }
        Err(why) => vec![Err(why); wanted.len()],
    }
}

/// A night with the figures that its resamples gave.
struct Drawn {
    table: Table,
    block: f64,
    /// The 97.5 % point of Student's distribution with one degree of freedom less than the night has blocks.
    t: f64,
    /// The share of the pairs that independent ones as good as these would be; none when all pairs say the same.
    worth: Option<f64>,
    replicates: Vec<Vec<Figure>>,
}

impl Drawn {
    fn of(
        classes: usize,
        pairs: &[(usize, usize)],
        block: f64,
        asked: Resampling,
        wanted: &[NightStatistic<'_>],
    ) -> Result<Drawn, Undefined> {
        let draws = NightDraws::new(classes, pairs, block)?;
        let replicates = replicated(
            asked,
            wanted.len(),
            || draws.scratch(),
            |own, from, row| {
                draws.draw(from, own);
                wanted.iter().zip(row).for_each(|(statistic, figure)| *figure = (statistic.of)(&own.table));
            },
        );
        let side = |side: fn(&(usize, usize)) -> usize| pairs.iter().map(|p| Some(side(p))).collect::<Vec<_>>();
        let table = Table::from_pairs(classes, &side(|p| p.0), &side(|p| p.1)).map_err(|_| Undefined::OutsideRange)?;
        let worth = effective_n(&agreement(pairs)).ok().map(|n| n / pairs.len() as f64);
        let t = t_quantile(0.975, pairs.len() as f64 / block - 1.0);
        Ok(Drawn { table, block, t, worth, replicates })
    }

    fn interval(&self, statistic: &NightStatistic<'_>, replicates: &[Figure]) -> Result<NightInterval, Undefined> {
        let estimate = (statistic.of)(&self.table)?;
        let block = self.block;
        if statistic.scale == Scale::Share && (estimate <= 0.0 || estimate >= 1.0) {
            // Whatever is drawn says the same: what its pairs are worth, or one for each block of them.
            let among = (statistic.among)(&self.table) as f64;
            let worth = (among * self.worth.unwrap_or(1.0 / block)).max(1.0);
            return Ok(NightInterval { estimate, interval: wilson_interval_of_share(estimate, worth)?, block });
        }
        let resamples = Replicates::of(replicates);
        if resamples.too_many_dropped() {
            return Err(Undefined::NTooSmall);
        }
        let (_, sd) = mean_and_sd(&resamples.values)?;
        let half = self.t * sd;
        let interval = match statistic.scale {
            Scale::Plain => (estimate - half, estimate + half),
            Scale::Share => logit_limits(estimate, half / (estimate * (1.0 - estimate)))?,
            Scale::Coefficient => atanh_limits(estimate, half / (1.0 - estimate * estimate))?,
        };
        Ok(NightInterval { estimate, interval, block })
    }
}

/// Returns twice the largest block length of the agreement and of the hits of each class, at most a fifth of the night.
fn night_block(classes: usize, pairs: &[(usize, usize)]) -> Figure {
    if pairs.len() < 10 {
        return Err(if pairs.is_empty() { Undefined::NoPairs } else { Undefined::NTooSmall });
    }
    let fifth = pairs.len() as f64 / 5.0;
    let hits = |class: usize| pairs.iter().map(|p| f64::from(u8::from(*p == (class, class)))).collect::<Vec<_>>();
    let series = std::iter::once(agreement(pairs)).chain((0..classes).map(hits));
    let largest = series.filter_map(|s| block_length(&s).ok()).reduce(f64::max);
    Ok(largest.map_or(fifth, |b| (2.0 * b).clamp(1.0, fifth)))
}

fn agreement(pairs: &[(usize, usize)]) -> Vec<f64> {
    pairs.iter().map(|(a, b)| f64::from(u8::from(a == b))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{accuracy, cohen_kappa};

    const ASKED: Resampling = Resampling { replicates: 2000, seed: 3, threads: 2 };

    #[test]
    fn full_agreement_has_the_interval_of_wilson_for_five_blocks() {
        let pairs: Vec<(usize, usize)> = (0..100).map(|_| (0, 0)).collect();
        let of = night_interval(1, &pairs, Scale::Share, ASKED, accuracy).unwrap();
        assert_eq!((of.estimate, of.block, of.interval.1), (1.0, 20.0, 1.0));
        assert_eq!(of.interval.0, wilson_interval_of_share(1.0, 5.0).unwrap().0);
    }

    #[test]
    fn bouts_of_error_widen_the_interval() {
        let width = |error: fn(usize) -> bool| {
            let pairs: Vec<_> = (0..960).map(|t| (t / 80 % 2, (t / 80 + usize::from(error(t))) % 2)).collect();
            let of = night_interval(2, &pairs, Scale::Coefficient, ASKED, cohen_kappa).unwrap();
            of.interval.1 - of.interval.0
        };
        assert!(width(|t| t * 7919 % 97 % 60 < 15 && t / 60 % 4 == 0) > 1.5 * width(|t| t * 7919 % 1009 % 16 == 0));
    }

    #[test]
    fn many_statistics_at_once_are_those_asked_for_one_by_one() {
        let pairs: Vec<(usize, usize)> = (0..480).map(|t| (t / 40 % 3, (t + t * 7919 % 23) / 40 % 3)).collect();
        let wanted = [NightStatistic::share(accuracy, Table::n), NightStatistic::coefficient(cohen_kappa)];
        let of = night_intervals(3, &pairs, ASKED, &wanted);
        assert_eq!(of[0], night_interval(3, &pairs, Scale::Share, ASKED, accuracy));
        assert_eq!(of[1], night_interval(3, &pairs, Scale::Coefficient, ASKED, cohen_kappa));
        assert_eq!(night_intervals(3, &pairs, ASKED, &[]), []);
    }

    #[test]
    fn a_class_found_throughout_has_the_interval_of_its_own_epochs() {
        // Class 1 stands for 20 of 200 epochs and is always found; class 0 has its errors.
        let pairs: Vec<(usize, usize)> =
            (0..200).map(|t| if t / 20 == 4 { (1, 1) } else { (0, usize::from(t % 50 < 5)) }).collect();
        let found = |among: fn(&Table) -> u64| {
            let wanted = [NightStatistic::share(|t| crate::sensitivity(t, 1), among)];
            night_intervals(2, &pairs, ASKED, &wanted).remove(0).unwrap()
        };
        let (of, of_all) = (found(|t| t.row_sum(1)), found(Table::n));
        assert_eq!((of.estimate, of.interval.1), (1.0, 1.0));
        assert!(of.interval.0 < of_all.interval.0);
    }

    #[test]
    fn a_handful_of_pairs_has_none() {
        assert_eq!(night_interval(1, &[(0, 0); 9], Scale::Share, ASKED, accuracy), Err(Undefined::NTooSmall));
        assert_eq!(night_interval(1, &[], Scale::Share, ASKED, accuracy), Err(Undefined::NoPairs));
    }
}
