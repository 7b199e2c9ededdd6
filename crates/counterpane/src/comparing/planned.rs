//! What the study laid down beforehand, and how a comparison was asked for otherwise.

use super::Choice;
use counterpane_compare::{Departure, Laid, Seen};
use counterpane_model::{Plan, Rules};
use counterpane_store::{Study, protocol::LaidDown};

/// Returns what was laid down, with every time that it was seen.
pub(super) fn laid(study: &Study) -> Option<Laid> {
    let seen =
        |l: LaidDown| Seen { decision: l.decision, at: l.at, by: l.by, sha256: l.act.sha256, looked: l.act.looked };
    // What the log does not know, because it cannot be written, was not noted in time.
    let seen = if study.knows_protocol() { study.laid_down().into_iter().map(seen).collect() } else { Vec::new() };
    study.plan().map(|plan| Laid { plan, seen })
}

/// Returns how a comparison was asked for otherwise than the protocol says.
pub(super) fn departures(plan: Option<&Plan>, choice: &Choice) -> Vec<Departure> {
    let Some(plan) = plan else { return Vec::new() };
    let (asked, planned) = (choice.protocol(Some(plan)), Choice::default().protocol(Some(plan)));
    let scorer = choice.scorer.is_some() && choice.scorer != plan.scorer;
    let all = [
        (asked.scheme != planned.scheme, Departure::Scheme),
        (asked.window != planned.window, Departure::Window),
        (scorer, Departure::Scorer),
        (!choice.nights.is_empty(), Departure::Nights),
        (choice.with_excluded, Departure::WithExcluded),
    ];
    all.into_iter().filter(|(departs, _)| *departs).map(|(_, departure)| departure).collect()
}

/// Returns when a night is marked or left out; never where what was left out is to be counted.
pub(super) fn rules(plan: Option<&Plan>, choice: &Choice) -> Rules {
    plan.filter(|_| !choice.with_excluded).map(|p| p.rules).unwrap_or_default()
}
