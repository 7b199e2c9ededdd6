//! The baselines of a device over its nights.

use super::night::{Beside, NightBaselines, RandomNights, beside};
use super::prior::Priors;
use super::usual_guess;
use crate::inference::over_people::{OverPeople, over_people};
use crate::{Comparison, DeviceSummary, mean_over_participants, nights_of_device};
use counterpane_stats::{Figure, Resampling, Scale};
use std::collections::BTreeSet;

/// A device, or a further scorer, over its nights: each number the mean over participants of the mean over their nights.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceBaselines {
    /// Name of the device.
    pub name: String,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
    /// In the scheme of the device's summary; `n` is the sum over nights, and `random.kappa_sd` the mean over nights of the
    /// spread of a single night.
    pub beside: Beside,
    /// By how much the device agrees more than the time of night alone, with its interval.
    pub beyond_prior: OverPeople,
}

/// Returns the baselines of a device; `None` for one that was never compared.
pub(super) fn together(
    comparison: &Comparison,
    device: &DeviceSummary,
    nights: &[NightBaselines],
    priors: &Priors,
    asked: Resampling,
) -> Option<DeviceBaselines> {
    let scheme = device.scheme?;
    let known = |reference_key: &str, key: &str| {
        let own = |n: &&NightBaselines| n.key == key && n.reference_key == reference_key && n.beside.scheme == scheme;
        nights.iter().find(own).map(|n| n.beside.clone())
    };
    let all: Vec<(&str, Beside)> = nights_of_device(comparison, &device.name)
        .into_iter()
        .filter(|(_, d)| d.agreement.is_some())
        .map(|(night, d)| {
            let of =
                known(&night.reference_key, &d.key).unwrap_or_else(|| beside(night, d, scheme, priors, asked.seed));
            (night.participant.as_str(), of)
        })
        .collect();
    let figures = |of: &dyn Fn(&Beside) -> Figure| all.iter().map(|(who, b)| (*who, of(b))).collect::<Vec<_>>();
    let mean = |of: &dyn Fn(&Beside) -> Figure| mean_over_participants(&figures(of));
    (!all.is_empty()).then(|| DeviceBaselines {
        name: device.name.clone(),
        nights: all.len(),
        participants: all.iter().map(|(who, _)| who).collect::<BTreeSet<_>>().len(),
        beyond_prior: over_people(&figures(&Beside::beyond_prior), Scale::Plain, asked),
        beside: Beside {
            scheme,
            n: all.iter().map(|(_, b)| b.n).sum(),
            accuracy: mean(&|b| b.accuracy),
            kappa: mean(&|b| b.kappa),
            always: usual_guess(scheme),
            always_accuracy: mean(&|b| b.always_accuracy),
            lots_accuracy: mean(&|b| b.lots_accuracy),
            random: RandomNights {
                accuracy: mean(&|b| b.random.accuracy),
                kappa: mean(&|b| b.random.kappa),
                kappa_sd: mean(&|b| b.random.kappa_sd),
                reached: mean(&|b| b.random.reached),
            },
            prior_accuracy: mean(&|b| b.prior_accuracy),
            prior_kappa: mean(&|b| b.prior_kappa),
            sleep_wake: mean(&|b| b.sleep_wake),
            asleep_accuracy: mean(&|b| b.asleep_accuracy),
        },
    })
}
