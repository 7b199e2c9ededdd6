//! Intervals of numbers over all epochs in one matrix: people drawn anew, each with all nights.

use super::agreement_intervals::{AgreementIntervals, ClassIntervals};
use super::interval::{Interval, NoInterval};
use super::people::{Compared, enough_people, share};
use crate::Agreement;
use counterpane_model::{Scheme, Stage};
use counterpane_stats::{
    Figure, Resampling, Table, Undefined, WORST_NEEDS, accuracy, balanced_accuracy, cluster_bootstrap, cohen_kappa,
    percentile_interval, ppv, sensitivity, worst_sensitivity,
};
use std::collections::BTreeMap;

/// The intervals of the numbers of one device over all epochs of all nights; below 20 people there are none.
#[derive(Clone, Debug, PartialEq)]
pub struct PooledIntervals {
    /// Number of people.
    pub people: usize,
    /// Those of [`DeviceSummary::pooled`](crate::DeviceSummary::pooled).
    pub stages: AgreementIntervals,
    /// Those of [`DeviceSummary::pooled_sleep_wake`](crate::DeviceSummary::pooled_sleep_wake).
    pub sleep_wake: AgreementIntervals,
    /// Correct epochs of all that the references scored: missing counts as wrong.
    pub accuracy_missing_wrong: Interval,
}

/// Returns the intervals of the pooled numbers of some nights; `correct` has the participant, the correct epochs and those
/// that the reference scored of each night that counts.
pub(crate) fn pooled_intervals(
    scheme: Scheme,
    nights: &[Compared<'_>],
    correct: &[(&str, u64, u64)],
    asked: Resampling,
) -> PooledIntervals {
    let of_nights = |scheme, pick: &dyn Fn(&Compared<'_>) -> Option<Agreement>| {
        let own = nights.iter().filter_map(|n| Some((n.participant, pick(n)?.matrix.concat())));
        Pool { scheme, people: by_person(own), asked }.intervals()
    };
    let correct = by_person(correct.iter().map(|(who, part, all)| (*who, vec![*part, *all])));
    PooledIntervals {
        people: correct.len(),
        stages: of_nights(scheme, &|n| Some(n.stages.clone())),
        sleep_wake: of_nights(Scheme::SleepWake, &|n| n.device.sleep_wake.clone()),
        accuracy_missing_wrong: drawn(&correct, asked, |sums| share(sums[0], sums[1])),
    }
}

/// Adds up the counts of all nights of each person.
fn by_person<'a>(nights: impl Iterator<Item = (&'a str, Vec<u64>)>) -> Vec<Vec<u64>> {
    let mut people: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
    for (who, counts) in nights {
        add(people.entry(who).or_default(), &counts);
    }
    people.into_values().collect()
}

fn add(into: &mut Vec<u64>, counts: &[u64]) {
    into.resize(counts.len(), 0);
    into.iter_mut().zip(counts).for_each(|(sum, n)| *sum += n);
}

/// Returns the interval of a statistic of the sums of the counts of people who are drawn anew.
fn drawn(people: &[Vec<u64>], asked: Resampling, statistic: impl Fn(&[u64]) -> Figure + Sync) -> Interval {
    enough_people(people.len())?;
    let of = |drawn: &[usize]| {
        let mut sums = Vec::new();
        drawn.iter().filter_map(|who| people.get(*who)).for_each(|counts| add(&mut sums, counts));
        statistic(&sums)
    };
    let n = u32::try_from(people.len()).map_err(|_| NoInterval::Undefined(Undefined::OutsideRange))?;
    let replicates = cluster_bootstrap(n, asked, of).map_err(NoInterval::Undefined)?;
    if replicates.too_many_dropped() {
        return Err(NoInterval::OftenUndefined);
    }
    percentile_interval(&replicates.values).map(Into::into).map_err(NoInterval::Undefined)
}

/// The matrices of people, each of all nights of one person, row by row.
struct Pool {
    scheme: Scheme,
    people: Vec<Vec<u64>>,
    asked: Resampling,
}

impl Pool {
    fn drawn(&self, statistic: impl Fn(&Table) -> Figure + Sync) -> Interval {
        let classes = self.scheme.classes().len();
        drawn(&self.people, self.asked, |cells| {
            let rows = cells.chunks(classes).map(<[u64]>::to_vec).collect();
            statistic(&Table::from_counts(rows).map_err(|_| Undefined::OutsideRange)?)
        })
    }

    fn intervals(&self) -> AgreementIntervals {
        let class = |(i, class): (usize, &Stage)| ClassIntervals {
            class: *class,
            bouts: None,
            device_bouts: None,
            sensitivity: self.drawn(|t| sensitivity(t, i)),
            ppv: self.drawn(|t| ppv(t, i)),
        };
        AgreementIntervals {
            accuracy: self.drawn(accuracy),
            kappa: self.drawn(cohen_kappa),
            mean_sensitivity: self.drawn(balanced_accuracy),
            worst_sensitivity: self.drawn(|t| worst_sensitivity(t, WORST_NEEDS).map(|w| w.sensitivity)),
            per_class: self.scheme.classes().iter().enumerate().map(class).collect(),
        }
    }
}
