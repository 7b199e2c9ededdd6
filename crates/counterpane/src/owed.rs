//! What is expected of each source on each night, and what is still owed.

use counterpane_model::Night;
use counterpane_store::summary::Received;
use counterpane_store::{Config, Study};
use schemars::JsonSchema;
use serde::Serialize;

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
    let received = study.received()?;
    let mut out = Vec::new();
    for night in study.nights() {
        let decided = study.decided(&night.participant, &night.label)?;
        let of_night: Vec<&Received> =
            received.iter().filter(|r| r.participant == night.participant && r.label == night.label).collect();
        let expected = expected_on(study.config(), night);
        let mut sources: Vec<&str> =
            expected.iter().copied().chain(of_night.iter().map(|r| r.source.as_str())).collect();
        sources.sort_unstable();
        sources.dedup();
        for source in sources {
            let there = of_night.iter().find(|r| r.source == source).copied();
            let excluded = decided
                .exclusions
                .iter()
                .any(|e| e.stretch.is_none() && e.source.as_deref().is_none_or(|s| s == source));
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
fn is_typed(definition: &str) -> bool {
    definition.split('-').any(|word| word == "typed")
}

/// Returns the units and scorers that are expected on a night.
fn expected_on<'a>(config: &'a Config, night: &Night) -> Vec<&'a str> {
    let units = config.units.iter().filter(|unit| {
        let mut of_unit = config.wearings.iter().filter(|w| w.unit.get_ref() == unit.name.get_ref()).peekable();
        if of_unit.peek().is_some() {
            return of_unit.any(|w| w.participant.get_ref() == &night.participant && w.night.get_ref() == &night.label);
        }
        unit.participant.as_ref().is_some_and(|p| p.get_ref() == &night.participant)
            || (unit.participant.is_none() && config.participants.len() == 1)
    });
    let scorers = config.scorers.iter().map(|s| s.code.get_ref().as_str());
    units.map(|u| u.name.get_ref().as_str()).chain(scorers).collect()
}
