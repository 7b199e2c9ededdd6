//! What the time of night alone would say, learned on the nights of other people.

use super::PRIOR_STRETCH;
use crate::{Comparison, NightComparison};
use counterpane_model::{EPOCH_MS, NightKind, Scheme};
use counterpane_stats::{Undefined, time_of_night_prior};
use std::collections::BTreeMap;

/// The guesses for each person, kind of night and scheme, from lights off on.
pub(super) struct Priors {
    of: BTreeMap<(String, &'static str, Scheme), Result<Vec<usize>, Undefined>>,
}

/// The references of one person: a class for each epoch since lights off.
type Person = Vec<Vec<Option<usize>>>;

impl Priors {
    /// Learns for each person from all others; naps and day sleep each from their own kind.
    pub(super) fn learn(comparison: &Comparison) -> Priors {
        let mut of = BTreeMap::new();
        let kinds: BTreeMap<&'static str, NightKind> =
            comparison.nights.iter().map(|n| (n.kind.code(), n.kind)).collect();
        for (code, kind) in kinds {
            let nights: Vec<&NightComparison> = comparison.nights.iter().filter(|n| n.kind == kind).collect();
            for scheme in schemes(&nights) {
                for (person, guesses) in each_from_others(&nights, scheme) {
                    of.insert((person, code, scheme), guesses);
                }
            }
        }
        Priors { of }
    }

    /// Returns the guess for each epoch of a night.
    ///
    /// # Errors
    /// [`Undefined::NTooSmall`] when no other person has a night of the kind.
    pub(super) fn guesses(&self, night: &NightComparison, scheme: Scheme) -> Result<Vec<usize>, Undefined> {
        let key = (night.participant.clone(), night.kind.code(), scheme);
        let all = self.of.get(&key).ok_or(Undefined::NTooSmall)?.as_ref().map_err(|why| *why)?;
        let last = all.last().copied().ok_or(Undefined::NTooSmall)?;
        let first = since_lights_off(night);
        Ok((0..night.reference.len()).map(|i| all.get(first + i).copied().unwrap_or(last)).collect())
    }
}

/// The schemes in which anything is compared, and those that devices are folded down to.
fn schemes(nights: &[&NightComparison]) -> Vec<Scheme> {
    let used = |scheme: &Scheme| {
        let mut all = nights.iter().flat_map(|n| &n.devices).filter_map(|d| d.agreement.as_ref());
        all.any(|a| a.scheme >= *scheme)
    };
    Scheme::ALL.into_iter().filter(used).collect()
}

fn each_from_others(nights: &[&NightComparison], scheme: Scheme) -> Vec<(String, Result<Vec<usize>, Undefined>)> {
    let mut people: BTreeMap<&str, Person> = BTreeMap::new();
    for night in nights {
        people.entry(&night.participant).or_default().push(classes(night, scheme));
    }
    let length = people.values().flatten().map(Vec::len).max().unwrap_or(0);
    let codes: Vec<String> = people.keys().map(|code| (*code).to_owned()).collect();
    let mut of: Vec<Person> = people.into_values().collect();
    let last = of.len().saturating_sub(1);
    codes
        .into_iter()
        .enumerate()
        .map(|(i, code)| {
            // The person who is judged stands last, and is not learned from.
            of.swap(i, last);
            let others = of.get(..last).unwrap_or_default();
            let guesses = time_of_night_prior(others, scheme.classes().len(), length, PRIOR_STRETCH);
            of.swap(i, last);
            (code, guesses)
        })
        .collect()
}

/// The reference of a night, from lights off on where they are known, else from the start of its window.
fn classes(night: &NightComparison, scheme: Scheme) -> Vec<Option<usize>> {
    let own = night.reference.iter().map(|cell| scheme.index(cell.stage()?));
    std::iter::repeat_n(None, since_lights_off(night)).chain(own).collect()
}

/// Epochs from lights off to the start of the window. A window that starts before, as one that was asked for may, counts
/// from its start.
fn since_lights_off(night: &NightComparison) -> usize {
    let ms = night.lights.0.map_or(0, |off| night.start.ms_since(off));
    // Half a day is no latency: such lights belong to another sleep.
    usize::try_from(ms / EPOCH_MS).ok().filter(|epochs| *epochs < 1440).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_model::{Decided, Night, Recording};

    fn comparison(people: &[(&str, &str)]) -> Comparison {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let moved = |recording: Recording, who: &str| Recording { participant: who.into(), ..recording };
        let one = |(who, reference): &(&str, &str)| {
            let own = Night { participant: (*who).into(), ..night() };
            let device = moved(ring(&[W, Light, N3, R], &"L".repeat(reference.len())), who);
            compare_night(&own, &moved(psg(reference), who), &[&device], &Decided::default(), &protocol).unwrap()
        };
        compare(people.iter().map(one).collect(), protocol)
    }

    fn guesses(people: &[(&str, &str)], night: usize) -> Result<Vec<usize>, Undefined> {
        let comparison = comparison(people);
        Priors::learn(&comparison).guesses(&comparison.nights[night], Scheme::Four)
    }

    #[test]
    fn nobody_is_guessed_from_their_own_nights() {
        let (early, late) = ("3".repeat(10) + &"R".repeat(10), "2".repeat(20));
        let people = [("P01", early.as_str()), ("P02", late.as_str())];
        assert_eq!(guesses(&people, 0), Ok(vec![1; 20]));
        assert_eq!(guesses(&people, 1), Ok([vec![2; 10], vec![3; 10]].concat()));
    }

    #[test]
    fn one_person_has_nobody_to_be_guessed_from() {
        assert_eq!(guesses(&[("P01", "2222")], 0), Err(Undefined::NTooSmall));
    }

    #[test]
    fn beyond_the_longest_night_of_others_the_last_guess_goes_on() {
        let people = [("P01", "22222222222222222222"), ("P02", "3333333333")];
        assert_eq!(guesses(&people, 0), Ok(vec![2; 20]));
    }
}
