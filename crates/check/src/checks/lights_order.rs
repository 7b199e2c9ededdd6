//! The lights go on before they go off.

use crate::clock::Clock;
use crate::{Check, NightUnderCheck};
use counterpane_model::{Accepted, Finding, Instant, Kind, Recording, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "lights-order",
        severity: Severity::Error,
        title: "the lights go on before they go off",
        why: "The numbers of a night are counted from lights off to lights on. When lights on is not later than lights \
              off there is no such time: two times were exchanged, or one of them has the wrong date. What the night \
              declares goes before what its reference says, each time by itself, so one wrong time is enough.",
        example: "error[lights-order]: lights on at 2026-04-04 22:58 is not later than lights off at 2026-04-05 06:31; \
                  both are declared for the night",
        help: "correct `lights_off` and `lights_on` of the night in `study.toml`, or import the reference again with \
               the right times (`counterpane import` with `--lights-off` and `--lights-on`)",
        accepted: Accepted::Never("no epoch lies between the two, so there is nothing to count"),
    },
    check,
};

fn check(night: &NightUnderCheck<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    let declared = night.night.lights;
    if let (Some(off), Some(on)) = (declared.off, declared.on) {
        // What the references say of the lights is then not used.
        if on <= off {
            let message = message(off, on, "both are declared for the night", &clock);
            found.push(night.finding(&CHECK.kind, message));
        }
        return;
    }
    for reference in night.recordings.iter().filter(|r| r.source.is_reference()) {
        let own = reference.lights();
        let (off, on) = (declared.off.or(own.off), declared.on.or(own.on));
        if let (Some(off), Some(on)) = (off, on)
            && on <= off
        {
            let whose = whose(reference, declared.off.is_some(), declared.on.is_some());
            found.push(CHECK.kind.finding(message(off, on, &whose, &clock)).of(reference));
        }
    }
}

fn message(off: Instant, on: Instant, whose: &str, clock: &Clock) -> String {
    let (off, on) = (clock.dated(off), clock.dated(on));
    format!("lights on at {on} is not later than lights off at {off}; {whose}")
}

fn whose(reference: &Recording, night_says_off: bool, night_says_on: bool) -> String {
    let source = &reference.source;
    match (night_says_off, night_says_on) {
        (true, _) => format!("lights off is declared for the night, lights on is from {source}"),
        (_, true) => format!("lights off is from {source}, lights on is declared for the night"),
        _ => format!("both are from {source}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, reference, time};
    use counterpane_model::{Lights, Note, NoteKind};
    use expect_test::{Expect, expect};

    fn at(clock: &str) -> Option<Instant> {
        (!clock.is_empty()).then(|| time("Asia/Tokyo", clock))
    }

    fn noted(mut recording: Recording, off: &str, on: &str) -> Recording {
        let note = |kind, clock| {
            let at = at(clock)?;
            Some(Note { at, until: None, precision_ms: 0, kind, text: String::new(), locator: None })
        };
        recording.notes =
            [note(NoteKind::LightsOff, off), note(NoteKind::LightsOn, on)].into_iter().flatten().collect();
        recording
    }

    /// Lights as the night declares them and as the reference notes them, each `off on`; empty is unknown.
    fn check(declared: (&str, &str), own: (&str, &str), expected: Expect) {
        let night = counterpane_model::Night { lights: Lights { off: at(declared.0), on: at(declared.1) }, ..night() };
        let scored = noted(reference("22:00-06:00W"), own.0, own.1);
        expected.assert_eq(&found(&CHECK, &night, &[scored, noted(device("22:00-06:00W"), "06:00", "22:00")]));
    }

    #[test]
    fn declared_lights_that_are_exchanged_are_an_error_of_the_night() {
        check(
            ("06:31", "22:58"),
            ("", ""),
            expect![[r#"
                error: lights on at 2026-04-04 22:58 is not later than lights off at 2026-04-05 06:31; both are declared for the night
            "#]],
        );
    }

    #[test]
    fn lights_of_the_reference_are_an_error_of_the_reference() {
        check(
            ("", ""),
            ("06:31", "22:58"),
            expect![[r#"
                error: lights on at 2026-04-04 22:58 is not later than lights off at 2026-04-05 06:31; both are from scorer S1
            "#]],
        );
        check(
            ("23:00", ""),
            ("22:00", "22:58"),
            expect![[r#"
                error: lights on at 2026-04-04 22:58 is not later than lights off at 2026-04-04 23:00; lights off is declared for the night, lights on is from scorer S1
            "#]],
        );
        check(
            ("", "22:58"),
            ("22:58", "06:00"),
            expect![[r#"
                error: lights on at 2026-04-04 22:58 is not later than lights off at 2026-04-04 22:58; lights off is from scorer S1, lights on is declared for the night
            "#]],
        );
    }

    #[test]
    fn lights_in_order_or_half_known_are_sound() {
        check(("22:58", "06:31"), ("", ""), expect![""]);
        check(("", ""), ("22:58", "06:31"), expect![""]);
        check(("22:58", ""), ("", ""), expect![""]);
        // Both are declared, so what the reference says of them is not used.
        check(("22:58", "06:31"), ("06:31", "22:58"), expect![""]);
    }
}
