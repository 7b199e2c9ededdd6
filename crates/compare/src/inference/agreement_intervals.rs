//! The intervals of the numbers of one matrix, from the pairs of epochs of one night.

use super::interval::{Interval, NoInterval};
use super::pairing::bouts;
use counterpane_model::{Scheme, Stage};
use counterpane_stats::{
    Figure, NightStatistic, Resampling, Table, Undefined, WORST_NEEDS, accuracy, balanced_accuracy, cohen_kappa,
    night_intervals, ppv, sensitivity,
};

/// A stage with fewer bouts than this gets no interval. A convention of this program: a spread cannot be learned from a
/// handful of bouts.
pub const BOUTS_WANT: usize = 5;

/// The intervals of the numbers of one matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct AgreementIntervals {
    /// Share of pairs that agree.
    pub accuracy: Interval,
    /// Cohen's kappa.
    pub kappa: Interval,
    /// Mean of the sensitivities of the classes that the reference has.
    pub mean_sensitivity: Interval,
    /// The least sensitivity among the classes with at least 20 epochs; its own, since a minimum leans low.
    pub worst_sensitivity: Interval,
    /// One entry for each class of the scheme, in its order.
    pub per_class: Vec<ClassIntervals>,
}

/// The intervals of one class.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassIntervals {
    /// The class.
    pub class: Stage,
    /// Bouts of the class that the reference has among the pairs; `None` over several nights.
    pub bouts: Option<usize>,
    /// Bouts of the class that the device has among the pairs; `None` over several nights.
    pub device_bouts: Option<usize>,
    /// Of the reference's epochs of the class, the share that the device calls so.
    pub sensitivity: Interval,
    /// Of the device's epochs of the class, the share that the reference calls so.
    pub ppv: Interval,
}

/// Returns the intervals of the numbers of the pairs of one night, all from the same draws; pairs are `(reference, device)`
/// classes of the scheme in the order of time.
#[must_use]
pub fn agreement_intervals(scheme: Scheme, pairs: &[(usize, usize)], asked: Resampling) -> AgreementIntervals {
    let n = scheme.classes().len();
    let own: Vec<Class> = (0..n).map(|i| Class::of(pairs, i)).collect();
    let with = |least: usize| (0..n).filter(|i| own[*i].epochs >= least).collect::<Vec<_>>();
    let (present, counted) = (with(1), with(usize::try_from(WORST_NEEDS).unwrap_or(usize::MAX)));
    let rarest = |of: &[usize], t: &Table| of.iter().map(|i| t.row_sum(*i)).min().unwrap_or(0);
    let mean = |t: &Table| all_drawn(t, &present).and_then(|()| balanced_accuracy(t));
    let mut wanted = vec![
        NightStatistic::share(accuracy, Table::n),
        NightStatistic::coefficient(cohen_kappa),
        NightStatistic::share(mean, |t| rarest(&present, t)),
        NightStatistic::share(|t| least(t, &counted), |t| rarest(&counted, t)),
    ];
    for i in 0..n {
        wanted.push(NightStatistic::share(move |t| sensitivity(t, i), move |t| t.row_sum(i)));
        wanted.push(NightStatistic::share(move |t| ppv(t, i), move |t| t.column_sum(i)));
    }
    let found = drawn(n, pairs, asked, &wanted);
    let class = |(i, class): (usize, &Stage)| ClassIntervals {
        class: *class,
        bouts: Some(own[i].bouts),
        device_bouts: Some(own[i].device_bouts),
        sensitivity: own[i].may_have_sensitivity().and(found[4 + 2 * i]),
        ppv: own[i].may_have_ppv().and(found[5 + 2 * i]),
    };
    AgreementIntervals {
        accuracy: found[0],
        kappa: found[1],
        mean_sensitivity: bouts_of_all(&own, &present).and(found[2]),
        worst_sensitivity: bouts_of_all(&own, &counted).and(found[3]),
        per_class: scheme.classes().iter().enumerate().map(class).collect(),
    }
}

/// Returns the interval of each statistic of the pairs of one night, or why it has none, in the order of `wanted`.
pub(crate) fn drawn(
    classes: usize,
    pairs: &[(usize, usize)],
    asked: Resampling,
    wanted: &[NightStatistic<'_>],
) -> Vec<Interval> {
    let few = (1..10).contains(&pairs.len());
    let reason = |why: Undefined| match why {
        Undefined::NTooSmall if few => NoInterval::FewEpochs(pairs.len()),
        Undefined::NTooSmall => NoInterval::OftenUndefined,
        Undefined::ZeroVariance => NoInterval::AtTheEnd,
        why => NoInterval::Undefined(why),
    };
    let all = night_intervals(classes, pairs, asked, wanted).into_iter();
    all.map(|found| found.map(|night| night.interval.into()).map_err(reason)).collect()
}

/// How much of a class both sides have.
struct Class {
    epochs: usize,
    bouts: usize,
    device_epochs: usize,
    device_bouts: usize,
}

impl Class {
    fn of(pairs: &[(usize, usize)], class: usize) -> Class {
        Class {
            epochs: pairs.iter().filter(|(r, _)| *r == class).count(),
            bouts: bouts(pairs.iter().map(|(r, _)| *r), class),
            device_epochs: pairs.iter().filter(|(_, d)| *d == class).count(),
            device_bouts: bouts(pairs.iter().map(|(_, d)| *d), class),
        }
    }

    fn may_have_sensitivity(&self) -> Result<(), NoInterval> {
        match (self.epochs, self.bouts) {
            (0, _) => Err(NoInterval::Undefined(Undefined::RefClassAbsent)),
            (_, n) if n < BOUTS_WANT => Err(NoInterval::FewBouts(n)),
            _ => Ok(()),
        }
    }

    fn may_have_ppv(&self) -> Result<(), NoInterval> {
        match (self.device_epochs, self.bouts, self.device_bouts) {
            (0, ..) => Err(NoInterval::Undefined(Undefined::DevClassAbsent)),
            (_, n, _) if n < BOUTS_WANT => Err(NoInterval::FewBouts(n)),
            (.., n) if n < BOUTS_WANT => Err(NoInterval::FewDeviceBouts(n)),
            _ => Ok(()),
        }
    }
}

/// A mean or a minimum would inherit a spread that was learned from a handful of bouts.
fn bouts_of_all(own: &[Class], classes: &[usize]) -> Result<(), NoInterval> {
    match classes.iter().map(|i| own[*i].bouts).filter(|n| *n < BOUTS_WANT).min() {
        Some(n) => Err(NoInterval::FewBouts(n)),
        None if classes.is_empty() => Err(NoInterval::Undefined(Undefined::NTooSmall)),
        None => Ok(()),
    }
}

/// Says whether every class was drawn: a mean or a minimum over fewer classes is another number.
fn all_drawn(table: &Table, classes: &[usize]) -> Result<(), Undefined> {
    if classes.iter().all(|i| table.row_sum(*i) > 0) { Ok(()) } else { Err(Undefined::RefClassAbsent) }
}

fn least(table: &Table, classes: &[usize]) -> Figure {
    all_drawn(table, classes)?;
    classes.iter().map(|i| sensitivity(table, *i)).reduce(|a, b| Ok(a?.min(b?))).unwrap_or(Err(Undefined::NTooSmall))
}
