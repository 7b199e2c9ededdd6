//! A row of a typed sheet begins the stage that the row above began.

use crate::claims::Times;
use crate::clock::Clock;
use crate::sheet::times_of;
use crate::{Check, place, sample};
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Recording, Severity, Span};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "stage-unchanged",
        severity: Severity::Warning,
        title: "a row of a typed sheet begins the stage that the row above began",
        why: "A row of a sheet is a change, so two rows beside each other never say the same. Either a row between them was \
              left out, or one of them says the wrong stage, or a row was typed twice.",
        example: "warning[stage-unchanged]: `light` at 23:50 is what the row above began at 23:40, line 26:2",
        help: "look at the picture between the two times; mend the sheet and repeat `counterpane import`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        of(recording, times_of(recording, night.definition_of(recording)), &clock, found);
    }
}

/// Adds what is found in one recording.
pub(crate) fn of(recording: &Recording, times: Times, clock: &Clock, found: &mut Vec<Finding>) {
    if times == Times::Written {
        return;
    }
    let pairs = recording.spans.windows(2).filter_map(|w| Some((w.first()?, w.last()?)));
    let same: Vec<(&Span, &Span)> = pairs.filter(|(a, b)| a.end == b.start && a.mark == b.mark).collect();
    sample::keep(&same, found, |(above, row)| {
        let (label, at, before) = (place::label(row), clock.time(row.start), clock.time(above.start));
        let message = format!("`{label}` at {at} is what the row above began at {before}, {}", above.locator);
        place::at_span(&CHECK.kind, recording, row, clock, message)
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, found_typed, night};
    use expect_test::expect;

    const ROWS: &str = "22:00-22:20W 22:20-23:00Light 23:00-23:30Light 23:30-23:50R 23:55-00:10R";

    #[test]
    fn a_change_to_the_same_stage_is_told_with_both_rows() {
        expect![[r#"
            warning: `light` at 23:00 is what the row above began at 22:20, line 2:1
              at ring.csv line 3:1: 2026-04-04 23:00 - 23:30 light
        "#]]
        .assert_eq(&found_typed(&CHECK, &device(ROWS)));
    }

    #[test]
    fn programs_may_write_a_stage_in_pieces() {
        assert_eq!(found(&CHECK, &night(), &[device(ROWS)]), "");
    }
}
