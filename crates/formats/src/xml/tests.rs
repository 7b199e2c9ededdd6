//! Rows, fields, texts, encodings and hostile documents.

use crate::testing::request;
use crate::{Format, Limits, Request, TextOptions};
use expect_test::{Expect, expect};
use std::io::{Read, repeat};

fn check(each: &str, wants: &str, input: impl AsRef<[u8]>, expected: Expect) {
    expected.assert_eq(&crate::testing::check(Format::Xml, input.as_ref(), &request(each, "", wants)));
}

const NIGHT: &str = r#"<?xml version="1.0"?>
<!-- invented -->
<export device="mat-a (invented)">
  <zone>Australia/Lord_Howe</zone>
  <steps n='12'/>
  <night id="7" kind="sleep">
    <label>first &amp; last</label>
    <stage from="22:47" to="22:58">light</stage>
    <stage from="22:58"
      to="23:10"><depth>deep</depth><![CDATA[ <b> ]]></stage>
  </night>
  <night kind="nap"><stage from="13:00"/></night>
</export>
"#;

#[test]
fn a_row_is_an_element_with_attributes_and_text() {
    check(
        "night/stage",
        "@from, @to, .",
        NIGHT,
        expect![[r#"
            xml line 8 night/stage: `22:47` (xml line 8 night/stage/@from), `22:58` (xml line 8 night/stage/@to), `light`
            xml line 9 night/stage: `22:58` (xml line 9 night/stage/@from), `23:10` (xml line 9 night/stage/@to), `<b>`
            xml line 12 night/stage: `13:00` (xml line 12 night/stage/@from), nothing, ``
        "#]],
    );
}

#[test]
fn a_path_may_begin_at_the_root_or_below_it_or_anywhere() {
    let rows = |each| crate::testing::check(Format::Xml, NIGHT.as_bytes(), &request(each, "", "@from")).lines().count();
    assert_eq!(rows("export/night/stage"), 3);
    assert_eq!(rows("/export/night/stage"), 3);
    assert_eq!(rows("/night/stage"), 0);
    assert_eq!(rows("//stage"), 3);
    assert_eq!(rows("//night//stage"), 3);
    assert_eq!(rows("*"), 4);
    assert_eq!(rows("night[@kind='sleep']/stage"), 2);
    assert_eq!(rows("night[@kind=\"sleep\"][@id='8']/stage"), 0);
    assert_eq!(rows("export"), 1);
    let nested = request("night", "stage", "@from");
    assert_eq!(crate::testing::check(Format::Xml, NIGHT.as_bytes(), &nested).lines().count(), 3);
}

#[test]
fn a_condition_sees_through_character_references() {
    check(
        "a[@k='sl&eep']",
        "@n",
        "<x><a k='sl&amp;&#101;ep' n='1'/><a k='sl' n='2'/></x>",
        expect![[r#"
            xml line 1 a: `1` (xml line 1 a/@n)
        "#]],
    );
}

#[test]
fn elements_above_give_attributes_and_what_stood_before() {
    check(
        "night/stage",
        "1 @id, 1 label/text, 2 @device, 2 zone, 2 steps/@n, 3 @x, 1 name()",
        NIGHT,
        expect![[r#"
            xml line 8 night/stage: `7` (xml line 6 night/@id), `first & last` (xml line 7 night/label), `mat-a (invented)` (xml line 3 @device), `Australia/Lord_Howe` (xml line 4 zone), `12` (xml line 5 steps/@n), nothing, `night` (xml line 6 night)
            xml line 9 night/stage: `7` (xml line 6 night/@id), `first & last` (xml line 7 night/label), `mat-a (invented)` (xml line 3 @device), `Australia/Lord_Howe` (xml line 4 zone), `12` (xml line 5 steps/@n), nothing, `night` (xml line 6 night)
            xml line 12 night/stage: nothing, nothing, `mat-a (invented)` (xml line 3 @device), `Australia/Lord_Howe` (xml line 4 zone), `12` (xml line 5 steps/@n), nothing, `night` (xml line 12 night)
        "#]],
    );
    check(
        "r",
        "1 day",
        "<x><r/><day>1</day><r/><day>2</day><r/></x>",
        expect![[r#"
            xml line 1 r: nothing
            xml line 1 r: `1` (xml line 1 day)
            xml line 1 r: `2` (xml line 1 day)
        "#]],
    );
}

#[test]
fn children_give_text_put_together_from_its_pieces() {
    check(
        "s",
        "a, a/text, b/c/@d, e, f/text/text, name()",
        "<x><p:s><a> one<!-- no --> &lt;&#x74;wo<?no?>&#9731; <i>not this</i></a><b><c d='1&#10;2\n3'/></b><e>4</e><e/><f><text>t</text></f></p:s></x>",
        expect![[r#"
            xml line 1 p:s: `one <two☃` (xml line 1 p:s/a), `one <two☃` (xml line 1 p:s/a), `1
            2 3` (xml line 1 p:s/b/c/@d), a list of 2 (xml line 2 p:s/e), `t` (xml line 2 p:s/f/text), `s`
        "#]],
    );
}

#[test]
fn a_row_is_shown_on_one_line() {
    check(
        "night",
        "",
        NIGHT,
        expect![[r#"
            xml line 6 night: <night id="7" kind="sleep"> <label>first & last</label> <stage from="22:47" to="22:58">light</stage> <stage from="22:58" to="23:10"><depth>deep</depth> <b> </stage> </night>
            xml line 12 night: <night kind="nap"><stage from="13:00"/></night>
        "#]],
    );
}

#[test]
fn rows_inside_rows_come_first() {
    check(
        "//g",
        "@n, .",
        "<g n='1'>a<g n='2'>b</g>c</g>",
        expect![[r#"
            xml line 1 g: `2` (xml line 1 g/@n), `b`
            xml line 1 .: `1` (xml line 1 @n), `ac`
        "#]],
    );
}

#[test]
fn encodings_are_declared_or_marked() {
    let gives = |input: Vec<u8>| {
        let out = crate::testing::check(Format::Xml, &input, &request("a", "", "."));
        assert!(out.contains("`Köln`") || out.starts_with("error"), "{out}");
        out.starts_with("xml line 2")
    };
    let wide = |text: &str| text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>();
    let latin = |text: &str| text.chars().map(|c| c as u8).collect::<Vec<u8>>();
    let text = |encoding: &str| format!("<?xml version='1.0' encoding='{encoding}'?>\n<x><a>Köln</a></x>");
    assert!(gives(text("UTF-8").into_bytes()));
    assert!(gives(latin(&text("ISO-8859-1"))));
    assert!(gives(wide(&text("UTF-16"))));
    assert!(gives([b"\xff\xfe".to_vec(), wide(&text("UTF-16"))].concat()));
    assert!(gives(["\u{feff}".as_bytes(), text("utf-8").as_bytes()].concat()));
    // Written as UTF-8 by a program that says otherwise.
    assert!(gives(text("UTF-16").into_bytes()));
    check(
        "a",
        ".",
        latin(&text("utf-8")),
        expect![[r#"
            error: the text is not UTF-8: the bytes F6 stand for no character; say which encoding it is (xml line 2 .)
        "#]],
    );
    let options = TextOptions { encoding: Some("latin1".into()), ..TextOptions::default() };
    let told = Request { text: options, ..request("a", "", ".") };
    assert!(crate::testing::check(Format::Xml, &latin(&text("utf-8")), &told).contains("`Köln`"));
}

#[test]
fn what_is_wrong_is_told_with_its_line() {
    let wrong = |input: &str| {
        let out = crate::testing::check(Format::Xml, input.as_bytes(), &request("a", "", "@k"));
        out.lines().last().unwrap_or_default().to_owned()
    };
    assert_eq!(
        wrong("<x>\n<a k='1'/>\n<b>"),
        "error: the file breaks off: `<b>` of line 3 is never closed (xml line 3 b)"
    );
    assert_eq!(
        wrong("<x>\n<a k='1"),
        "error: the file breaks off inside a tag, a comment or a section that is never closed (xml line 2 .)"
    );
    assert_eq!(wrong("<x>\n<a>\n</b></x>"), "error: `</b>` stands where `</a>` must (xml line 3 .)");
    assert_eq!(wrong("<x></x></y>"), "error: `</y>` ends an element that never began (xml line 1 .)");
    assert_eq!(wrong("<x>a & b</x>"), "error: a `&` stands alone; XML writes it `&amp;` (xml line 1 .)");
    assert_eq!(wrong("<x/><y/>"), "error: a second root element, `y`, follows the first (xml line 1 .)");
    assert_eq!(wrong("<x/>\ntext"), "error: text stands behind the root element (xml line 1 .)");
    assert_eq!(wrong("<!-- -->"), "error: there is no element in it (xml line 1 .)");
    assert_eq!(wrong(""), "error: the file is empty");
    assert_eq!(wrong("{\"a\": 1}"), "error: this is not XML: it begins with `{\"a\": 1}`");
    assert!(wrong("<!DOCTYPE html><p>").starts_with("error: this is not XML: HTML, beginning with"));
    assert!(wrong("PK\x03\x04").starts_with("error: this is not XML: an archive (ZIP)"));
}

#[test]
fn a_row_that_cannot_be_read_is_told_and_reading_goes_on() {
    check(
        "a",
        "@k, .",
        "<x><a k=1/><a k='1' k='2'/><a k='&no;'/><a>&nbsp;</a><a k='3'>c</a></x>",
        expect![[r#"
            xml line 1 a: unreadable `<a k=1/>`: the value of the attribute `k` is not in quotes
            xml line 1 a: unreadable `<a k='1' k='2'/>`: the attribute `k` stands twice
            xml line 1 a: unreadable `<a k='&no;'/>`: the attribute `k`: at 1..3: unrecognized entity `no`
            xml line 1 a: unreadable `<a></a>`: `&nbsp;` is an entity that the file does not explain
            xml line 1 a: `3` (xml line 1 a/@k), `c`
        "#]],
    );
}

#[test]
fn entities_of_the_documents_own_are_refused() {
    let bomb = "<!DOCTYPE lolz [<!ENTITY a 'lol'><!ENTITY b '&a;&a;&a;&a;'>]>\n<x><a>&b;</a></x>";
    check(
        "a",
        ".",
        bomb,
        expect![[r#"
        error: the document declares entities of its own (`<!ENTITY`); they are not read, because a few of them can grow without end; save the file without them (xml line 1 .)
    "#]],
    );
    check(
        "a",
        ".",
        "<!DOCTYPE x [<!ELEMENT x ANY><!ATTLIST x y CDATA 'z'>]><x><a>b</a></x>",
        expect![[r#"
        xml line 1 a: `b`
    "#]],
    );
}

/// Reads without looking at the rows; returns their number and how it ended.
fn count(mut input: impl Read, each: &str, limits: Limits) -> (usize, String) {
    let request = Request { limits, ..request(each, "", "@k, b, 1 b") };
    let mut rows = 0;
    let result = crate::read(Format::Xml, &mut input, &request, &mut |event| {
        rows += usize::from(matches!(event, crate::Event::Row(_)));
        crate::Flow::Continue
    });
    (rows, result.err().map(|e| e.to_string()).unwrap_or_default())
}

#[test]
fn a_million_open_elements_are_too_deep() {
    let (rows, error) = count("<a>".repeat(1_000_000).as_bytes(), "a", Limits::default());
    assert_eq!(
        (rows, error.as_str()),
        (0, "an element at line 1 inside 120 others is more than the limit of 120 (depth)")
    );
}

#[test]
fn a_tag_or_a_text_without_end_is_refused_early() {
    let limits = Limits { row_bytes: 1 << 20, ..Limits::default() };
    let endless = |begin: &'static str| begin.as_bytes().chain(repeat(b'x')).take(8 << 30);
    let refused =
        "a text or a tag of 1048576 bytes or more that goes on at line 1 is more than the limit of 1048576 (row_bytes)";
    for begin in ["<x a='", "<x>", "<x><!--", "<x><![CDATA[", "<x>&", "<x></", "<!DOCTYPE ", "<"] {
        assert_eq!(count(endless(begin), "a", limits), (0, refused.to_owned()), "{begin}");
    }
}

#[test]
fn a_row_that_grows_without_end_is_refused() {
    let limits = Limits { row_bytes: 1 << 16, ..Limits::default() };
    let many = format!("<x><a>{}", "<b>123</b>".repeat(100_000));
    let (rows, error) = count(many.as_bytes(), "a", limits);
    assert!(rows == 0 && error.starts_with("the row that begins at line 1, with values of 65"), "{error}");
    let pieces = format!("<x><a><b>{}", "abc<i/>".repeat(100_000));
    let (_, error) = count(pieces.as_bytes(), "a", limits);
    assert_eq!(error, "a text that goes on at line 1 is more than the limit of 65536 (row_bytes)");
    // What rows below may ask for is replaced, not gathered.
    let outside = format!("<x>{}</x>", "<b>123</b><a/>".repeat(100_000));
    assert_eq!(count(outside.as_bytes(), "a", limits), (100_000, String::new()));
}

#[test]
fn rows_have_a_limit() {
    let limits = Limits { rows: 2, ..Limits::default() };
    let (rows, error) = count("<x><a/><a/><a/></x>".as_bytes(), "a", limits);
    assert_eq!((rows, error.as_str()), (2, "row 3 is more than the limit of 2 (rows)"));
}
