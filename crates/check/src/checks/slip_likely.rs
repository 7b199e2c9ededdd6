//! One slip of the hand would explain that a typed sheet does not fit.

use crate::claims::Times;
use crate::clock::Clock;
use crate::sheet::times_of;
use crate::slips::slips;
use crate::{Check, place};
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Place, Recording, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "slip-likely",
        severity: Severity::Warning,
        title: "one slip of the hand would explain why a typed sheet does not fit",
        why: "A sheet is typed by hand, and a row with another stage, another hour, swapped digits, a time ten minutes \
              off, a row left out or a row too many all show in the totals of the screen, and in a row that says what the row \
              above says. Every single one is tried, and told are those after which all totals fit within rounding and \
              precision: the likeliest first, by what would then still differ, every kind of slip taken as equally frequent. \
              It is a place to look at, and no proof.",
        example: "warning[slip-likely]: ring-a-1 would fit with one change: `light` at line 27:2 standing at \
                  22:30 and not at 23:30 (an hour off)",
        help: "look at these places of the picture; mend the sheet where it is wrong and repeat `counterpane import`; where \
               it says what the picture says, leave it",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let clock = Clock::of(night.night);
    for recording in night.recordings {
        let imported: Vec<&Finding> =
            night.imported.iter().filter(|f| f.recording.as_ref() == Some(&recording.key)).collect();
        of(recording, times_of(recording, night.definition_of(recording)), &imported, &clock, found);
    }
}

/// Adds what is found in one recording, in which import found this.
pub(crate) fn of(recording: &Recording, times: Times, imported: &[&Finding], clock: &Clock, found: &mut Vec<Finding>) {
    if times == Times::Written {
        return;
    }
    if let Some(finding) = too_late(recording, imported) {
        return found.push(finding);
    }
    let slips = slips(recording);
    let Some(span) = slips.first().and_then(|s| recording.spans.get(s.row).or(recording.spans.last())) else { return };
    let words: Vec<String> = slips.iter().map(|s| s.words(recording, clock)).collect();
    let message = match words.as_slice() {
        [one] => format!("{} would fit with one change: {one}", recording.source),
        _ => {
            let told: Vec<String> = (1..).zip(&words).map(|(n, words)| format!("({n}) {words}")).collect();
            format!(
                "{} would fit with one of these changes, the likeliest first: {}",
                recording.source,
                told.join("; ")
            )
        }
    };
    found.push(place::at_span(&CHECK.kind, recording, span, clock, message));
}

/// Returns the row that is later than several rows below it: one time that is too late is likelier than several
/// that are too early. Import tells each of those, and that the row has no end.
fn too_late(recording: &Recording, imported: &[&Finding]) -> Option<Finding> {
    let of = |code: &'static str| imported.iter().filter(move |f| f.code == code).filter_map(|f| f.place.as_ref());
    let below: Vec<&Place> = of("order-backwards").collect();
    let first = below.iter().min_by_key(|p| &p.locator)?;
    let row = of("end-missing").filter(|p| p.locator < first.locator).max_by_key(|p| &p.locator)?;
    if below.len() < 2 {
        return None;
    }
    let message = format!(
        "{} would fit with one change: another time in the row at {}, because {} rows below it are before it",
        recording.source,
        row.locator,
        below.len()
    );
    Some(CHECK.kind.finding(message).of(recording).at(row.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{claim, device, found_typed};
    use counterpane_model::{Claim, Locator, Quantity, Stage};
    use expect_test::{Expect, expect};

    /// A night of wake 20, light 142, deep 43, REM 25 minutes, with a slip, read as finely as this.
    fn check(rows: &str, precision_min: i64, expected: Expect) {
        let totals = [(Stage::W, 20.0), (Stage::Light, 142.0), (Stage::N3, 43.0), (Stage::R, 25.0)];
        let claims = totals.map(|(stage, value)| Claim { rounding: 1.0, ..claim(Quantity::Minutes(stage), value) });
        let sheet = Recording { claims: claims.to_vec(), precision_ms: precision_min * 60_000, ..device(rows) };
        expected.assert_eq(&found_typed(&CHECK, &sheet));
    }

    const SOUND: &str = "22:00-22:20W 22:20-23:12Light 23:12-23:55N3 23:55-00:20R 00:20-01:50Light";

    #[test]
    fn a_sheet_that_fits_says_nothing() {
        check(SOUND, 0, expect![[""]]);
    }

    #[test]
    fn another_stage_is_named_at_its_row() {
        check(
            &SOUND.replace("23:55N3", "23:55R"),
            0,
            expect![[r#"
            warning: ring-a-1 would fit with one change: `r` at line 3:1 being deep
              at ring.csv line 3:1: 2026-04-04 23:12 - 23:55 r
        "#]],
        );
    }

    #[test]
    fn another_time_is_named_at_its_row() {
        check(
            &SOUND.replace("00:20", "01:20"),
            0,
            expect![[r#"
            warning: ring-a-1 would fit with one change: `light` at line 5:1 standing at 00:20 and not at 01:20 (an hour off)
              at ring.csv line 5:1: 2026-04-05 01:20 - 01:50 light
        "#]],
        );
        check(
            &SOUND.replace("23:12", "23:21"),
            0,
            expect![[r#"
            warning: ring-a-1 would fit with one of these changes, the likeliest first: (1) `n3` at line 3:1 standing at 23:12 and not at 23:21 (two digits swapped); (2) a row that is missing below line 5:1, such as 01:41 `deep`
              at ring.csv line 3:1: 2026-04-04 23:21 - 23:55 n3
        "#]],
        );
        check(
            &SOUND.replace("22:20", "22:10"),
            0,
            expect![[r#"
            warning: ring-a-1 would fit with one of these changes, the likeliest first: (1) `light` at line 2:1 standing at 22:20 and not at 22:10 (ten minutes off); (2) a row that is missing between line 2:1 and line 3:1, such as 23:02 `wake`; (3) a row that is missing below line 5:1, such as 01:40 `wake`
              at ring.csv line 2:1: 2026-04-04 22:10 - 23:12 light
        "#]],
        );
        check(
            &SOUND.replace("01:50", "02:50"),
            0,
            expect![[r#"
            warning: ring-a-1 would fit with one change: `end` below line 5:1 standing at 01:50 and not at 02:50 (an hour off)
              at ring.csv line 5:1: 2026-04-05 00:20 - 02:50 light
        "#]],
        );
    }

    #[test]
    fn a_row_that_is_missing_or_too_many_is_named() {
        check(
            "22:00-22:20W 22:20-23:55Light 23:55-00:20R 00:20-01:50Light",
            0,
            expect![[r#"
            warning: ring-a-1 would fit with one of these changes, the likeliest first: (1) a row that is missing between line 2:1 and line 3:1, such as 23:12 `deep`; (2) a row that is missing below line 4:1, such as 01:07 `deep`
              at ring.csv line 3:1: 2026-04-04 23:55 - 00:20 r
        "#]],
        );
        check(
            &SOUND.replace("23:12-23:55N3", "23:12-23:13N3 23:13-23:55N3"),
            1,
            expect![[r#"
            warning: ring-a-1 would fit with one of these changes, the likeliest first: (1) `n3` at line 4:1 not being there; (2) `n3` at line 3:1 being rem
              at ring.csv line 4:1: 2026-04-04 23:13 - 23:55 n3
        "#]],
        );
    }

    #[test]
    fn a_coarse_reading_names_what_its_precision_does_not_explain() {
        check(
            &SOUND.replace("23:55N3", "23:55R").replace("22:20", "22:22"),
            2,
            expect![[r#"
            warning: ring-a-1 would fit with one of these changes, the likeliest first: (1) `r` at line 3:1 being deep; (2) a row that is missing between line 3:1 and line 4:1, such as 23:13 `deep`
              at ring.csv line 3:1: 2026-04-04 23:12 - 23:55 r
        "#]],
        );
        check(&SOUND.replace("22:20", "22:22").replace("23:12", "23:11"), 2, expect![[""]]);
    }

    #[test]
    fn a_time_that_is_later_than_several_rows_below_it_is_named_instead_of_them() {
        let sheet = device("22:00-22:20W 22:20-23:12Light");
        let at = |code: &'static str, line| {
            let place =
                Place { file: "ring.csv".into(), locator: Locator::Text { line, column: 1 }, line: String::new() };
            Finding { code: code.into(), ..CHECK.kind.finding("") }.at(place)
        };
        let said = |imported: &[Finding]| {
            let mut found = Vec::new();
            of(&sheet, Times::Typed(0), &imported.iter().collect::<Vec<_>>(), &Clock::named("Asia/Tokyo"), &mut found);
            found.into_iter().map(|f| f.message).collect::<Vec<_>>()
        };
        let several = [at("end-missing", 3), at("order-backwards", 4), at("order-backwards", 5)];
        let told = "ring-a-1 would fit with one change: another time in the row at line 3:1, because 2 rows below it are before it";
        assert_eq!(said(&several), [told]);
        assert!(said(&several[..2]).is_empty(), "of two rows either may be wrong");
    }

    #[test]
    fn what_a_program_wrote_is_not_a_slip_of_the_hand() {
        let recording = Recording { claims: vec![claim(Quantity::Minutes(Stage::R), 300.0)], ..device(SOUND) };
        assert_eq!(crate::fixture::found(&CHECK, &crate::fixture::night(), &[recording]), "");
    }
}
