//! Rows of JSON and JSON Lines, and what is said of documents that break off.

use crate::testing::request;
use crate::{Format, Limits, Request};
use expect_test::{Expect, expect};

fn check(each: &str, nest: &str, wants: &str, input: &str, expected: Expect) {
    expected.assert_eq(&crate::testing::check(Format::Json, input.as_bytes(), &request(each, nest, wants)));
}

fn check_lines(each: &str, nest: &str, wants: &str, input: &str, expected: Expect) {
    expected.assert_eq(&crate::testing::check(Format::Jsonl, input.as_bytes(), &request(each, nest, wants)));
}

const NIGHTS: &str = r#"{"device": "ring-a", "nights": [
  {"id": 1, "tz": "UTC", "blocks": [{"at": "22:31", "st": "light"}, {"at": "22:58", "st": "deep"}]},
  {"id": 2, "tz": "UTC", "blocks": []},
  {"id": 3, "blocks": [{"at": "23:00", "st": "dre\u0061m", "odd name": [1, 2.50, null]}]}
], "after": {"x": [1]}}"#;

#[test]
fn the_items_of_a_list_are_rows() {
    check(
        "$.nights[*]",
        "",
        "id, tz, blocks",
        NIGHTS,
        expect![[r#"
        $.nights[0]: 1 ($.nights[0].id), `UTC` ($.nights[0].tz), a list of 2 ($.nights[0].blocks)
        $.nights[1]: 2 ($.nights[1].id), `UTC` ($.nights[1].tz), a list of 0 ($.nights[1].blocks)
        $.nights[2]: 3 ($.nights[2].id), nothing, a list of 1 ($.nights[2].blocks)
    "#]],
    );
}

#[test]
fn child_rows_reach_their_parents_and_the_document() {
    check(
        "$.nights[*]",
        "blocks[*]",
        "at, st, 1 id, $.device, [\"odd name\"][1]",
        NIGHTS,
        expect![[r#"
        $.nights[0].blocks[0]: `22:31` ($.nights[0].blocks[0].at), `light` ($.nights[0].blocks[0].st), 1 ($.nights[0].id), `ring-a` ($.device), nothing
        $.nights[0].blocks[1]: `22:58` ($.nights[0].blocks[1].at), `deep` ($.nights[0].blocks[1].st), 1 ($.nights[0].id), `ring-a` ($.device), nothing
        $.nights[2].blocks[0]: `23:00` ($.nights[2].blocks[0].at), `dream` ($.nights[2].blocks[0].st), 3 ($.nights[2].id), `ring-a` ($.device), 2.50 ($.nights[2].blocks[0]['odd name'][1])
    "#]],
    );
}

#[test]
fn the_whole_document_may_be_the_element() {
    check(
        "$",
        "nights[*].blocks[*]",
        "at, 1 id, 2 device, $.after.x[0]",
        NIGHTS,
        expect![[r#"
        $.nights[0].blocks[0]: `22:31` ($.nights[0].blocks[0].at), 1 ($.nights[0].id), `ring-a` ($.device), 1 ($.after.x[0])
        $.nights[0].blocks[1]: `22:58` ($.nights[0].blocks[1].at), 1 ($.nights[0].id), `ring-a` ($.device), 1 ($.after.x[0])
        $.nights[2].blocks[0]: `23:00` ($.nights[2].blocks[0].at), 3 ($.nights[2].id), `ring-a` ($.device), 1 ($.after.x[0])
    "#]],
    );
}

#[test]
fn a_row_shows_its_own_text_on_one_line() {
    check(
        "$.nights[*]",
        "blocks[*]",
        "",
        NIGHTS,
        expect![[r#"
            $.nights[0].blocks[0]: {"at":"22:31","st":"light"}
            $.nights[0].blocks[1]: {"at":"22:58","st":"deep"}
            $.nights[2].blocks[0]: {"at":"23:00","st":"dream","odd name":[1,2.50,null]}
        "#]],
    );
}

#[test]
fn the_members_of_an_object_are_rows_with_a_key() {
    check(
        "$.by_day.*",
        "",
        "@key, n",
        r#"{"by_day": {"2026-04-04": {"n": 1}, "x": {"n": 2}}}"#,
        expect![[r#"
        $.by_day['2026-04-04']: `2026-04-04`, 1 ($.by_day['2026-04-04'].n)
        $.by_day.x: `x`, 2 ($.by_day.x.n)
    "#]],
    );
}

#[test]
fn a_list_under_a_key_knows_the_key() {
    let input = r#"[{"id": 7, "parts": {"deep": [{"n": 1}, {"n": 2}], "light": [{"n": 3}]}}]"#;
    check(
        "$[*]",
        "parts.*[*]",
        "@key, n, 2 id",
        input,
        expect![[r#"
        $[0].parts.deep[0]: `deep` ($[0].parts.deep), 1 ($[0].parts.deep[0].n), 7 ($[0].id)
        $[0].parts.deep[1]: `deep` ($[0].parts.deep), 2 ($[0].parts.deep[1].n), 7 ($[0].id)
        $[0].parts.light[0]: `light` ($[0].parts.light), 3 ($[0].parts.light[0].n), 7 ($[0].id)
    "#]],
    );
}

#[test]
fn every_object_on_the_way_is_a_level() {
    let input = r#"[{"id": 7, "levels": {"unit": "s", "data": [{"n": 1}]}}]"#;
    check(
        "$[*]",
        "levels.data[*]",
        "n, 1 unit, 2 id",
        input,
        expect![[r#"
        $[0].levels.data[0]: 1 ($[0].levels.data[0].n), `s` ($[0].levels.unit), 7 ($[0].id)
    "#]],
    );
    check(
        "$[*]",
        "levels.data[*]",
        "3 id",
        input,
        expect![[r#"
        error: `id` cannot be asked of this format: it is 3 levels above the row and there are only 2; write `$.…` for a value further up
    "#]],
    );
}

#[test]
fn values_above_the_rows_hold_for_the_rows_below_them() {
    let input = r#"{"people": [{"code": "P1", "nights": [1, 2]}, {"nights": [3]}, {"code": "P3", "nights": [4]}]}"#;
    check(
        "$.people[*].nights[*]",
        "",
        "@, $.people[*].code",
        input,
        expect![[r#"
        $.people[0].nights[0]: 1, `P1` ($.people[0].code)
        $.people[0].nights[1]: 2, `P1` ($.people[0].code)
        $.people[1].nights[0]: 3, nothing
        $.people[2].nights[0]: 4, `P3` ($.people[2].code)
    "#]],
    );
}

#[test]
fn a_value_that_stands_after_the_rows_is_an_error_and_not_a_gap() {
    check(
        "$.rows[*]",
        "",
        "$.tz",
        "{\"rows\": [1],\n \"tz\": \"UTC\"}",
        expect![[r#"
        $.rows[0]: nothing
        error: `$.tz` cannot be asked of this format: it stands after the rows, at line 2:8, and the file is read once from its beginning; give this value another way, or use `each = "$"` with `nest`, which holds the whole document in memory
    "#]],
    );
    check("$.rows[*]", "", "$.tz", "{\"rows\": [], \"tz\": \"UTC\"}", expect![""]);
    check(
        "$",
        "rows[*]",
        "@, $.tz",
        "{\"rows\": [1], \"tz\": \"UTC\"}",
        expect![[r#"
        $.rows[0]: 1, `UTC` ($.tz)
    "#]],
    );
}

#[test]
fn numbers_keep_every_digit() {
    check(
        "$[*]",
        "",
        "@",
        "[1775302260000, 12345678901234567890123, -0.10, 1E3]",
        expect![[r#"
        $[0]: 1775302260000
        $[1]: 12345678901234567890123
        $[2]: -0.10
        $[3]: 1E3
    "#]],
    );
}

#[test]
fn a_name_that_stands_twice_is_refused() {
    check(
        "$[*]",
        "",
        "a",
        "[{\"a\": 1}, {\"a\": 1, \"b\": {\"c\": 1, \"c\": 2}}]",
        expect![[r#"
        $[0]: 1 ($[0].a)
        error: this name stands twice in one object, and nothing says which value counts ($[1].b.c)
    "#]],
    );
    check(
        "$.a[*]",
        "",
        "@",
        "{\"a\": [1], \"a\": [2]}",
        expect![[r#"
        $.a[0]: 1
        error: this name stands twice in one object, and nothing says which value counts ($.a)
    "#]],
    );
}

#[test]
fn what_is_missing_is_told_with_what_is_there() {
    check(
        "$.sleeps[*]",
        "",
        "a",
        NIGHTS,
        expect![[r#"
        $: unreadable ``: this file has no `$.sleeps[*]`; at its top it has `device`, `nights`, `after`
    "#]],
    );
    check(
        "$.nights[*]",
        "pieces[*]",
        "a",
        NIGHTS,
        expect![[r#"
        $.nights[0]: unreadable `{"id":1,"tz":"UTC","blocks":[{"at":"22:31","st":"light"},{"at":"22:58","st":"deep"}]}`: nothing in this file has `pieces[*]`; the first row has `id`, `tz`, `blocks`
    "#]],
    );
    check(
        "$.nights[*]",
        "",
        "a",
        "{\"nights\": \"none\"}",
        expect![[r#"
        $.nights: unreadable `"none"`: a list of rows should stand here
    "#]],
    );
    check("$.nights[*]", "", "a", "{\"nights\": null}", expect![""]);
}

#[test]
fn what_is_not_json_is_refused_with_its_place() {
    check(
        "$[*]",
        "",
        "@",
        "[1,\n 2,\n tru]",
        expect![[r#"
        $[0]: 1
        $[1]: 2
        error: this word is not `null`, `true` or `false` (line 3:2)
    "#]],
    );
    check(
        "$[*]",
        "",
        "@",
        "[1, {\"a\": \"b",
        expect![[r#"
            $[0]: 1
            error: the file breaks off here (line 1:13)
        "#]],
    );
    check(
        "$[*]",
        "",
        "@",
        "[1]\n[2]",
        expect![[r#"
        $[0]: 1
        error: a second document begins here, or stray text; one file of JSON is one document, and many of them, one a line, are JSON Lines (line 2:1)
    "#]],
    );
    check(
        "$.a[*]",
        "",
        "@",
        "{\"b\": [1, }",
        expect![[r#"
            error: here should be a value, or the bracket that closes what is open (line 1:11)
        "#]],
    );
    check(
        "$",
        "",
        "",
        "\n<!doctype html><title>Sign in</title>",
        expect![[r#"
        error: this is not JSON: HTML, beginning with `<!doctype html><title>Sign in</title>`; perhaps a login page was saved instead of the file
    "#]],
    );
    check(
        "$",
        "",
        "",
        "hello",
        expect![[r#"
        error: this is not JSON: line 1:1 begins with `hello`
    "#]],
    );
    check(
        "$",
        "",
        "",
        " \n ",
        expect![[r#"
        error: the file is empty
    "#]],
    );
}

#[test]
fn byte_order_marks_and_utf_16_are_read() {
    let request = request("$[*]", "", "@");
    let wide: Vec<u8> = "\u{feff}[\"ä\", 1]".encode_utf16().flat_map(u16::to_be_bytes).collect();
    assert_eq!(crate::testing::check(Format::Json, &wide, &request), "$[0]: `ä`\n$[1]: 1\n");
    assert_eq!(crate::testing::check(Format::Json, b"\xef\xbb\xbf[1]", &request), "$[0]: 1\n");
    let unmarked: Vec<u8> = "[10, 20]".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(
        crate::testing::check(Format::Json, &unmarked, &request),
        "error: this is not JSON: text in UTF-16LE without a byte order mark, or no text; say which encoding it is\n"
    );
}

#[test]
fn bad_bytes_are_an_error_even_where_nothing_is_read() {
    assert_eq!(
        crate::testing::check(Format::Json, b"{\"a\": \"\xe4\", \"b\": [1]}", &request("$.b[*]", "", "@")),
        "error: the text is not UTF-8: the bytes E4 stand for no character; say which encoding it is (line 1:8)\n"
    );
}

#[test]
fn limits_end_the_reading() {
    let with = |limits| Request { limits, ..request("$[*]", "", "@") };
    let limits = |limits, input: &str| crate::testing::check(Format::Json, input.as_bytes(), &with(limits));
    assert_eq!(
        limits(Limits { depth: 3, ..Limits::default() }, "[1, [[[2]]]]"),
        "$[0]: 1\nerror: the nesting at line 1:7 is more than the limit of 3 (depth)\n"
    );
    assert_eq!(
        limits(Limits { rows: 1, ..Limits::default() }, "[1, 2]"),
        "$[0]: 1\nerror: row 2 is more than the limit of 1 (rows)\n"
    );
    assert_eq!(
        limits(Limits { row_bytes: 4, ..Limits::default() }, "[1, 123456]"),
        "$[0]: 1\nerror: a row of 6 bytes that begins at line 1:5 is more than the limit of 4 (row_bytes)\n"
    );
    let long = format!("[1, \"{}\"]", "x".repeat(500_000));
    assert_eq!(
        limits(Limits { row_bytes: 300_000, ..Limits::default() }, &long),
        "$[0]: 1\nerror: a row of 500002 bytes that begins at line 1:5 is more than the limit of 300000 (row_bytes)\n"
    );
}

#[test]
fn a_request_that_cannot_be_answered_says_why() {
    let refused = |each, nest, wants| crate::testing::check(Format::Json, b"{}", &request(each, nest, wants));
    assert_eq!(
        refused("nights[*]", "", ""),
        "error: `nights[*]` cannot be asked of this format: the part of a JSON document that holds the rows begins with `$`, such as `$.nights[*]`\n"
    );
    assert_eq!(
        refused("$", "blocks", ""),
        "error: `blocks` cannot be asked of this format: `nest` leads to a list of rows, such as `blocks[*]`\n"
    );
    assert_eq!(
        refused("$.a[*]", "", "$.a[0].b"),
        "error: `$.a[0].b` cannot be asked of this format: it leads into one of the rows; the rows are read one at a time\n"
    );
    assert_eq!(
        refused("$.a[*]", "", "$.a"),
        "error: `$.a` cannot be asked of this format: this part holds the rows themselves\n"
    );
    assert_eq!(
        refused("$.a[*]", "", "b[*]"),
        "error: `b[*]` cannot be asked of this format: a field is one value; use `nest` for a list of rows inside the row\n"
    );
}

#[test]
fn json_lines_are_documents() {
    check_lines(
        "",
        "",
        "t, asleep",
        "{\"t\":1,\"asleep\":true}\r\n\n{\"t\":2,\"asleep\":null}",
        expect![[r#"
        row 1 $: 1 (row 1 $.t), true (row 1 $.asleep)
        row 2 $: 2 (row 2 $.t), null (row 2 $.asleep)
    "#]],
    );
}

#[test]
fn each_and_nest_are_followed_in_every_line() {
    let input = "{\"d\":\"x\",\"n\":[{\"b\":[1,2]},{\"b\":[3]}]}\n{\"n\":[{\"b\":[4]}],\"d\":\"y\"}\n";
    check_lines(
        "$.n[*]",
        "b[*]",
        "@, 1 b, $.d",
        input,
        expect![[r#"
        row 1 $.n[0].b[0]: 1, a list of 2 (row 1 $.n[0].b), `x` (row 1 $.d)
        row 1 $.n[0].b[1]: 2, a list of 2 (row 1 $.n[0].b), `x` (row 1 $.d)
        row 1 $.n[1].b[0]: 3, a list of 1 (row 1 $.n[1].b), `x` (row 1 $.d)
        row 2 $.n[0].b[0]: 4, a list of 1 (row 2 $.n[0].b), `y` (row 2 $.d)
    "#]],
    );
}

#[test]
fn a_bad_line_does_not_spoil_its_neighbours() {
    check_lines(
        "",
        "",
        "t",
        "{\"t\":1}\n{\"t\":}\n{\"t\":1,\"t\":2}\n{\"t\":4} x\n{\"t\":5}\n",
        expect![[r#"
            row 1 $: 1 (row 1 $.t)
            line 2:6: unreadable `{"t":}`: expected value
            row 3 $.t: unreadable `{"t":1,"t":2}`: this name stands twice in one object, and nothing says which value counts
            line 4:9: unreadable `{"t":4} x`: trailing characters
            row 5 $: 5 (row 5 $.t)
        "#]],
    );
}

#[test]
fn a_last_line_that_breaks_off_is_a_file_that_was_cut() {
    check_lines(
        "",
        "",
        "t",
        "{\"t\":1}\n{\"t\":",
        expect![[r#"
            row 1 $: 1 (row 1 $.t)
            error: the line breaks off where a value should stand (line 2:6)
        "#]],
    );
}

#[test]
fn a_document_over_many_lines_is_not_json_lines() {
    check_lines(
        "",
        "",
        "t",
        "{\n  \"t\": 1\n}\n",
        expect![[r#"
            error: this is not JSON Lines: line 1 is not one whole document: the line breaks off inside an object (column 2)
        "#]],
    );
}
