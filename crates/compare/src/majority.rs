//! The majority of the scorers of a night, as a reference of its own.

use crate::night::not_excluded;
use crate::panel::{Panel, Seat};
use crate::{NightComparison, NothingToCompare};
use counterpane_model::{
    Cell, ClockSetting, Decided, EPOCH_MS, Grid, Instant, Lights, Locator, MAJORITY, Mark, Night, Note, NoteKind,
    Recording, Scheme, ScoredBy, Source, Span, Stage, TimeBasis, Vocabulary,
};
use std::collections::BTreeMap;

/// The majority of the scorers of a night.
#[derive(Clone, Debug, PartialEq)]
pub struct Majority {
    /// What the majority says, as a recording under the code [`MAJORITY`]. It has no original: the places of its spans
    /// count epochs.
    pub recording: Recording,
    consensus: Consensus,
    grid: Grid,
    votes: Vec<Vote>,
}

/// How a reference that is a majority came about.
#[derive(Clone, Debug, PartialEq)]
pub struct Consensus {
    /// Who voted, in the order of the store; the epochs are those of the first.
    pub voters: Vec<Voter>,
    /// Codes of programs that did not vote because people did.
    pub programs_aside: Vec<String>,
    /// Codes of scorers that did not vote because they give no stages over time.
    pub silent: Vec<String>,
    /// The classes in which votes are counted: the finest that all voters can express.
    pub scheme: Scheme,
    /// Whose word settles a tie, if anybody's.
    pub tie: Option<String>,
    /// What the voters name as lights off.
    pub lights_off: LightsNamed,
    /// What the voters name as lights on.
    pub lights_on: LightsNamed,
    /// Lights off and on as the reviewer declared them; they go before what the voters name.
    pub declared: Lights,
    /// How the epochs of the window were decided, without what is left out of the night.
    pub counts: VoteCounts,
}

/// One scorer of a majority.
#[derive(Clone, Debug, PartialEq)]
pub struct Voter {
    /// Code of the scorer.
    pub code: String,
    /// Key of the recording.
    pub key: String,
    /// Name of the original.
    pub file: String,
    /// How much later its own epochs begin than those of the first voter, in milliseconds; at most half an epoch.
    pub phase_ms: i64,
    /// The correction of its clock, where one was set.
    pub clock: Option<ClockSetting>,
}

/// What several scorers name as one of the two lights.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LightsNamed {
    /// Who names which time, in the order of the voters.
    pub named: Vec<(String, Instant)>,
    /// The time of the first of them, if all lie less than an epoch apart.
    pub agreed: Option<Instant>,
}

/// How many epochs were decided in which way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct VoteCounts {
    /// All who scored the epoch, two at least, give the same stage.
    pub unanimous: u64,
    /// One stage was given more often than any other.
    pub majority: u64,
    /// A tie that the word of one scorer settled.
    pub settled: u64,
    /// A tie that nothing settled: unscored.
    pub tied: u64,
    /// Fewer than two scored the epoch: unscored.
    pub too_few: u64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Vote {
    Unanimous,
    Majority,
    Settled,
    Tied,
    TooFew,
}

/// Returns those scorers of a night who vote in its majority: people, if anybody who is not left out is a person, else
/// programs; never both. Who gives no stages over time does not vote.
#[must_use]
pub fn voters<'a>(scorers: &[&'a Recording], decided: &Decided) -> Vec<&'a Recording> {
    let can: Vec<&Recording> =
        scorers.iter().copied().filter(|r| !r.spans.is_empty() && decided.excludes(&r.source).is_none()).collect();
    let kind = can.iter().filter_map(|r| kind(r)).min();
    can.into_iter().filter(|r| self::kind(r) == kind).collect()
}

/// Returns the majority of the scorers of a night: in each epoch the stage that most of them give.
///
/// Votes are counted in the finest classes that all voters can express, before anything is folded, on the epochs of
/// the first voter. Clocks are corrected and stretches of single scorers left out first. A tie is settled by the
/// scorer `tie`, where that one gives one of the tied stages; any other tie, and an epoch that fewer than two
/// scored, is unscored. `night` holds the lights as the reviewer declared them.
///
/// # Errors
/// When fewer than two vote, or they share no classes.
pub fn majority(
    night: &Night,
    scorers: &[&Recording],
    decided: &Decided,
    tie: Option<&str>,
) -> Result<Majority, NothingToCompare> {
    let voting = voters(scorers, decided);
    let name = || format!("{}/{}", night.participant, night.label);
    if let (true, Some(left_out)) = (voting.is_empty(), scorers.first()) {
        not_excluded(night, left_out, decided)?;
    }
    let (Some(first), true) = (voting.first(), voting.len() >= 2) else {
        let who = voting.first().map(|r| r.source.name().to_owned());
        return Err(NothingToCompare::NoMajority { night: name(), who });
    };
    let panel = Panel::of(night, &voting, decided)?;
    let Some(scheme) = panel.scheme() else { return Err(NothingToCompare::NoSharedClasses { night: name() }) };
    let (cells, votes): (Vec<Cell>, Vec<Vote>) =
        (0..panel.grid.n).map(|epoch| decide(&panel.seats, epoch, scheme, tie)).unzip();
    let kind = kind(first).unwrap_or(ScoredBy::Human);
    let codes = |of: &dyn Fn(&Recording) -> bool| {
        scorers.iter().filter(|r| of(r)).map(|r| r.source.name().to_owned()).collect::<Vec<_>>()
    };
    let aside =
        |r: &Recording| !r.spans.is_empty() && decided.excludes(&r.source).is_none() && self::kind(r) != Some(kind);
    let consensus = Consensus {
        voters: panel.seats.iter().map(voter).collect(),
        programs_aside: codes(&aside),
        silent: codes(&|r| r.spans.is_empty()),
        scheme,
        tie: tie.map(str::to_owned),
        lights_off: named(&panel.seats, |l| l.off),
        lights_on: named(&panel.seats, |l| l.on),
        declared: night.lights,
        counts: VoteCounts::default(),
    };
    let recording = recording(first, kind, &panel, &cells, &consensus);
    Ok(Majority { recording, consensus, grid: panel.grid, votes })
}

impl Majority {
    /// Writes into a comparison with this majority how it came about.
    pub fn told_in(&self, night: &mut NightComparison) {
        let window = Grid { start: night.start, n: night.reference.len() };
        let mut counts = VoteCounts::default();
        let left_out: Vec<_> = night.excluded.iter().map(|(from, until)| window.within(*from, *until)).collect();
        let offset = night.start.ms_since(self.grid.start).div_euclid(EPOCH_MS);
        for epoch in (0..window.n).filter(|e| !left_out.iter().any(|range| range.contains(e))) {
            let index = i64::try_from(epoch).ok().and_then(|e| usize::try_from(e + offset).ok());
            match index.and_then(|i| self.votes.get(i)).unwrap_or(&Vote::TooFew) {
                Vote::Unanimous => counts.unanimous += 1,
                Vote::Majority => counts.majority += 1,
                Vote::Settled => counts.settled += 1,
                Vote::Tied => counts.tied += 1,
                Vote::TooFew => counts.too_few += 1,
            }
        }
        night.consensus = Some(Consensus { counts, ..self.consensus.clone() });
    }
}

/// Returns what the majority says of an epoch, and how that was decided.
fn decide(seats: &[Seat], epoch: usize, scheme: Scheme, tie: Option<&str>) -> (Cell, Vote) {
    let cell = |seat: &Seat| seat.cells.get(epoch).copied().unwrap_or(Cell::Missing);
    let stage = |seat: &Seat| cell(seat).stage().and_then(|s| scheme.fold(s));
    let said: Vec<Stage> = seats.iter().filter_map(stage).collect();
    let word = seats.iter().find(|s| Some(s.recording.source.name()) == tie).and_then(stage);
    let (stage, vote) = count(&said, word);
    let nothing = if seats.iter().all(|s| cell(s) == Cell::Missing) { Cell::Missing } else { Cell::Unscored };
    (stage.map_or(nothing, Cell::Stage), vote)
}

fn count(said: &[Stage], word: Option<Stage>) -> (Option<Stage>, Vote) {
    if said.len() < 2 {
        return (None, Vote::TooFew);
    }
    let mut counts: BTreeMap<Stage, usize> = BTreeMap::new();
    for stage in said {
        *counts.entry(*stage).or_default() += 1;
    }
    let most = counts.values().max().copied().unwrap_or(0);
    let leading: Vec<Stage> = counts.iter().filter(|(_, n)| **n == most).map(|(stage, _)| *stage).collect();
    match leading.as_slice() {
        [one] if most == said.len() => (Some(*one), Vote::Unanimous),
        [one] => (Some(*one), Vote::Majority),
        tied => match word.filter(|w| tied.contains(w)) {
            Some(word) => (Some(word), Vote::Settled),
            None => (None, Vote::Tied),
        },
    }
}

pub(crate) fn named(seats: &[Seat], of: fn(Lights) -> Option<Instant>) -> LightsNamed {
    let name = |s: &Seat| Some((s.recording.source.name().to_owned(), of(s.recording.lights())?));
    let named: Vec<(String, Instant)> = seats.iter().filter_map(name).collect();
    let times = || named.iter().map(|(_, at)| *at);
    let apart = times().max().zip(times().min()).map(|(last, first)| last.ms_since(first));
    LightsNamed { agreed: times().next().filter(|_| apart.is_some_and(|ms| ms < EPOCH_MS)), named }
}

fn voter(seat: &Seat) -> Voter {
    Voter {
        code: seat.recording.source.name().to_owned(),
        key: seat.recording.key.clone(),
        file: seat.recording.file.clone(),
        phase_ms: seat.phase_ms,
        clock: seat.clock.clone(),
    }
}

fn kind(recording: &Recording) -> Option<ScoredBy> {
    match recording.source {
        Source::Reference { scored_by, .. } => Some(scored_by),
        Source::Device { .. } => None,
    }
}

fn recording(first: &Recording, kind: ScoredBy, panel: &Panel, cells: &[Cell], of: &Consensus) -> Recording {
    let Recording { participant, night, zone, .. } = first.clone();
    let light = |kind, at: Option<Instant>| {
        at.map(|at| Note { at, until: None, precision_ms: 0, kind, text: String::new(), locator: None })
    };
    let mut notes: Vec<Note> =
        [light(NoteKind::LightsOff, of.lights_off.agreed), light(NoteKind::LightsOn, of.lights_on.agreed)]
            .into_iter()
            .flatten()
            .collect();
    notes.sort_by_key(|n| n.at);
    Recording {
        key: format!("{participant}/{night}/{MAJORITY}"),
        source: Source::Reference { scorer: MAJORITY.to_owned(), scored_by: kind },
        participant,
        night,
        zone,
        time_basis: TimeBasis::ElapsedFromAnchor,
        vocabulary: Vocabulary(of.scheme.classes().to_vec()),
        step_ms: EPOCH_MS,
        precision_ms: 0,
        spans: cells.iter().enumerate().filter_map(|(i, cell)| span(panel.grid, i, *cell)).collect(),
        claims: Vec::new(),
        notes,
        file: of.voters.iter().map(|v| v.file.as_str()).collect::<Vec<_>>().join(", "),
    }
}

fn span(grid: Grid, epoch: usize, cell: Cell) -> Option<Span> {
    let mark = match cell {
        Cell::Stage(stage) => Mark::Stage(stage),
        Cell::Unscored => Mark::Unscored,
        Cell::Off => Mark::Off,
        Cell::Missing => return None,
    };
    let locator = Locator::Text { line: epoch as u64 + 1, column: 1 };
    Some(Span { start: grid.at(epoch), end: grid.at(epoch + 1), mark, label: cell.code().to_owned(), locator })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{at, letters, night, recording};
    use crate::{Protocol, Window, compare_night};
    use counterpane_model::{ClockPoint, Exclusion, Looked};

    const FIVE: [Stage; 5] = [Stage::W, Stage::N1, Stage::N2, Stage::N3, Stage::R];
    const SCORED: Protocol = Protocol { scheme: None, window: Window::Scored };

    fn scored(code: &str, scored_by: ScoredBy, can: &[Stage], letters: &str) -> Recording {
        let source = Source::Reference { scorer: code.into(), scored_by };
        recording(&format!("P01/2026-04-04/{code}"), source, can, letters)
    }

    fn person(code: &str, letters: &str) -> Recording {
        scored(code, ScoredBy::Human, &FIVE, letters)
    }

    fn three() -> [Recording; 3] {
        [person("S1", "WW123R?W"), person("S2", "W1122W?."), person("S3", "W21332R.")]
    }

    /// The majority in letters, and the epochs that were decided alike, by most, by a word, and not: tied, too few.
    fn check(scorers: &[Recording], decided: &Decided, tie: Option<&str>) -> (String, [u64; 5]) {
        let scorers: Vec<&Recording> = scorers.iter().collect();
        let found = majority(&night(), &scorers, decided, tie).unwrap();
        let mut compared = compare_night(&night(), &found.recording, &[], decided, &SCORED).unwrap();
        found.told_in(&mut compared);
        let c = compared.consensus.unwrap().counts;
        let row = grid_letters(&found);
        (row, [c.unanimous, c.majority, c.settled, c.tied, c.too_few])
    }

    fn grid_letters(found: &Majority) -> String {
        letters(&counterpane_model::grid::project(&found.recording.spans, found.grid))
    }

    fn refused(scorers: &[Recording], decided: &Decided) -> String {
        let scorers: Vec<&Recording> = scorers.iter().collect();
        majority(&night(), &scorers, decided, None).map(|_| ()).unwrap_err().to_string()
    }

    fn left_out(source: Option<&str>, epochs: Option<(i64, i64)>) -> Exclusion {
        Exclusion {
            decision: 7,
            source: source.map(str::to_owned),
            stretch: epochs.map(|(from, until)| (at(from), at(until))),
            looked: Looked::Before,
            reason: "asleep at the desk".into(),
            by: "me".into(),
            at: "2026-04-05T00:00:00Z".into(),
        }
    }

    fn without(exclusions: Vec<Exclusion>) -> Decided {
        Decided { exclusions, ..Decided::default() }
    }

    #[test]
    fn most_decide_and_a_tie_or_a_single_word_decides_nothing() {
        // The window ends with the last epoch that has a stage, the fifth.
        assert_eq!(check(&three(), &Decided::default(), None), ("W?123???".into(), [2, 2, 0, 1, 0]));
        let two = &three()[..2];
        assert_eq!(check(two, &Decided::default(), None), ("W?12????".into(), [3, 0, 0, 1, 0]));
    }

    #[test]
    fn one_scorer_settles_ties_and_only_among_the_tied_stages() {
        let none = Decided::default();
        assert_eq!(check(&three(), &none, Some("S2")), ("W1123W??".into(), [2, 2, 2, 0, 0]));
        let five = [person("A", "2"), person("B", "2"), person("C", "1"), person("D", "1"), person("E", "W")];
        let refs: Vec<&Recording> = five.iter().collect();
        let said = |tie| grid_letters(&majority(&night(), &refs, &none, tie).unwrap());
        assert_eq!(
            (said(Some("A")), said(Some("C")), said(Some("E")), said(None)),
            ("2".into(), "1".into(), "?".into(), "?".into())
        );
    }

    #[test]
    fn what_is_left_out_of_one_scorer_is_no_vote_and_what_is_left_out_of_the_night_is_not_counted() {
        let one = without(vec![left_out(Some("S3"), Some((3, 5)))]);
        assert_eq!(check(&three(), &one, None), ("W?12????".into(), [3, 0, 0, 1, 0]));
        let all = without(vec![left_out(None, Some((0, 2)))]);
        assert_eq!(check(&three(), &all, None).1, [1, 2, 0, 0, 0]);
        let whole = without(vec![left_out(Some("S3"), None)]);
        assert_eq!(check(&three(), &whole, None), ("W?12????".into(), [3, 0, 0, 1, 0]));
    }

    #[test]
    fn a_clock_is_corrected_before_the_vote() {
        let clock = ClockSetting {
            decision: 3,
            source: "S2".into(),
            points: vec![ClockPoint { at: at(0), shift_ms: -EPOCH_MS }],
            reason: "a minute hand".into(),
            by: "me".into(),
            decided_at: "2026-04-05T00:00:00Z".into(),
        };
        let decided = Decided { clocks: vec![clock], ..Decided::default() };
        let scorers = [person("S1", "W12RR"), person("S2", "RW12R")];
        assert_eq!(check(&scorers, &decided, None), ("?W12R?".into(), [4, 0, 0, 0, 0]));
        assert_eq!(check(&scorers, &Decided::default(), None).1, [1, 0, 0, 0, 0]);
    }

    #[test]
    fn people_and_programs_are_never_mixed() {
        let program = |code: &str| scored(code, ScoredBy::Algorithm, &FIVE, "RRRR");
        let mixed = [program("A1"), person("S1", "W22R"), program("A2"), person("S2", "W23R")];
        let refs: Vec<&Recording> = mixed.iter().collect();
        let found = majority(&night(), &refs, &Decided::default(), None).unwrap();
        assert_eq!(grid_letters(&found), "W2?R");
        assert_eq!(found.consensus.programs_aside, ["A1", "A2"]);
        let programs = [program("A1"), program("A2")];
        let refs: Vec<&Recording> = programs.iter().collect();
        let found = majority(&night(), &refs, &Decided::default(), None).unwrap();
        assert_eq!(kind(&found.recording), Some(ScoredBy::Algorithm));
        assert_eq!(
            refused(&[program("A1"), person("S1", "W"), program("A2")], &Decided::default()),
            "the scorings of night `P01/2026-04-04` make no majority: only that of `S1` counts; choose that scorer, or \
             import another scoring"
        );
        let night_out = without(vec![left_out(None, None)]);
        assert!(refused(&three(), &night_out).contains("left out"), "{}", refused(&three(), &night_out));
    }

    #[test]
    fn votes_are_counted_in_the_classes_that_all_can_express() {
        let coarse = scored("S2", ScoredBy::Human, &[Stage::W, Stage::Light, Stage::N3, Stage::R], "WLL3");
        let scorers = [person("S1", "W123"), coarse];
        assert_eq!(check(&scorers, &Decided::default(), None), ("WLL3".into(), [4, 0, 0, 0, 0]));
        let nothing = scored("S2", ScoredBy::Human, &[Stage::Asleep], "AA");
        assert!(refused(&[person("S1", "W1"), nothing], &Decided::default()).contains("share no classes"));
    }

    #[test]
    fn the_epochs_are_those_of_the_first_and_the_lights_those_on_which_they_agree() {
        let [first, mut second, third] = three();
        for span in &mut second.spans {
            (span.start, span.end) = (Instant(span.start.0 + 10_000), Instant(span.end.0 + 10_000));
        }
        let light = |epoch, ms| Note {
            at: Instant(at(epoch).0 + ms),
            until: None,
            precision_ms: 0,
            kind: NoteKind::LightsOff,
            text: String::new(),
            locator: None,
        };
        second.notes.push(light(1, 0));
        let named = |third_ms: i64| {
            let mut third = third.clone();
            third.notes.push(light(1, third_ms));
            let found = majority(&night(), &[&first, &second, &third], &Decided::default(), None).unwrap();
            let phases: Vec<i64> = found.consensus.voters.iter().map(|v| v.phase_ms).collect();
            assert_eq!((phases, found.grid.start), (vec![0, 10_000, 0], at(0)));
            (found.consensus.lights_off.agreed, found.recording.lights().off)
        };
        assert_eq!(named(29_999), (Some(at(1)), Some(at(1))));
        assert_eq!(named(30_000), (None, None));
    }
}
