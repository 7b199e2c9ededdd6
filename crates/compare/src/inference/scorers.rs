//! What the agreement of one scorer with another leaves open.

use super::agreement_intervals::drawn;
use super::interval::Interval;
use super::over_people::{OverPeople, over_people};
use crate::{Agreement, ScorerPair, Scorers};
use counterpane_model::Source;
use counterpane_stats::on_threads;
use counterpane_stats::{Figure, NightStatistic, Resampling, Scale, Table, accuracy, cohen_kappa};

/// The intervals of every pair of scorers, in the order of [`Scorers`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ScorerIntervals {
    /// Night by night, pair by pair; `None` where the two share no class or no epoch.
    pub nights: Vec<Vec<Option<PairWithinNight>>>,
    /// Each pair over all nights that both scored.
    pub pairs: Vec<PairOverPeople>,
}

impl ScorerIntervals {
    /// Returns the intervals within the only night of the pair at that place of [`Scorers::pairs`]; `None` with several.
    #[must_use]
    pub fn within(&self, scorers: &Scorers, at: usize) -> Option<&PairWithinNight> {
        let pair = scorers.pairs.get(at).filter(|p| p.nights == 1)?;
        let nights = scorers.nights.iter().zip(&self.nights);
        nights.flat_map(|(n, own)| n.pairs.iter().zip(own)).find_map(|(p, own)| {
            let same = p.agreement.is_some() && p.sources.iter().all(|s| pair.sources.contains(s));
            own.as_ref().filter(|_| same)
        })
    }
}

/// Two scorers on one night; approximate.
#[derive(Clone, Debug, PartialEq)]
pub struct PairWithinNight {
    /// Of the share of epochs that agree.
    pub accuracy: Interval,
    /// Of Cohen's kappa.
    pub kappa: Interval,
}

/// Two scorers over all nights that both scored, each night in the classes that its two share.
#[derive(Clone, Debug, PartialEq)]
pub struct PairOverPeople {
    /// Share of epochs that agree.
    pub accuracy: OverPeople,
    /// Cohen's kappa.
    pub kappa: OverPeople,
}

/// Draws the nights of scorers anew.
pub(crate) fn scorer_intervals(scorers: &Scorers, asked: Resampling) -> ScorerIntervals {
    let alone = Resampling { threads: 1, ..asked };
    let night = |night: &crate::ScorersNight| night.pairs.iter().map(|p| within(p, alone)).collect::<Vec<_>>();
    ScorerIntervals {
        nights: on_threads(&scorers.nights, asked.threads, night),
        pairs: scorers.pairs.iter().map(|p| over_nights(scorers, &p.sources, p.pooled.scheme, asked)).collect(),
    }
}

fn within(pair: &ScorerPair, asked: Resampling) -> Option<PairWithinNight> {
    let classes = pair.agreement.as_ref()?.scheme.classes().len();
    let wanted = [NightStatistic::share(accuracy, Table::n), NightStatistic::coefficient(cohen_kappa)];
    let found = drawn(classes, &pair.epochs, asked, &wanted);
    Some(PairWithinNight { accuracy: found[0], kappa: found[1] })
}

fn over_nights(
    scorers: &Scorers,
    sources: &[Source; 2],
    scheme: counterpane_model::Scheme,
    asked: Resampling,
) -> PairOverPeople {
    // The same two may stand in another order on another night; both figures are the same either way.
    let same = |p: &&ScorerPair| p.sources.iter().all(|s| sources.contains(s));
    let of_night = |n: &crate::ScorersNight| {
        let agreement = n.pairs.iter().find(same)?.agreement.clone()?;
        crate::summary::in_scheme(&[(n.participant.clone(), agreement)], scheme).pop()
    };
    let nights: Vec<(String, Agreement)> = scorers.nights.iter().filter_map(of_night).collect();
    let over = |scale: Scale, of: fn(&Agreement) -> Figure| {
        over_people(&nights.iter().map(|(who, a)| (who.as_str(), of(a))).collect::<Vec<_>>(), scale, asked)
    };
    PairOverPeople { accuracy: over(Scale::Share, |a| a.accuracy), kappa: over(Scale::Coefficient, |a| a.kappa) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::{Across, NoInterval};
    use crate::testing::{night, psg, recording};
    use crate::{Protocol, Window, scorers, scorers_of_night};
    use counterpane_model::Stage::{N1, N2, N3, R, W};
    use counterpane_model::{Decided, Lights, Night, Recording, ScoredBy};

    const ASKED: Resampling = Resampling { replicates: 300, seed: 1, threads: 2 };

    fn two(participant: &str, label: &str, a: &str, b: &str) -> crate::ScorersNight {
        let source = Source::Reference { scorer: "B".into(), scored_by: ScoredBy::Human };
        let moved = |r: Recording| Recording { participant: participant.into(), night: label.into(), ..r };
        let both = [moved(psg(a)), moved(recording("P01/2026-04-04/psg-B", source, &[W, N1, N2, N3, R], b))];
        let night = Night { participant: participant.into(), label: label.into(), ..night() };
        let protocol = Protocol { scheme: None, window: Window::Scored };
        scorers_of_night(&night, &[&both[0], &both[1]], Lights::default(), &Decided::default(), &protocol).unwrap()
    }

    #[test]
    fn a_pair_is_drawn_within_its_night_and_spread_over_nights() {
        let a = "WWWWW22222".repeat(12);
        let b = format!("WW{}", &a[..a.len() - 2]);
        let one = scorers(vec![two("P01", "2026-04-04", &a, &b)]);
        let found = scorer_intervals(&one, ASKED);
        let kappa = one.nights[0].pairs[0].agreement.as_ref().unwrap().kappa.unwrap();
        let limits = found.within(&one, 0).unwrap().kappa.unwrap();
        assert!(limits.low < kappa && kappa < limits.high);
        assert_eq!(found.pairs[0].kappa.interval, Err(NoInterval::OneNight));
        let several = scorers(vec![two("P01", "2026-04-04", &a, &b), two("P01", "2026-04-05", &a, &a)]);
        let found = scorer_intervals(&several, ASKED);
        assert_eq!((found.within(&several, 0), found.pairs[0].kappa.across), (None, Across::Nights));
        assert!(found.pairs[0].accuracy.interval.is_ok());
    }
}
