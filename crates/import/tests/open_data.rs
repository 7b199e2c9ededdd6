//! Tables as open data sets publish them can be described; the rows here are invented in their form.

mod common;

use common::{back, brief, definition};
use counterpane_import::Bindings;
use expect_test::expect;

fn bound() -> Bindings {
    Bindings { start: Some("23:05".into()), ..back() }
}

const EVENTS: &str = "[text]\ndelimiter = \"\\t\"\n[[rows]]\nshape = \"length\"\nstart = { at = \"onset\", read = \"offset s\", from = { bound = \"start\" } }\nlength = { at = \"duration\", read = \"s\" }\n";

/// Columns and codes of OpenNeuro ds005185 (from memory of its description: 1 W, 2 R, 3 N1, 4 N2, 5 N3, 7 artefact).
#[test]
fn numbered_codes_with_fractional_onsets() {
    let body = format!(
        "{EVENTS}stage = {{ at = \"Scoring1\" }}\n[stages]\n1 = \"W\"\n2 = \"R\"\n3 = \"N1\"\n4 = \"N2\"\n5 = \"N3\"\n7 = \"unscored\"\n"
    );
    let input =
        "onset\tduration\tScoring1\n3.00000384449959\t30\t1\n33.0000038444996\t30\t3\n63.0000038444996\t30\t7\n";
    expect![
        "23:05:03+11:00-23:05:33+11:00 W, 23:05:33+11:00-23:06:03+11:00 N1, 23:06:03+11:00-23:06:33+11:00 unscored"
    ]
    .assert_eq(&brief(&definition("csv", &body), &bound(), input));
}

/// Columns and codes of OpenNeuro ds005555 (from memory of its description); lines end in CR LF.
#[test]
fn two_scorings_in_one_table() {
    let body = format!(
        "{EVENTS}stage = {{ at = \"stage_hum\" }}\n[stages]\n0 = \"W\"\n1 = \"N1\"\n2 = \"N2\"\n3 = \"N3\"\n4 = \"R\"\n8 = \"off\"\n\"-2\" = \"ignored\"\n"
    );
    let input =
        "onset\tduration\tstage_hum\tstage_ai\r\n0\t30\t0\t0\r\n30\t30\t-2\t0\r\n60\t30\t8\t2\r\n90\t30\t4\t4\r\n";
    expect!["23:05+11:00-23:05:30+11:00 W, 23:06+11:00-23:06:30+11:00 off, 23:06:30+11:00-23:07+11:00 R"]
        .assert_eq(&brief(&definition("csv", &body), &bound(), input));
}

/// One digit a line, as the PhysioNet UCD sleep apnea database has it (from memory of its description).
#[test]
fn one_digit_a_line() {
    let body = "[[rows]]\nshape = \"codes\"\nstart = { bound = \"start\" }\nepoch = { const = 30, read = \"s\" }\ncodes = { at = \"line\", split = \"row\" }\n[stages]\n0 = \"W\"\n1 = \"R\"\n2 = \"N1\"\n3 = \"N2\"\n4 = \"N3\"\n5 = \"N3\"\n8 = \"unscored\"\n";
    expect!["23:05+11:00-23:05:30+11:00 W, 23:05:30+11:00-23:06+11:00 W, 23:06+11:00-23:06:30+11:00 N1, 23:06:30+11:00-23:07+11:00 N2, 23:07+11:00-23:07:30+11:00 N3, 23:07:30+11:00-23:08+11:00 R"].assert_eq(&brief(&definition("text", body), &bound(), "0\n0\n2\n3\n5\n1\n"));
}
