//! What a source says of itself does not fit its own rows.

use crate::claims::{Times, rows};
use crate::clock::Clock;
use crate::sheet::times_of;
use crate::slips::slips;
use crate::words::one_decimal;
use crate::{Check, place, sample};
use counterpane_model::grid::flatten;
use counterpane_model::{Accepted, Claim, Finding, Kind, NightFacts, Quantity, Recording, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "claims-differ",
        severity: Severity::Warning,
        title: "what a source says of itself does not fit its own rows",
        why: "Either rows were lost or misread on the way in, or the source counts in another way than its rows show. \
              The matrix uses the rows and the minutes tables show both. A claim may differ by one epoch and by the \
              step to which it is rounded; on a sheet that was typed off a screen by less than that step, and by what the \
              precision of the reading can move. Latency, wake after onset, awakenings and efficiency are not held against \
              the rows, because sources define them in several ways and rarely say which.",
        example: "warning[claims-differ]: ring-a-1 claims 88 min of REM sleep, and its rows give 80.5 min",
        help: "look at the rows with `counterpane show`; if rows are missing, mend the definition and repeat \
               `counterpane import`; if the source contradicts itself, the report says so as it stands",
        accepted: Accepted::NotNeeded,
    },
    check,
};

/// What to do with a sheet that a person typed.
const SHEET_HELP: &str = "compare the total and the rows with the picture, mend the sheet and repeat `counterpane import`; say in its head how \
                          finely the picture could be read (`precision`); where the screen contradicts itself, leave it";

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        of(recording, times_of(recording, night.definition_of(recording)), &clock, found);
    }
}

/// Adds what is found in one recording.
pub(crate) fn of(recording: &Recording, times: Times, clock: &Clock, found: &mut Vec<Finding>) {
    let differing = differing(recording, times);
    if differing.is_empty() {
        return;
    }
    let hint = hint(recording, times);
    sample::keep(&differing, found, |(claim, value)| {
        let message = message(recording, claim, *value, clock) + &hint;
        let finding = place::at_claim(&CHECK.kind, recording, claim, clock, message);
        if times == Times::Written { finding } else { finding.help(SHEET_HELP) }
    });
}

/// Returns where the slips stand that would explain it, for a sheet.
fn hint(recording: &Recording, times: Times) -> String {
    let slips = if matches!(times, Times::Typed(_)) { slips(recording) } else { Vec::new() };
    let places: Vec<String> = slips.iter().map(|s| s.place(recording)).collect();
    match places.as_slice() {
        [] => String::new(),
        [one] => format!("; one slip would explain it: {one}"),
        [first, rest @ ..] => format!("; one slip would explain it: likeliest {first}, else {}", rest.join(" or ")),
    }
}

/// Returns the claims that do not fit the rows, with what the rows give.
fn differing(recording: &Recording, times: Times) -> Vec<(&Claim, f64)> {
    let stretches = flatten(&recording.spans);
    let claims = recording.claims.iter();
    let with_rows = claims.filter_map(|claim| rows(&stretches, claim.quantity).map(|value| (claim, value)));
    with_rows.filter(|(claim, value)| times.differ(claim, *value, &stretches)).collect()
}

fn message(recording: &Recording, claim: &Claim, rows: f64, clock: &Clock) -> String {
    let value = |v| place::claimed(claim.quantity, v, clock);
    let (claimed, rows) = (value(claim.value), value(rows));
    let rounded = match claim.quantity.unit() {
        "min" if claim.rounding > 0.0 => format!(" (in steps of {} min)", one_decimal(claim.rounding)),
        _ => String::new(),
    };
    let source = &recording.source;
    match claim.quantity {
        Quantity::Minutes(stage) => {
            format!("{source} claims {claimed}{rounded} of {}, and its rows give {rows}", stage.words())
        }
        Quantity::TotalSleep => format!("{source} claims {claimed}{rounded} of sleep in all, and its rows give {rows}"),
        Quantity::TimeInBed => format!("{source} claims {claimed}{rounded} in bed, and its rows span {rows}"),
        Quantity::Start => format!("{source} claims to start at {claimed}, and its first row starts at {rows}"),
        Quantity::End => format!("{source} claims to end at {claimed}, and its last row ends at {rows}"),
        other => format!("{source} claims {claimed}{rounded} for {other}, and its rows give {rows}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{claim, device, found, found_typed, night, time};
    use counterpane_model::Stage;
    use expect_test::{Expect, expect};

    const ROWS: &str = "22:00-22:20W 22:20-23:00Light 23:00-23:30N3 23:30-23:50R";

    fn said(rows: &str, claims: &[Claim]) -> String {
        found(&CHECK, &night(), &[Recording { claims: claims.to_vec(), ..device(rows) }])
    }

    fn check(quantity: Quantity, value: f64, expected: Expect) {
        expected.assert_eq(&said(ROWS, &[claim(quantity, value)]));
    }

    #[test]
    fn a_total_that_the_rows_do_not_give_is_told_with_both_values() {
        check(
            Quantity::Minutes(Stage::R),
            28.0,
            expect![[r#"
                warning: ring-a-1 claims 28 min of REM sleep, and its rows give 20 min
                  at ring.csv $.totals: minutes R 28 min
            "#]],
        );
        check(
            Quantity::TotalSleep,
            80.0,
            expect![[r#"
                warning: ring-a-1 claims 80 min of sleep in all, and its rows give 90 min
                  at ring.csv $.totals: total-sleep 80 min
            "#]],
        );
    }

    #[test]
    fn one_epoch_and_the_rounding_are_allowed() {
        let light = |value, rounding| Claim { rounding, ..claim(Quantity::Minutes(Stage::Light), value) };
        assert_eq!(said(ROWS, &[light(40.5, 0.0), light(39.5, 0.0), light(41.5, 1.0)]), "");
        assert!(said(ROWS, &[light(40.6, 0.0)]).contains("claims 40.6 min of light sleep"));
        assert!(said(ROWS, &[light(50.0, 5.0)]).contains("claims 50 min (in steps of 5 min) of light sleep"));
    }

    #[test]
    fn first_and_last_time_are_held_against_the_rows() {
        let at = |clock| time("Asia/Tokyo", clock).0 as f64;
        check(Quantity::Start, at("22:00:30"), expect![""]);
        check(
            Quantity::End,
            at("23:52"),
            expect![[r#"
                warning: ring-a-1 claims to end at 2026-04-04 23:52, and its last row ends at 2026-04-04 23:50
                  at ring.csv $.totals: end 2026-04-04 23:52
            "#]],
        );
        check(Quantity::TimeInBed, 110.0, expect![""]);
    }

    #[test]
    fn rows_that_are_too_coarse_say_nothing_about_a_finer_claim() {
        assert_eq!(said("22:00-23:00NREM 23:00-23:10W", &[claim(Quantity::Minutes(Stage::N3), 12.0)]), "");
        let wake = [claim(Quantity::Minutes(Stage::W), 20.0)];
        assert!(said("22:00-23:00NREM 23:00-23:10W", &wake).contains("its rows give 10 min"));
    }

    #[test]
    fn finer_rows_add_up_to_a_coarser_claim() {
        assert_eq!(said("22:00-22:10N1 22:10-23:00N2", &[claim(Quantity::Minutes(Stage::Light), 60.0)]), "");
    }

    #[test]
    fn what_sources_define_in_several_ways_is_not_judged() {
        let quantities = [Quantity::SleepLatency, Quantity::WakeAfterOnset, Quantity::Awakenings, Quantity::Efficiency];
        assert_eq!(said(ROWS, &quantities.map(|q| claim(q, 99.0))), "");
    }

    #[test]
    fn claims_without_rows_have_nothing_to_differ_from() {
        assert_eq!(said("", &[claim(Quantity::TotalSleep, 420.0)]), "");
    }

    #[test]
    fn a_sheet_names_the_rows_that_could_be_wrong() {
        let totals = [(Stage::R, 60.0), (Stage::N3, 30.0), (Stage::W, 20.0)];
        let claims = totals.map(|(stage, value)| Claim { rounding: 1.0, ..claim(Quantity::Minutes(stage), value) });
        let sheet = Recording { claims: claims.to_vec(), ..device(ROWS) };
        expect![[r#"
            warning: ring-a-1 claims 60 min (in steps of 1 min) of REM sleep, and its rows give 20 min; one slip would explain it: likeliest line 2:1, else above line 1:1
              at ring.csv $.totals: minutes R 60 min
        "#]]
        .assert_eq(&found_typed(&CHECK, &sheet));
    }
}
