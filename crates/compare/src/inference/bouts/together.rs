//! The wakes of all nights of a device together.

use super::counts::BoutCounts;
use super::night::NightBouts;
use crate::inference::over_people::{OverPeople, over_people};
use crate::{Comparison, Limits, nights_of_device};
use counterpane_stats::{Figure, Resampling, Scale};
use std::collections::BTreeSet;

/// The wakes of one device, or one further scorer, over its nights.
#[derive(Clone, Debug, PartialEq)]
pub struct BoutsTogether {
    /// Name of the device.
    pub name: String,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants of those nights.
    pub participants: usize,
    /// All wakes of all nights counted together: restless nights weigh more.
    pub pooled: BoutCounts,
    /// Mean over participants of the mean over their nights: share of the reference's wakes that were found.
    pub recall: OverPeople,
    /// The same of the share of the device's wakes that are true.
    pub precision: OverPeople,
    /// The same of the wakes made up in an hour of sleep; its interval is cut at 0.
    pub false_per_hour: OverPeople,
}

/// Returns the wakes of a device over its nights; `None` for one that never tells wake from sleep.
pub(super) fn together(
    comparison: &Comparison,
    name: &str,
    nights: &[NightBouts],
    asked: Resampling,
) -> Option<BoutsTogether> {
    let of = |reference_key: &str, key: &str| {
        nights.iter().find(|n| n.reference_key == reference_key)?.devices.iter().find(|d| d.key == key)
    };
    let own: Vec<(&str, &BoutCounts)> = nights_of_device(comparison, name)
        .into_iter()
        .filter_map(|(night, device)| {
            Some((night.participant.as_str(), &of(&night.reference_key, &device.key)?.counts))
        })
        .collect();
    let mean = |scale: Scale, figure: &dyn Fn(&BoutCounts) -> Figure| {
        over_people(&own.iter().map(|(who, counts)| (*who, figure(counts))).collect::<Vec<_>>(), scale, asked)
    };
    let mut pooled = BoutCounts::default();
    own.iter().for_each(|(_, counts)| pooled += *counts);
    (!own.is_empty()).then(|| BoutsTogether {
        name: name.to_owned(),
        nights: own.len(),
        participants: own.iter().map(|(who, _)| who).collect::<BTreeSet<_>>().len(),
        pooled,
        recall: mean(Scale::Share, &|counts| counts.all.recall()),
        precision: mean(Scale::Share, &|counts| counts.all.precision()),
        false_per_hour: not_below_0(mean(Scale::Plain, &BoutCounts::false_per_hour)),
    })
}

/// A number of wakes cannot be negative, whatever Student's interval says.
fn not_below_0(of: OverPeople) -> OverPeople {
    OverPeople { interval: of.interval.map(|limits| Limits { low: limits.low.max(0.0), ..limits }), ..of }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::bouts::night::night_bouts;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_model::{Decided, Night, Recording};

    /// One night for each person: what the scorer says, and what the ring says.
    fn found(nights: &[(&str, &str, &str)]) -> BoutsTogether {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let moved = |recording: Recording, who: &str| Recording {
            participant: who.into(),
            key: format!("{who}/{}", recording.key),
            ..recording
        };
        let one = |(who, reference, device): &(&str, &str, &str)| {
            let own = Night { participant: (*who).into(), ..night() };
            let device = moved(ring(&[W, Light, N3, R], device), who);
            compare_night(&own, &moved(psg(reference), who), &[&device], &Decided::default(), &protocol).unwrap()
        };
        let comparison = compare(nights.iter().map(one).collect(), protocol);
        let nights: Vec<NightBouts> = comparison.nights.iter().map(night_bouts).collect();
        let asked = Resampling { replicates: 200, seed: 1, threads: 1 };
        together(&comparison, "ring-a", &nights, asked).unwrap()
    }

    #[test]
    fn wakes_are_pooled_and_people_weigh_the_same_beside_it() {
        let of = found(&[
            ("P01", "2WW22WW22WW22WW2", "LWWLLLLLLLLLLLLL"),
            ("P02", "2WW2222222222222", "LWWLLLLLWWLLLLLL"),
            ("P03", "2222222222222222", "LLLLLLLLLLLLLLLL"),
        ]);
        assert_eq!((of.pooled.all.recall(), of.pooled.all.precision()), (Ok(0.4), Ok(2.0 / 3.0)));
        // Means of people: (1/4 + 1) / 2 and (1 + 1/2) / 2; the third has no wake on either side.
        assert_eq!((of.recall.mean, of.precision.mean), (Ok(0.625), Ok(0.75)));
        assert_eq!((of.nights, of.participants, of.recall.n(), of.recall.skipped), (3, 3, 2, 1));
        // 14 epochs of sleep are 7 min: 1 / (7 / 60) for P02, none for the others.
        assert!((of.false_per_hour.mean.unwrap() - 60.0 / 7.0 / 3.0).abs() < 1e-12);
        assert_eq!(of.false_per_hour.interval.unwrap().low, 0.0);
    }
}
