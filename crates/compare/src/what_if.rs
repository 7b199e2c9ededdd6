//! What the headline of a comparison would be, were one choice made otherwise.
//!
//! One choice at a time: each is undone alone, with everything else as it is. Classes stay those of the comparison as it is, so
//! that only the choice makes the difference.

use crate::primary::{primary, scheme_of};
use crate::{Comparison, DeviceNight, NightComparison, mean_over_participants, nights_of_device};
use counterpane_model::{Missing, PlanMeasure, Scheme};
use counterpane_stats::{Figure, Undefined};
use std::collections::BTreeMap;

/// A choice that is undone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Choice {
    /// An accepted error is not accepted: its recording is held out, or the night, where it speaks of the night.
    Acceptance {
        /// Number of the decision.
        decision: u64,
        /// Code of the finding.
        code: String,
    },
    /// What a decision leaves out is counted.
    Exclusion {
        /// Number of the decision.
        decision: u64,
    },
    /// A clock is not corrected.
    Clock {
        /// Number of the decision.
        decision: u64,
    },
    /// Another export counts.
    Export {
        /// Key of its recording.
        recording: String,
    },
    /// Epochs that a device does not give are treated the other way.
    Missing(Missing),
    /// The other window: `lights` or `scored`.
    Window(&'static str),
    /// No night is left out because of its gaps.
    Rules,
}

impl Choice {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Choice::Acceptance { .. } => "acceptance",
            Choice::Exclusion { .. } => "exclusion",
            Choice::Clock { .. } => "clock",
            Choice::Export { .. } => "export",
            Choice::Missing(_) => "missing",
            Choice::Window(_) => "window",
            Choice::Rules => "rules",
        }
    }
}

/// The headline of one device: a figure for each measure, the mean over people of the mean over their nights.
#[derive(Clone, Debug, PartialEq)]
pub struct Headline {
    /// Name of the device.
    pub device: String,
    /// One figure for each measure of [`WhatIf::measures`].
    pub figures: Vec<Figure>,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
}

/// What one choice makes of the headlines.
#[derive(Clone, Debug, PartialEq)]
pub struct Otherwise {
    /// The choice that is undone.
    pub choice: Choice,
    /// Participant and label of the night that it speaks of; `None` for all.
    pub night: Option<(String, String)>,
    /// Unit or scorer that it speaks of; `None` for everything.
    pub source: Option<String>,
    /// The devices that it concerns, by name.
    pub headlines: Vec<Headline>,
}

/// Headlines as they are, and with each choice undone.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatIf {
    /// The measures: the primary one, or kappa and accuracy where none was laid down.
    pub measures: Vec<PlanMeasure>,
    /// Every device that is compared, by name.
    pub as_is: Vec<Headline>,
    /// Each choice undone.
    pub otherwise: Vec<Otherwise>,
}

/// The choice that changes a measure of a device most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Largest {
    /// The measure.
    pub measure: PlanMeasure,
    /// Place of the choice in [`WhatIf::otherwise`].
    pub choice: usize,
    /// Place of the device in its `headlines`.
    pub device: usize,
    /// How much larger the figure is with the choice undone.
    pub change: f64,
}

impl WhatIf {
    /// Returns how much larger a figure is than as it is; `None` where either is undefined.
    #[must_use]
    pub fn change(&self, headline: &Headline, measure: usize) -> Option<f64> {
        let as_is = self.as_is.iter().find(|h| h.device == headline.device)?;
        Some(headline.figures.get(measure)?.ok()? - as_is.figures.get(measure)?.ok()?)
    }

    /// Says whether a choice changes any headline.
    #[must_use]
    pub fn changes(&self, headline: &Headline) -> bool {
        self.as_is.iter().find(|h| h.device == headline.device) != Some(headline)
    }

    /// Returns for each measure the choice that changes it most, for any device; none where nothing changes.
    #[must_use]
    pub fn largest(&self) -> Vec<Largest> {
        let of = |(m, measure): (usize, &PlanMeasure)| {
            let all = self.otherwise.iter().enumerate().flat_map(|(c, o)| {
                let headlines = o.headlines.iter().enumerate();
                headlines.filter_map(move |(d, h)| Some((c, d, self.change(h, m)?)))
            });
            let changing = all.filter(|(.., change)| *change != 0.0);
            let (choice, device, change) = changing.max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))?;
            Some(Largest { measure: *measure, choice, device, change })
        };
        self.measures.iter().enumerate().filter_map(of).collect()
    }
}

/// Participant, label of the night, and source: what enters a figure once.
type Key = (String, String, String);

/// The classes of a device as it is, `None` where no night of it counts; and the figures of each of its nights.
type OfDevice = (Option<Scheme>, BTreeMap<Key, Vec<Figure>>);

/// What the headlines of a comparison are made of, so that one night can be replaced.
#[derive(Clone, Debug)]
pub struct Headlines {
    measures: Vec<PlanMeasure>,
    missing: Missing,
    devices: BTreeMap<String, OfDevice>,
}

impl Headlines {
    /// Returns the headlines of a comparison.
    #[must_use]
    pub fn of(comparison: &Comparison, measures: &[PlanMeasure], missing: Missing) -> Headlines {
        let mut out = Headlines { measures: measures.to_vec(), missing, devices: BTreeMap::new() };
        for device in &comparison.devices {
            let nights = nights_of_device(comparison, &device.name);
            let values = nights.into_iter().map(|(n, d)| (key(n, d), out.figures(n, d, device.scheme))).collect();
            out.devices.insert(device.name.clone(), (device.scheme, values));
        }
        out
    }

    /// Returns the headline of every device.
    #[must_use]
    pub fn as_is(&self) -> Vec<Headline> {
        let compared = self.devices.iter().filter(|(_, (scheme, _))| scheme.is_some());
        compared.map(|(name, (_, values))| headline(name, values, self.measures.len())).collect()
    }

    /// Returns the headlines of the devices of some nights, with these nights as they are given here: `None` for a night that is
    /// not compared.
    #[must_use]
    pub fn with(&self, replaced: &[((&str, &str), Option<&NightComparison>)]) -> Vec<Headline> {
        let of = |(name, (scheme, values)): (&String, &OfDevice)| {
            let here = |key: &Key| replaced.iter().any(|((p, n), _)| (key.0.as_str(), key.1.as_str()) == (p, n));
            let mut new = values.clone();
            new.retain(|key, _| !here(key));
            let mut touched = new.len() < values.len();
            for night in replaced.iter().filter_map(|(_, night)| *night) {
                let own = |d: &&DeviceNight| d.source.name() == *name && !d.cells.is_empty() && !d.is_ruled_out();
                for device in night.devices.iter().filter(own) {
                    touched = true;
                    new.entry(key(night, device)).or_insert_with(|| self.figures(night, device, *scheme));
                }
            }
            let found = touched.then(|| headline(name, &new, self.measures.len()));
            found.filter(|h| scheme.is_some() || h.nights > 0)
        };
        self.devices.iter().filter_map(of).collect()
    }

    fn figures(&self, night: &NightComparison, device: &DeviceNight, scheme: Option<Scheme>) -> Vec<Figure> {
        let own = device.agreement.as_ref().map(|a| a.scheme);
        let of = |measure: &PlanMeasure| {
            let scheme = scheme_of(*measure, scheme.or(own)).ok_or(Undefined::NoPairs)?;
            primary(night, device, *measure, self.missing, scheme)
        };
        self.measures.iter().map(of).collect()
    }
}

fn key(night: &NightComparison, device: &DeviceNight) -> Key {
    (night.participant.clone(), night.night.clone(), device.source.to_string())
}

fn headline(name: &str, values: &BTreeMap<Key, Vec<Figure>>, measures: usize) -> Headline {
    let of = |m: usize| {
        let own = values.iter().filter_map(|(key, figures)| Some((key.0.as_str(), *figures.get(m)?)));
        mean_over_participants(&own.collect::<Vec<_>>())
    };
    let defined = || values.iter().filter(|(_, figures)| figures.iter().any(Result::is_ok));
    let people: std::collections::BTreeSet<&str> = defined().map(|(key, _)| key.0.as_str()).collect();
    Headline {
        device: name.to_owned(),
        figures: (0..measures).map(of).collect(),
        nights: defined().count(),
        participants: people.len(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Stage::{Light, N3, R, W};

    const SCORED: Protocol = Protocol { scheme: None, window: Window::Scored };

    fn one(device: &str, label: &str) -> NightComparison {
        let moved = |mut r: counterpane_model::Recording| {
            r.night = label.to_owned();
            r
        };
        let night = counterpane_model::Night { label: label.to_owned(), ..night() };
        let others = [&moved(ring(&[W, Light, N3, R], device))];
        compare_night(&night, &moved(psg("WW2233RR")), &others, &Decided::default(), &SCORED).unwrap()
    }

    fn two_nights() -> Headlines {
        let nights = vec![one("WWLL33RR", "a"), one("WLLL33RR", "b")];
        Headlines::of(&compare(nights, SCORED), &[PlanMeasure::Accuracy], Missing::LeftOut)
    }

    fn figures(found: &[Headline]) -> Vec<(Figure, usize)> {
        found.iter().map(|h| (h.figures[0], h.nights)).collect()
    }

    #[test]
    fn one_night_is_replaced_and_the_others_stay() {
        let as_is = two_nights();
        assert_eq!(figures(&as_is.as_is()), [(Ok(15.0 / 16.0), 2)]);
        let worse = one("WLLLLLRR", "b");
        assert_eq!(figures(&as_is.with(&[(("P01", "b"), Some(&worse))])), [(Ok((1.0 + 5.0 / 8.0) / 2.0), 2)]);
        assert_eq!(figures(&as_is.with(&[(("P01", "b"), None)])), [(Ok(1.0), 1)]);
        assert!(as_is.with(&[(("P02", "b"), None)]).is_empty(), "a night without the device changes nothing");
    }

    #[test]
    fn the_choice_that_changes_most_is_named() {
        let as_is = two_nights();
        let otherwise = |choice, night: &str| Otherwise {
            choice,
            night: None,
            source: None,
            headlines: as_is.with(&[(("P01", night), None)]),
        };
        let what_if = WhatIf {
            measures: vec![PlanMeasure::Accuracy],
            as_is: as_is.as_is(),
            otherwise: vec![otherwise(Choice::Rules, "x"), otherwise(Choice::Clock { decision: 3 }, "a")],
        };
        let largest = what_if.largest();
        assert_eq!((largest.len(), largest[0].choice, largest[0].change), (1, 1, -1.0 / 16.0));
    }
}
