//! A night with a reference has no lights off or no lights on.

use crate::Check;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "lights-unknown",
        severity: Severity::Warning,
        title: "a night with a reference has no lights off or no lights on",
        why: "Sleep latency and sleep efficiency count from lights off and to lights on, and the usual window of a comparison \
              lies between them. Without them the window is what the reference scored, which may hold time before the \
              person tried to sleep, and figures of such a night do not compare with those of others.",
        example: "warning[lights-unknown]: lights on is not known: neither study.toml nor scorer S1 nor a diary says it",
        help: "ask the lab, and write `lights_off` and `lights_on` into the night in study.toml, or repeat \
               `counterpane import` with its `--lights-off` and `--lights-on`; then `counterpane check`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let Some(reference) = night.reference() else { return };
    let lights = night.lights(reference);
    let what = match (lights.off, lights.on) {
        (Some(_), Some(_)) => return,
        (None, Some(_)) => "lights off is",
        (Some(_), None) => "lights on is",
        (None, None) => "lights off and lights on are",
    };
    let message = format!("{what} not known: neither study.toml nor {} nor a diary says it", reference.source);
    found.push(night.finding(&CHECK.kind, message));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, reference, time};
    use counterpane_model::{Lights, Night};

    fn check(off: Option<&str>, on: Option<&str>) -> String {
        let at = |t: Option<&str>| t.map(|t| time("Asia/Tokyo", t));
        let night = Night { lights: Lights { off: at(off), on: at(on) }, ..night() };
        found(&CHECK, &night, &[reference("22:00-23:00W")])
    }

    #[test]
    fn what_is_missing_is_named() {
        assert_eq!(
            check(None, None),
            "warning: lights off and lights on are not known: neither study.toml nor scorer S1 nor a diary says it\n"
        );
        assert!(check(Some("22:00"), None).starts_with("warning: lights on is not known"));
        assert!(check(None, Some("06:00")).starts_with("warning: lights off is not known"));
        assert_eq!(check(Some("22:00"), Some("06:00")), "");
    }

    #[test]
    fn a_night_without_a_reference_needs_no_lights() {
        assert_eq!(found(&CHECK, &night(), &[device("22:00-23:00W")]), "");
    }
}
