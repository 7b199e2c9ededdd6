//! An exclusion leaves nothing out.

use crate::Check;
use crate::clock::Clock;
use counterpane_model::{Accepted, Exclusion, Finding, Kind, NightFacts, Recording, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "exclusion-idle",
        severity: Severity::Warning,
        title: "an exclusion leaves nothing out",
        why: "The reviewer decided to leave something out, and nothing of it is there: the source has no recording of the \
              night, or says nothing in that stretch. What was meant may still be counted, under another name or at \
              another time.",
        example: "warning[exclusion-idle]: decision 9 leaves out ring-a-1 from 03:10 to 03:40, and ring-a-1 says nothing \
                  there",
        help: "see what is there with `counterpane show`; if something else was meant, `counterpane withdraw` the decision \
               and decide anew with `counterpane exclude`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for exclusion in &night.decided.exclusions {
        let concerned: Vec<&Recording> = night.recordings.iter().filter(|r| exclusion.concerns(&r.source)).collect();
        if !concerned.iter().any(|r| touches(exclusion, r)) {
            found.push(night.finding(&CHECK.kind, message(exclusion, concerned.is_empty(), &clock)));
        }
    }
}

/// Says whether a recording says anything that the exclusion leaves out; claims and notes have no time to be left out.
fn touches(exclusion: &Exclusion, recording: &Recording) -> bool {
    let Some((from, until)) = exclusion.stretch else { return true };
    recording.spans.iter().any(|s| s.start < until && s.end > from)
}

fn message(exclusion: &Exclusion, none: bool, clock: &Clock) -> String {
    let who = exclusion.source.as_deref().unwrap_or("everything");
    let when = exclusion.stretch.map(|(from, until)| format!(" from {} to {}", clock.time(from), clock.time(until)));
    let why = match (none, &exclusion.source) {
        (true, Some(source)) => format!("{source} has no recording of this night"),
        (true, None) => "there is no recording of this night".into(),
        (false, Some(source)) => format!("{source} says nothing there"),
        (false, None) => "no recording says anything there".into(),
    };
    format!("decision {} leaves out {who}{}, and {why}", exclusion.decision, when.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found_of, night, time};
    use counterpane_model::{Decided, Looked};

    fn check(source: Option<&str>, stretch: Option<(&str, &str)>) -> String {
        let exclusion = Exclusion {
            decision: 9,
            source: source.map(Into::into),
            stretch: stretch.map(|(from, until)| (time("Asia/Tokyo", from), time("Asia/Tokyo", until))),
            looked: Looked::Before,
            reason: "fell off".into(),
            by: "me".into(),
            at: "2026-04-06T00:00:00Z".into(),
        };
        let decided = Decided { exclusions: vec![exclusion], ..Decided::default() };
        let (night, recordings) = (night(), [device("22:00-06:00Light")]);
        found_of(&CHECK, &NightFacts { decided: &decided, ..NightFacts::of(&night, &recordings) })
    }

    #[test]
    fn an_exclusion_that_leaves_something_out_is_silent() {
        assert_eq!(check(Some("ring-a-1"), None), "");
        assert_eq!(check(None, None), "");
        assert_eq!(check(Some("ring-a-1"), Some(("05:59", "06:30"))), "");
    }

    #[test]
    fn an_exclusion_of_nothing_says_why() {
        assert_eq!(
            check(Some("mat-1"), None),
            "warning: decision 9 leaves out mat-1, and mat-1 has no recording of this night\n"
        );
        assert_eq!(
            check(Some("ring-a-1"), Some(("06:00", "06:30"))),
            "warning: decision 9 leaves out ring-a-1 from 06:00 to 06:30, and ring-a-1 says nothing there\n"
        );
        assert!(check(None, Some(("07:00", "08:00"))).ends_with("and no recording says anything there\n"));
    }
}
