//! A recording shows its times in another zone than the night.

use crate::Check;
use crate::clock::{Clock, offset_words};
use counterpane_model::{Accepted, Finding, Instant, Kind, Night, NightFacts, Recording, Severity, Zone};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "zone-other",
        severity: Severity::Warning,
        title: "a recording shows its times in another zone than the night",
        why: "Somebody who travels wears devices that have not noticed yet, and then the difference is true. But it \
              may also be the account's home zone, used for times that were local: then every epoch is off by the \
              difference. Zones whose clocks read the same throughout the night are no finding.",
        example: "warning[zone-other]: ring-b-1 uses Europe/Berlin and the night is in Australia/Lord_Howe: at 22:31 \
                  one is at +02:00 and the other at +11:00",
        help: "look at where the recording begins and ends beside the others (`counterpane show`); if it is off by \
               the difference, import it again with the zone that its clock followed (`counterpane import` and its \
               `--zone`)",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    let Ok(of_night) = Zone::named(&night.night.zone) else { return };
    for recording in night.recordings.iter().filter(|r| r.zone != night.night.zone) {
        let Ok(own) = Zone::named(&recording.zone) else { continue };
        let Some(at) = first_difference(&own, &of_night, night.night, recording) else { continue };
        let message = format!(
            "{} uses {} and the night is in {}: at {} one is at {} and the other at {}",
            recording.source,
            own.name(),
            of_night.name(),
            clock.time(at),
            offset_words(own.offset_at(at)),
            offset_words(of_night.offset_at(at))
        );
        found.push(CHECK.kind.finding(message).of(recording));
    }
}

/// Returns the first instant of the recording at which the two zones have different offsets; of the
/// night's window, where the recording has no spans.
fn first_difference(own: &Zone, of_night: &Zone, night: &Night, recording: &Recording) -> Option<Instant> {
    let (from, until) = recording.bounds().unwrap_or(night.window);
    let starts = |zone: &Zone| zone.stretches(from, until).into_iter().map(|s| s.from);
    starts(own).chain(starts(of_night)).filter(|at| own.offset_at(*at) != of_night.offset_at(*at)).min()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, night_in};

    fn check(zone: &str, spans: &str, night: &Night) -> String {
        found(&CHECK, night, &[Recording { zone: zone.into(), ..device(spans) }])
    }

    #[test]
    fn another_zone_with_another_clock_is_told() {
        assert_eq!(
            check("Europe/Berlin", "22:00-23:00W", &night()),
            "warning: ring-a-1 uses Europe/Berlin and the night is in Asia/Tokyo: at 22:00 one is at +02:00 and the \
             other at +09:00\n"
        );
        assert!(check("Europe/Berlin", "", &night()).contains("at 18:00 one is at +02:00"));
    }

    #[test]
    fn another_name_for_the_same_clock_is_not() {
        assert_eq!(check("Asia/Seoul", "22:00-23:00W", &night()), "");
        assert_eq!(check("Asia/Tokyo", "22:00-23:00W", &night()), "");
    }

    #[test]
    fn a_zone_that_parts_company_during_the_night_is_told_from_there() {
        // Nouméa keeps +11:00; Lord Howe leaves it at 15:00Z, which is midnight in Tokyo.
        let night = night_in("Australia/Lord_Howe");
        assert_eq!(check("Pacific/Noumea", "22:00-23:59W", &night), "");
        assert!(check("Pacific/Noumea", "22:00-03:00W", &night).contains("at 01:30+10:30 one is at +11:00"));
    }
}
