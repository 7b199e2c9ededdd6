//! What is expected of each source on each night, and what is still owed.

use counterpane_model::Night;
use counterpane_store::summary::Received;
use counterpane_store::{Config, Study};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// One unit, or one scorer, on one night.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Owed {
    /// The participant's code.
    pub(crate) participant: String,
    /// Label of the night.
    pub(crate) night: String,
    /// Unit or scorer.
    pub(crate) source: String,
    /// Whether study.toml lets it be expected: a wearing of the unit on the night, or, for a unit without any
    /// wearing, each night of its participant; a scorer on each night.
    pub(crate) expected: bool,
    /// Number of exports that stand.
    pub(crate) received: usize,
    /// Of these, how many were typed off a screen or a page.
    pub(crate) typed: usize,
    /// Errors that nobody accepted.
    pub(crate) open_errors: u64,
    /// Whether it, or the night, is left out on purpose.
    pub(crate) excluded: bool,
    /// What is owed in words; null when nothing is.
    pub(crate) owed: Option<String>,
}

/// Returns a row for each source that is expected or received, by night and source.
pub(crate) fn all(study: &Study) -> anyhow::Result<Vec<Owed>> {
    let mut received: BTreeMap<(String, String), Vec<Received>> = BTreeMap::new();
    for one in study.received()? {
        received.entry((one.participant.clone(), one.label.clone())).or_default().push(one);
    }
    let wearings = Wearings::of(study.config());
    let mut out = Vec::new();
    for night in study.nights() {
        let decided = study.decided(&night.participant, &night.label)?;
        let of_night = received.remove(&(night.participant.clone(), night.label.clone())).unwrap_or_default();
        let expected = expected_on(study.config(), &wearings, night);
        let mut sources: Vec<&str> =
            expected.iter().copied().chain(of_night.iter().map(|r| r.source.as_str())).collect();
        sources.sort_unstable();
        sources.dedup();
        for source in sources {
            let there = of_night.iter().find(|r| r.source == source);
            let excluded = decided.excludes_piece(source).is_some();
            out.push(row(night, source, expected.contains(&source), there, excluded));
        }
    }
    out.sort_by(|a, b| (&a.participant, &a.night, &a.source).cmp(&(&b.participant, &b.night, &b.source)));
    Ok(out)
}

fn row(night: &Night, source: &str, expected: bool, there: Option<&Received>, excluded: bool) -> Owed {
    let received = there.map_or(0, |r| r.definitions.len());
    let typed = there.map_or(0, |r| r.definitions.iter().filter(|d| is_typed(d)).count());
    let open_errors = there.map_or(0, |r| r.open_errors);
    let owed = match (excluded, received, typed, open_errors) {
        (true, ..) => None,
        (_, 0, ..) => Some("an export".to_owned()),
        (.., n, _) if n == 1 && received == 1 => Some("a second, blind pass of typing".to_owned()),
        (.., 0) => None,
        (.., n) => Some(format!("a decision about {}", crate::wording::count(n, "open error"))),
    };
    Owed {
        participant: night.participant.clone(),
        night: night.label.clone(),
        source: source.to_owned(),
        expected,
        received,
        typed,
        open_errors,
        excluded,
        owed,
    }
}

/// Definitions that read what a person typed bear the word in their name.
pub(crate) fn is_typed(definition: &str) -> bool {
    definition.split('-').any(|word| word == "typed")
}

/// The wearings of study.toml, laid out so that a night does not look through all of them.
struct Wearings<'a> {
    units: BTreeSet<&'a str>,
    worn: BTreeSet<(&'a str, &'a str, &'a str)>,
}

impl<'a> Wearings<'a> {
    fn of(config: &'a Config) -> Wearings<'a> {
        let worn: BTreeSet<_> = config
            .wearings
            .iter()
            .map(|w| (w.unit.get_ref().as_str(), w.participant.get_ref().as_str(), w.night.get_ref().as_str()))
            .collect();
        Wearings { units: worn.iter().map(|w| w.0).collect(), worn }
    }
}

/// Returns the units and scorers that are expected on a night.
fn expected_on<'a>(config: &'a Config, wearings: &Wearings<'_>, night: &Night) -> Vec<&'a str> {
    let units = config.units.iter().filter(|unit| {
        let name = unit.name.get_ref().as_str();
        if wearings.units.contains(name) {
            return wearings.worn.contains(&(name, night.participant.as_str(), night.label.as_str()));
        }
        unit.participant.as_ref().is_some_and(|p| p.get_ref() == &night.participant)
            || (unit.participant.is_none() && config.participants.len() == 1)
    });
    let scorers = config.scorers.iter().map(|s| s.code.get_ref().as_str());
    units.map(|u| u.name.get_ref().as_str()).chain(scorers).collect()
}
