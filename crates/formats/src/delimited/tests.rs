//! Rows of delimited text, and what is said of rows that are none.

use crate::testing::request;
use crate::{Format, Limits, Request, TextOptions};
use expect_test::{Expect, expect};

fn check(delimiter: char, wants: &str, input: &str, expected: Expect) {
    expected.assert_eq(&with(TextOptions { delimiter: Some(delimiter), ..TextOptions::default() }, wants, input));
}

fn with(text: TextOptions, wants: &str, input: impl AsRef<[u8]>) -> String {
    crate::testing::check(Format::Csv, input.as_ref(), &Request { text, ..request("", "", wants) })
}

#[test]
fn a_line_below_the_header_is_a_row() {
    check(
        ',',
        "stage, #1",
        "clock,stage\n22:47,light\n22:58,\"deep, then\"\n",
        expect![[r#"
        columns: clock | stage
        line 2:1: `light` (line 2:7), `22:47`
        line 3:1: `deep, then` (line 3:7), `22:58`
    "#]],
    );
}

#[test]
fn marks_line_ends_and_blank_lines_are_no_part_of_a_row() {
    check(
        ';',
        "b",
        "\u{feff}a; b \r\n\r\n1;2\r\n   \r\n3;4",
        expect![[r#"
        columns: a | b
        line 3:1: `2` (line 3:3)
        line 5:1: `4` (line 5:3)
    "#]],
    );
    check(
        ',',
        "b",
        "a,b\r1,2\r3,4\r",
        expect![[r#"
        columns: a | b
        line 2:1: `2` (line 2:3)
        line 3:1: `4` (line 3:3)
    "#]],
    );
}

#[test]
fn columns_count_characters_and_lines_count_line_ends_in_quotes() {
    check(
        '\t',
        "b",
        "a\tb\näöü\t2\n\"x\n\"\"y\"\t3\nz\t4\n",
        expect![[r#"
        columns: a | b
        line 2:1: `2` (line 2:5)
        line 3:1: `3` (line 4:6)
        line 5:1: `4` (line 5:3)
    "#]],
    );
    check(
        ',',
        "a",
        "a,b\n\"say \"\"hi\"\"\",1\n",
        expect![[r#"
        columns: a | b
        line 2:1: `say "hi"`
    "#]],
    );
}

#[test]
fn a_row_of_another_length_is_told_and_reading_goes_on() {
    check(
        ',',
        "a",
        "a,b\n1,2\nTotal: 8 h\n3,4,5\n\"6\" ,7\n8,9\n",
        expect![[r#"
            columns: a | b
            line 2:1: `1`
            line 3:1: unreadable `Total: 8 h`: this line has 1 field and the header has 2
            line 4:1: unreadable `3,4,5`: this line has 3 fields and the header has 2
            line 5:1: unreadable `"6" ,7`: text stands behind the closing quote of the field at line 5:1
            line 6:1: `8`
        "#]],
    );
    check(
        ',',
        "a",
        "a,b\n1,2\n\0\0\0\n3,4\n",
        expect![[r#"
        columns: a | b
        line 2:1: `1`
        line 3:1: unreadable `␀␀␀`: zero bytes stand in this line; it was never written, or only in part
        line 4:1: `3`
    "#]],
    );
}

#[test]
fn the_header_may_stand_below_a_preamble() {
    let text = TextOptions { delimiter: Some(';'), header_with: Some("clock;".into()), ..TextOptions::default() };
    let input = "watch-a night sheet (invented)\nexported;05.04.2026\n\nclock;lasts;phase\n22:31:00;00:27:30;Light\n";
    expect![[r#"
        columns: clock | lasts | phase
        line 5:1: `22:31:00`, `Light` (line 5:19)
    "#]]
    .assert_eq(&with(text, "clock, phase", input));
    let text = TextOptions { header_with: Some("begin".into()), ..TextOptions::default() };
    assert_eq!(
        with(text, "", "a,b\n1,2\n"),
        "error: `begin` cannot be asked of this format: no line of the file holds it, so there is no header; the first line is `a,b`\n"
    );
}

#[test]
fn comments_are_left_out_even_with_a_quote_in_them() {
    let text = TextOptions { comment: Some("//".into()), ..TextOptions::default() };
    expect![[r#"
        columns: a | b
        line 4:1: `1`
        line 6:1: `/3`
    "#]]
    .assert_eq(&with(text, "a", "// made by hand\na,b\n//,\"open\n1,2\n// end\n/3,4\n//"));
}

#[test]
fn names_of_columns_must_differ() {
    check(
        ',',
        "",
        "a,b, a,b,c\n",
        expect![[r#"
        error: columns of the header have the same name: `a`, `b` (line 1:1)
    "#]],
    );
    check(
        ';',
        "a",
        "a;b;;\n1;2;;\n",
        expect![[r#"
        columns: a | b |  | 
        line 2:1: `1`
    "#]],
    );
}

#[test]
fn a_wanted_column_that_is_not_there_is_answered_with_those_that_are() {
    check(
        ',',
        "stage",
        "clock,Stage\n1,2\n",
        expect![[r#"
        error: `stage` cannot be asked of this format: no column has this name; the columns are `clock`, `Stage`
    "#]],
    );
    check(
        ',',
        "#3",
        "a,b\n1,2\n",
        expect![[r#"
        error: `#3` cannot be asked of this format: no column has this name; the columns are `a`, `b`
    "#]],
    );
    check(
        ',',
        "1 a",
        "a,b\n1,2\n",
        expect![[r#"
        error: `a` cannot be asked of this format: a row of a table has no level above it; leave out `up`
    "#]],
    );
}

#[test]
fn a_quote_that_is_never_closed_has_its_place() {
    check(
        ',',
        "a",
        "a,b\n1,2\n3,\"4\n5,6\n",
        expect![[r#"
        columns: a | b
        line 2:1: `1`
        error: a quote is opened here and never closed (line 3:3)
    "#]],
    );
}

#[test]
fn a_file_without_rows_is_not_an_empty_file() {
    check(
        ',',
        "a",
        "a,b\n",
        expect![[r#"
        columns: a | b
    "#]],
    );
    check(
        ',',
        "",
        "",
        expect![[r#"
        error: the file is empty
    "#]],
    );
    check(
        ',',
        "",
        "\u{feff}\n\n",
        expect![[r#"
        error: the file is empty
    "#]],
    );
}

#[test]
fn encodings_are_obeyed_and_bad_bytes_are_an_error_after_the_rows_before_them() {
    let latin =
        |bytes: &[u8]| with(TextOptions { encoding: Some("iso-8859-1".into()), ..TextOptions::default() }, "a", bytes);
    assert_eq!(latin(b"a,b\n\xe4,2\n"), "columns: a | b\nline 2:1: `ä`\n");
    assert_eq!(
        with(TextOptions::default(), "a", b"a,b\n1,2\n\xe4,2\n"),
        "columns: a | b\nline 2:1: `1`\nerror: the text is not UTF-8: the bytes E4 stand for no character; say which encoding it is (line 3:1)\n"
    );
    let wide: Vec<u8> = "\u{feff}a\tb\r\nä\t2\r\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let tabs = TextOptions { delimiter: Some('\t'), ..TextOptions::default() };
    assert_eq!(with(tabs, "b", wide), "columns: a | b\nline 2:1: `2` (line 2:3)\n");
}

#[test]
fn what_is_no_table_is_named() {
    assert_eq!(with(TextOptions::default(), "", "%PDF-1.7 x"), "error: this is not delimited text: a PDF\n");
    assert_eq!(
        with(TextOptions { delimiter: Some('"'), ..TextOptions::default() }, "", "a"),
        "error: `'\"'` cannot be asked of this format: this character cannot stand between fields\n"
    );
}

/// A line of zeros that never ends.
struct Zeros(&'static [u8]);

impl std::io::Read for Zeros {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let n = self.0.len().min(room.len());
        room[..n].copy_from_slice(&self.0[..n]);
        self.0 = &self.0[n..];
        room[n..].fill(0);
        Ok(room.len())
    }
}

#[test]
fn a_line_without_end_meets_the_limit() {
    let limits = Limits { row_bytes: 1 << 20, ..Limits::default() };
    let request = Request { limits, ..request("", "", "a") };
    let read = |head| crate::read(Format::Csv, &mut Zeros(head), &request, &mut |_| crate::Flow::Continue);
    let error = read(b"a,b\n1,2\n3,").unwrap_err().to_string();
    assert!(error.ends_with("that begins at line 3:1 is more than the limit of 1048576 (row_bytes)"), "{error}");
    let error = read(b"").unwrap_err().to_string();
    assert_eq!(error, "this is not delimited text: zero bytes only; the file was never written, or only in part");
}

#[test]
fn limits_end_the_reading() {
    let limits = |limits| {
        crate::testing::check(Format::Csv, b"a,b\n1,2\n3,4444444\n", &Request { limits, ..request("", "", "a") })
    };
    assert!(
        limits(Limits { rows: 1, ..Limits::default() }).ends_with("error: row 2 is more than the limit of 1 (rows)\n")
    );
    assert!(
        limits(Limits { columns: 1, ..Limits::default() })
            .ends_with("error: a header of 2 columns is more than the limit of 1 (columns)\n")
    );
    assert!(
        limits(Limits { row_bytes: 5, ..Limits::default() })
            .ends_with("error: line 3 of 9 bytes is more than the limit of 5 (row_bytes)\n")
    );
}
