//! Scorers of the same nights against each other: how far a study's own references agree.

use crate::agreement::{agreement, fold, table};
use crate::inference::pairs_of_classes as pairs;
use crate::panel::{Panel, Seat};
use crate::summary::{in_scheme, pooled};
use crate::{Agreement, NothingToCompare, Protocol, Window, mean_over_participants};
use counterpane_model::{Decided, Lights, Night, Recording, Scheme, ScoredBy, Source, Stage};
use counterpane_stats::{Figure, Ratings, f1, fleiss_kappa, krippendorff_alpha};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Every pair of scorers, night by night and over all nights, and groups of three or more.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scorers {
    /// Night by night, in the order given.
    pub nights: Vec<ScorersNight>,
    /// Each pair over all nights that both scored, by code.
    pub pairs: Vec<PairSummary>,
    /// People, and programs, over all nights that three or more of them scored.
    pub groups: Vec<ScorerGroup>,
}

/// The scorers of one night.
#[derive(Clone, Debug, PartialEq)]
pub struct ScorersNight {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Each pair, in the order of the store.
    pub pairs: Vec<ScorerPair>,
    /// People, and programs, where there are three or more of them.
    pub groups: Vec<ScorerGroup>,
}

/// Two scorers of one night. Neither is the reference of the other: only symmetric figures are meant.
#[derive(Clone, Debug, PartialEq)]
pub struct ScorerPair {
    /// The two, the first in rows of the matrix.
    pub sources: [Source; 2],
    /// In the scheme of the protocol, else the finest that both express; `None` where they share none.
    pub agreement: Option<Agreement>,
    /// The classes of both in the scheme of `agreement`, in the epochs that both scored, in order of time.
    pub epochs: Vec<(usize, usize)>,
}

/// Two scorers over all nights that both scored.
#[derive(Clone, Debug, PartialEq)]
pub struct PairSummary {
    /// The two.
    pub sources: [Source; 2],
    /// Number of nights that were compared.
    pub nights: usize,
    /// Number of participants of those nights.
    pub participants: usize,
    /// All epochs in one matrix, in the finest scheme that all nights share.
    pub pooled: Agreement,
    /// Mean over participants of the mean over their nights of kappa.
    pub mean_kappa: Figure,
    /// Least and most kappa of a night, where one is defined.
    pub kappa_range: Option<(f64, f64)>,
}

/// Three or more scorers of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct ScorerGroup {
    /// People or programs.
    pub scored_by: ScoredBy,
    /// Their codes.
    pub scorers: Vec<String>,
    /// The classes.
    pub scheme: Scheme,
    /// Fleiss' kappa over the epochs that all scored.
    pub fleiss: Figure,
    /// Number of those epochs.
    pub fleiss_n: u64,
    /// Krippendorff's alpha over the epochs that two or more scored.
    pub alpha: Figure,
    /// Number of those epochs.
    pub alpha_n: u64,
    /// How often each class was given to each epoch that all, or two or more, scored; for putting nights together.
    counts: [Vec<Vec<u64>>; 2],
}

/// Returns the specific agreement of each class of a pair: of all that either gave to the class, the share on which
/// both agree, `2 n_ii / (r_i + c_i)`. It is the same whichever of the two stands in rows.
#[must_use]
pub fn specific_agreement(agreement: &Agreement) -> Vec<(Stage, Figure)> {
    let Some(table) = fold(agreement, agreement.scheme) else { return Vec::new() };
    agreement.scheme.classes().iter().enumerate().map(|(i, class)| (*class, f1(&table, i))).collect()
}

/// Compares the scorers of a night with each other.
///
/// They are laid on the epochs of the first, on corrected clocks and without what is left out of them. The window is
/// that of the protocol, where `lights` of the night, else those that the scorers agree on, else `diary`; without both
/// lights, every epoch counts that two scored.
///
/// # Errors
/// When a recording is of another night, has no spans, or they reach farther than any night.
pub fn scorers_of_night(
    night: &Night,
    scorers: &[&Recording],
    diary: Lights,
    decided: &Decided,
    protocol: &Protocol,
) -> Result<ScorersNight, NothingToCompare> {
    let panel = Panel::of(night, scorers, decided)?;
    let window = window(&panel, night.lights.or(panel.lights()).or(diary), protocol.window);
    let seats = &panel.seats;
    let pairs = (0..seats.len()).flat_map(|i| (i + 1..seats.len()).map(move |j| (i, j)));
    let of_kind = |kind| group(kind, seats, &window, protocol.scheme);
    Ok(ScorersNight {
        participant: night.participant.clone(),
        night: night.label.clone(),
        pairs: pairs.map(|(i, j)| pair(&seats[i], &seats[j], &window, protocol.scheme)).collect(),
        groups: [ScoredBy::Human, ScoredBy::Algorithm].into_iter().filter_map(of_kind).collect(),
    })
}

/// Puts nights of scorers together.
#[must_use]
pub fn scorers(nights: Vec<ScorersNight>) -> Scorers {
    let mut pairs: BTreeMap<[&Source; 2], Vec<(String, Agreement)>> = BTreeMap::new();
    for night in &nights {
        for pair in &night.pairs {
            let [a, b] = &pair.sources;
            // The same two may stand in another order on another night; only symmetric figures are taken.
            let key = if a <= b { [a, b] } else { [b, a] };
            pairs.entry(key).or_default().extend(pair.agreement.clone().map(|a| (night.participant.clone(), a)));
        }
    }
    let pairs = pairs.into_iter().filter_map(|(sources, nights)| pair_summary(sources, &nights)).collect();
    let of_kind = |kind| group_summary(nights.iter().flat_map(|n| &n.groups).filter(|g| g.scored_by == kind).collect());
    let groups = [ScoredBy::Human, ScoredBy::Algorithm].into_iter().filter_map(of_kind).collect();
    Scorers { pairs, groups, nights }
}

fn window(panel: &Panel, lights: Lights, window: Window) -> Range<usize> {
    match (window, lights) {
        (Window::Between(from, until), _) => panel.grid.within(from, until),
        (Window::Lights, Lights { off: Some(off), on: Some(on) }) => panel.grid.within(off, on),
        (Window::Lights | Window::Scored, _) => 0..panel.grid.n,
    }
}

fn cells<'a>(seat: &'a Seat, window: &Range<usize>) -> &'a [counterpane_model::Cell] {
    seat.cells.get(window.clone()).unwrap_or_default()
}

fn pair(a: &Seat, b: &Seat, window: &Range<usize>, asked: Option<Scheme>) -> ScorerPair {
    let both = |s: &Scheme| a.recording.expresses(*s) && b.recording.expresses(*s);
    let scheme = shared(asked, both);
    let compared = |s: Scheme| Some(agreement(s, &table(s, cells(a, window), cells(b, window))?));
    let agreement = scheme.and_then(compared).filter(|a| a.n > 0);
    ScorerPair {
        sources: [a.recording.source.clone(), b.recording.source.clone()],
        epochs: agreement.as_ref().map(|of| pairs(of.scheme, cells(a, window), cells(b, window))).unwrap_or_default(),
        agreement,
    }
}

fn shared(asked: Option<Scheme>, can: impl Fn(&Scheme) -> bool) -> Option<Scheme> {
    asked.map_or_else(|| Scheme::ALL.into_iter().rev().find(&can), |s| Some(s).filter(&can))
}

fn group(kind: ScoredBy, seats: &[Seat], window: &Range<usize>, asked: Option<Scheme>) -> Option<ScorerGroup> {
    let is = |s: &&Seat| matches!(s.recording.source, Source::Reference { scored_by, .. } if scored_by == kind);
    let own: Vec<&Seat> = seats.iter().filter(is).collect();
    if own.len() < 3 {
        return None;
    }
    let scheme = shared(asked, |s| own.iter().all(|seat| seat.recording.expresses(*s)))?;
    let rated = |seat: &&Seat| cells(seat, window).iter().map(|c| scheme.index(c.stage()?)).collect::<Vec<_>>();
    let rows: Vec<Vec<Option<usize>>> = own.iter().map(rated).collect();
    let rows: Vec<&[Option<usize>]> = rows.iter().map(Vec::as_slice).collect();
    let ratings = Ratings::from_raters(scheme.classes().len(), &rows).ok()?;
    let by = |least: u64| ratings.counts().iter().filter(|u| u.iter().sum::<u64>() >= least).cloned().collect();
    let codes = own.iter().map(|s| s.recording.source.name().to_owned()).collect();
    Some(figures(kind, codes, scheme, [by(own.len() as u64), by(2)]))
}

fn figures(scored_by: ScoredBy, scorers: Vec<String>, scheme: Scheme, counts: [Vec<Vec<u64>>; 2]) -> ScorerGroup {
    let [all, some] = &counts;
    ScorerGroup {
        scored_by,
        scorers,
        scheme,
        fleiss: fleiss_kappa(&Ratings::from_counts(all.clone())),
        fleiss_n: all.len() as u64,
        alpha: krippendorff_alpha(&Ratings::from_counts(some.clone())),
        alpha_n: some.len() as u64,
        counts,
    }
}

fn pair_summary(sources: [&Source; 2], nights: &[(String, Agreement)]) -> Option<PairSummary> {
    let scheme = nights.iter().map(|(_, a)| a.scheme).min()?;
    let folded = in_scheme(nights, scheme);
    let kappas: Vec<(&str, Figure)> = folded.iter().map(|(p, a)| (p.as_str(), a.kappa)).collect();
    let known = || kappas.iter().filter_map(|(_, k)| k.ok());
    Some(PairSummary {
        sources: sources.map(Clone::clone),
        nights: folded.len(),
        participants: folded.iter().map(|(p, _)| p).collect::<BTreeSet<_>>().len(),
        pooled: pooled(&folded, scheme)?,
        mean_kappa: mean_over_participants(&kappas),
        kappa_range: known().reduce(f64::min).zip(known().reduce(f64::max)),
    })
}

fn group_summary(nights: Vec<&ScorerGroup>) -> Option<ScorerGroup> {
    let scheme = nights.iter().map(|g| g.scheme).min()?;
    let codes: BTreeSet<&String> = nights.iter().flat_map(|g| &g.scorers).collect();
    let together =
        |i: usize| nights.iter().flat_map(|g| g.counts[i].iter().map(|u| folded(u, g.scheme, scheme))).collect();
    let codes = codes.into_iter().cloned().collect();
    Some(figures(nights.first()?.scored_by, codes, scheme, [together(0), together(1)]))
}

fn folded(unit: &[u64], from: Scheme, to: Scheme) -> Vec<u64> {
    let mut out = vec![0; to.classes().len()];
    for (class, n) in from.classes().iter().zip(unit) {
        if let Some(place) = to.index(*class).and_then(|i| out.get_mut(i)) {
            *place += n;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, recording};

    const FIVE: [Stage; 5] = [Stage::W, Stage::N1, Stage::N2, Stage::N3, Stage::R];

    fn scored(code: &str, scored_by: ScoredBy, letters: &str) -> Recording {
        let source = Source::Reference { scorer: code.into(), scored_by };
        recording(&format!("P01/2026-04-04/{code}"), source, &FIVE, letters)
    }

    fn of(recordings: &[Recording], window: Window) -> ScorersNight {
        let refs: Vec<&Recording> = recordings.iter().collect();
        let protocol = Protocol { scheme: None, window };
        scorers_of_night(&night(), &refs, Lights::default(), &Decided::default(), &protocol).unwrap()
    }

    #[test]
    fn each_pair_counts_what_both_scored() {
        let human = |code: &str, letters: &str| scored(code, ScoredBy::Human, letters);
        let found = of(&[human("A", "WW22?"), human("B", "W222R"), human("C", "W2R2R")], Window::Scored);
        let pairs: Vec<(u64, Figure)> =
            found.pairs.iter().filter_map(|p| p.agreement.as_ref()).map(|a| (a.n, a.accuracy)).collect();
        assert_eq!(pairs, [(4, Ok(0.75)), (4, Ok(0.5)), (5, Ok(0.8))]);
        // A and B: W 2*1/(2+1), N2 2*2/(2+3).
        let specific = specific_agreement(found.pairs[0].agreement.as_ref().unwrap());
        assert_eq!((specific[0], specific[2]), ((Stage::W, Ok(2.0 / 3.0)), (Stage::N2, Ok(0.8))));
        let [group] = found.groups.as_slice() else { panic!("one group of people") };
        assert_eq!((group.fleiss_n, group.alpha_n), (4, 5));
        // Units WWW, W22, 22R, 222: P = (1 + 1/3 + 1/3 + 1) / 4 = 2/3; shares 4, 7, 1 of 12: Pe = 66/144.
        let expected = (2.0 / 3.0 - 66.0 / 144.0) / (1.0 - 66.0 / 144.0);
        assert!((group.fleiss.unwrap() - expected).abs() < 1e-12);
    }

    #[test]
    fn nights_are_put_together_whatever_the_order_of_the_two() {
        let human = |code: &str, letters: &str| scored(code, ScoredBy::Human, letters);
        let one = of(&[human("A", "WW22"), human("B", "W222")], Window::Scored);
        let other = of(&[human("B", "WR"), human("A", "WR")], Window::Scored);
        let all = scorers(vec![one, other]);
        let [pair] = all.pairs.as_slice() else { panic!("one pair") };
        assert_eq!((pair.nights, pair.pooled.n, pair.pooled.accuracy), (2, 6, Ok(5.0 / 6.0)));
        assert_eq!(pair.kappa_range, Some((0.5, 1.0)));
        assert!(all.groups.is_empty());
    }

    #[test]
    fn people_and_programs_are_groups_of_their_own() {
        let codes = ["A", "B", "C"].map(|c| scored(c, ScoredBy::Human, "W2"));
        let programs = ["X", "Y"].map(|c| scored(c, ScoredBy::Algorithm, "W2"));
        let found = of(&[codes.as_slice(), programs.as_slice()].concat(), Window::Scored);
        assert_eq!((found.pairs.len(), found.groups.len()), (10, 1));
        assert_eq!(found.groups[0].scorers, ["A", "B", "C"]);
    }
}
