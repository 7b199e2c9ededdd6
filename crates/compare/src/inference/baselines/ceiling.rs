//! How far people agree with each other on the nights of the study: a device cannot be expected to agree better.

use crate::agreement::{agreement, fold};
use crate::{PairSummary, Scorers};
use counterpane_model::{Scheme, ScoredBy, Source};
use counterpane_stats::Figure;

/// The study's own ceiling: every pair of people who scored the same nights.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ceiling {
    /// Each pair in each scheme that both express.
    pub pairs: Vec<CeilingPair>,
}

/// Two people who scored the same nights.
#[derive(Clone, Debug, PartialEq)]
pub struct CeilingPair {
    /// Their codes.
    pub scorers: [String; 2],
    /// The classes.
    pub scheme: Scheme,
    /// Number of nights that both scored.
    pub nights: usize,
    /// Share of all epochs of those nights, in one matrix, on which they agree.
    pub accuracy: Figure,
    /// Cohen's kappa of that matrix.
    pub kappa: Figure,
}

impl Ceiling {
    /// Takes the pairs of people from all pairs of scorers.
    pub(super) fn of(scorers: &Scorers) -> Ceiling {
        let person = |s: &Source| matches!(s, Source::Reference { scored_by: ScoredBy::Human, .. });
        let people = scorers.pairs.iter().filter(|p| p.sources.iter().all(person));
        Ceiling { pairs: people.flat_map(in_each_scheme).collect() }
    }

    /// Returns the pairs in a scheme.
    pub fn in_scheme(&self, scheme: Scheme) -> impl Iterator<Item = &CeilingPair> {
        self.pairs.iter().filter(move |p| p.scheme == scheme)
    }
}

fn in_each_scheme(pair: &PairSummary) -> Vec<CeilingPair> {
    let in_scheme = |scheme: Scheme| {
        let folded = agreement(scheme, &fold(&pair.pooled, scheme)?);
        Some(CeilingPair {
            scorers: pair.sources.each_ref().map(|s| s.name().to_owned()),
            scheme,
            nights: pair.nights,
            accuracy: folded.accuracy,
            kappa: folded.kappa,
        })
    };
    Scheme::ALL.into_iter().filter_map(in_scheme).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, recording};
    use crate::{Protocol, Window, scorers, scorers_of_night};
    use counterpane_model::{Decided, Lights, Recording, Stage};

    #[test]
    fn two_people_are_a_ceiling_in_every_scheme_and_a_program_is_none() {
        let five = [Stage::W, Stage::N1, Stage::N2, Stage::N3, Stage::R];
        let of = |code: &str, scored_by, letters: &str| {
            let source = Source::Reference { scorer: code.into(), scored_by };
            recording(&format!("P01/2026-04-04/{code}"), source, &five, letters)
        };
        let all =
            [of("A", ScoredBy::Human, "WW12"), of("B", ScoredBy::Human, "WW21"), of("X", ScoredBy::Algorithm, "WW22")];
        let all: Vec<&Recording> = all.iter().collect();
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let one = scorers_of_night(&night(), &all, Lights::default(), &Decided::default(), &protocol).unwrap();
        let ceiling = Ceiling::of(&scorers(vec![one]));
        let accuracies: Vec<(Scheme, Figure)> = ceiling.pairs.iter().map(|p| (p.scheme, p.accuracy)).collect();
        let wanted = [(Scheme::SleepWake, 1.0), (Scheme::Three, 1.0), (Scheme::Four, 1.0), (Scheme::Five, 0.5)];
        assert_eq!(accuracies, wanted.map(|(scheme, share)| (scheme, Ok(share))));
        assert_eq!(ceiling.in_scheme(Scheme::Five).map(|p| p.scorers.clone()).collect::<Vec<_>>(), [["A", "B"]]);
    }
}
