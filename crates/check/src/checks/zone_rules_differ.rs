//! Two copies of the time zone rules disagree on the clock of a night.

use crate::Check;
use crate::clock::{Clock, offset_words};
use counterpane_model::zone::{rules_version, second_rules_version};
use counterpane_model::{Accepted, Finding, Instant, Kind, Night, NightFacts, Severity, Zone};

/// How finely a night is searched: offsets change on quarters of an hour.
const STEP_MS: i64 = 15 * 60_000;
/// How many instants are looked at in a window of any length.
const MOST: i64 = 2_000;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "zone-rules-differ",
        severity: Severity::Warning,
        title: "two copies of the time zone rules disagree on the clock of a night",
        why: "Governments change the rules of local time, and phones and devices carry older copies. Where an older \
              copy gives another offset for the night, a device that knows only the old rule writes times that are \
              off by the difference, although each of its rows looks right.",
        example: "warning[zone-rules-differ]: the time zone rules disagree on America/Vancouver in this night: at \
                  2026-11-20 18:00 rules 2026f say -07:00 and rules 2025b say -08:00",
        help: "compare a time that you saw on each device with its export (`counterpane show`); if a device followed \
               the old rule, import it again with the zone or offset that it used (`counterpane import`)",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let Ok(zone) = Zone::named(&night.night.zone) else { return };
    let Some((at, second)) = disagreement(&zone, night.night) else { return };
    let message = format!(
        "the time zone rules disagree on {} in this night: at {} rules {} say {} and rules {} say {}",
        zone.name(),
        Clock::of(night.night).dated(at),
        rules_version(),
        offset_words(zone.offset_at(at)),
        second_rules_version(),
        offset_words(second)
    );
    found.push(night.finding(&CHECK.kind, message));
}

/// Returns the first instant of the night at which the two differ, and the offset of the second
/// opinion there. A zone that only one of them knows is no disagreement about its offset.
fn disagreement(zone: &Zone, night: &Night) -> Option<(Instant, i32)> {
    let (from, until) = night.window;
    let step = STEP_MS.max(until.ms_since(from) / MOST);
    (0..=MOST)
        .map(|i| Instant(from.0 + i * step))
        .take_while(|at| *at < until)
        .filter_map(|at| zone.second_offset_at(at).map(|second| (at, second)))
        .find(|(at, second)| zone.offset_at(*at) != *second)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{found, night, night_in};
    use counterpane_model::Fold;

    fn evening(zone: &str, date: &str) -> Night {
        let noon = format!("{date} 18:00").parse().unwrap();
        let from = Zone::named(zone).unwrap().instant_of(noon, Fold::Error).unwrap();
        Night { zone: zone.into(), window: (from, Instant(from.0 + 18 * 3_600_000)), ..night() }
    }

    #[test]
    fn a_night_on_which_the_copies_differ_says_what_each_says() {
        let said = found(&CHECK, &evening("America/Vancouver", "2026-11-20"), &[]);
        let (new, old) = (rules_version(), second_rules_version());
        assert_eq!(
            said,
            format!(
                "warning: the time zone rules disagree on America/Vancouver in this night: at 2026-11-20 18:00 rules \
                 {new} say -07:00 and rules {old} say -08:00\n"
            )
        );
    }

    #[test]
    fn a_night_on_which_they_agree_is_quiet_even_when_the_clock_changes() {
        assert_eq!(found(&CHECK, &night_in("Australia/Lord_Howe"), &[]), "");
        assert_eq!(found(&CHECK, &evening("America/Vancouver", "2026-06-20"), &[]), "");
    }

    #[test]
    fn a_difference_that_begins_within_the_night_is_found() {
        // Both copies agree until clocks go back on 2026-11-01 by the old rule only.
        let said = found(&CHECK, &evening("America/Vancouver", "2026-10-31"), &[]);
        assert!(said.contains("at 2026-11-01 02:00 rules"), "{said}");
    }
}
