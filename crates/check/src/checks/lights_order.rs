//! The lights go on before they go off.

use crate::Check;
use crate::clock::Clock;
use counterpane_model::{Accepted, Finding, Instant, Kind, NightFacts, Recording, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "lights-order",
        severity: Severity::Error,
        title: "the lights go on before they go off",
        why: "The numbers of a night are counted from lights off to lights on. When lights on is not later than lights \
              off there is no such time: two times were exchanged, or one of them has the wrong date. What the night \
              declares goes before what its reference says, and that before a diary, each time by itself, so one wrong \
              time is enough.",
        example: "error[lights-order]: lights on at 2026-04-04 22:58 is not later than lights off at 2026-04-05 06:31; \
                  both are declared for the night",
        help: "correct `lights_off` and `lights_on` of the night in `study.toml`, or import the reference again with \
               the right times (`counterpane import` with `--lights-off` and `--lights-on`), or the diary",
        accepted: Accepted::Never("no epoch lies between the two, so there is nothing to count"),
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
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
    let references = night.recordings.iter().filter(|r| r.source.is_reference() && !r.is_notes_only());
    let mut references: Vec<Option<&Recording>> = references.map(Some).collect();
    if references.is_empty() {
        references.push(None);
    }
    for reference in references {
        let Some(finding) = given(night, reference, &clock) else { continue };
        // Two references may take both times from one diary; it is told once.
        if !found.contains(&finding) {
            found.push(finding);
        }
    }
}

/// Returns the finding of the two times that a comparison with this reference takes, where they are not in order.
fn given(night: &NightFacts<'_>, reference: Option<&Recording>, clock: &Clock) -> Option<Finding> {
    let diaries = night.recordings.iter().filter(|r| r.is_notes_only());
    let speakers: Vec<&Recording> = reference.into_iter().chain(diaries).collect();
    let of = |declared: Option<Instant>, own: fn(&Recording) -> Option<Instant>| {
        let by = || speakers.iter().find_map(|r| Some((own(r)?, Some(*r))));
        declared.map(|at| (at, None)).or_else(by)
    };
    let declared = night.night.lights;
    let (off, by_off) = of(declared.off, |r| r.lights().off)?;
    let (on, by_on) = of(declared.on, |r| r.lights().on)?;
    let whose = whose(by_off, by_on);
    let whom = by_on.or(by_off)?;
    (on <= off).then(|| CHECK.kind.finding(message(off, on, &whose, clock)).of(whom))
}

fn message(off: Instant, on: Instant, whose: &str, clock: &Clock) -> String {
    let (off, on) = (clock.dated(off), clock.dated(on));
    format!("lights on at {on} is not later than lights off at {off}; {whose}")
}

fn whose(off: Option<&Recording>, on: Option<&Recording>) -> String {
    let words = |by: Option<&Recording>| match by {
        Some(recording) => format!("from {}", recording.source),
        None => "declared for the night".into(),
    };
    let (off, on) = (words(off), words(on));
    if off == on { format!("both are {off}") } else { format!("lights off is {off}, lights on is {on}") }
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
    fn lights_of_a_diary_are_an_error_of_the_diary_and_told_once() {
        let diary = |off, on| {
            let mut diary = noted(reference(""), off, on);
            diary.key = "P01/2026-04-04/diary".into();
            diary.source = counterpane_model::Source::Reference {
                scorer: "diary".into(),
                scored_by: counterpane_model::ScoredBy::Human,
            };
            diary
        };
        let (first, second) = (reference("22:00-06:00W"), reference("22:00-06:00W"));
        let line = |whose| {
            format!("error: lights on at 2026-04-04 22:58 is not later than lights off at 2026-04-05 06:31; {whose}\n")
        };
        let both = [first.clone(), second, diary("06:31", "22:58")];
        assert_eq!(found(&CHECK, &night(), &both), line("both are from scorer diary"));
        assert_eq!(found(&CHECK, &night(), &both[2..]), line("both are from scorer diary"));
        let half = [noted(first, "06:31", ""), diary("22:00", "22:58")];
        let words = "lights off is from scorer S1, lights on is from scorer diary";
        assert_eq!(found(&CHECK, &night(), &half), line(words));
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
