//! Lines and words of plain text.

use crate::testing::request;
use crate::{Format, Limits, Request, TextOptions};
use expect_test::{Expect, expect};

fn check(wants: &str, input: &str, expected: Expect) {
    expected.assert_eq(&crate::testing::check(Format::Text, input.as_bytes(), &request("", "", wants)));
}

#[test]
fn a_row_is_a_line_that_is_not_blank() {
    check(
        "line",
        "W\n\n  N1 \r\n\t\nN2",
        expect![[r#"
        line 1:1: `W`
        line 3:1: `N1` (line 3:3)
        line 5:1: `N2`
    "#]],
    );
}

#[test]
fn words_stand_between_white_space() {
    check(
        "word 1, rest 2, word 3",
        "23:47  light sleep\n \u{e4} deep\n",
        expect![[r#"
        line 1:1: `23:47`, `light sleep` (line 1:8), `sleep` (line 1:14)
        line 2:1: `ä` (line 2:2), `deep` (line 2:4), nothing
    "#]],
    );
}

#[test]
fn a_comment_is_no_row() {
    let text = TextOptions { comment: Some("#".into()), ..TextOptions::default() };
    let request = Request { text, ..request("", "", "line") };
    assert_eq!(crate::testing::check(Format::Text, b"# epochs\n  # more\nW\n", &request), "line 3:1: `W`\n");
}

#[test]
fn what_a_line_has_not_is_refused() {
    check(
        "word 0",
        "W",
        expect![[r#"
        error: `word 0` cannot be asked of this format: a line of plain text has `line`, `word 1`, `word 2` … and `rest 2` …
    "#]],
    );
    check(
        "line",
        "<html>",
        expect![[r#"
        error: this is not plain text: HTML, beginning with `<html>`; perhaps a login page was saved instead of the file
    "#]],
    );
    check(
        "line",
        "W\n\0\0\nR\n",
        expect![[r#"
        line 1:1: `W`
        line 2:1: unreadable `␀␀`: zero bytes stand in this line; it was never written, or only in part
        line 3:1: `R`
    "#]],
    );
    check(
        "line",
        "",
        expect![[r#"
        error: the file is empty
    "#]],
    );
}

#[test]
fn limits_end_the_reading() {
    let limits =
        |limits| crate::testing::check(Format::Text, b"W\nN1\n", &Request { limits, ..request("", "", "line") });
    assert_eq!(
        limits(Limits { rows: 1, ..Limits::default() }),
        "line 1:1: `W`\nerror: row 2 is more than the limit of 1 (rows)\n"
    );
    assert_eq!(
        limits(Limits { row_bytes: 1, ..Limits::default() }),
        "line 1:1: `W`\nerror: line 2 of 2 bytes is more than the limit of 1 (row_bytes)\n"
    );
}
