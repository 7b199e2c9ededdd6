//! XLSX workbooks that are made to hurt a reader, or to make it take one cell for another.

use super::tests::{xlsx, zip};
use crate::testing::request;
use crate::{Format, Limits, Request};

const HEADER: &str = "<row r='1'><c r='A1' t='str'><v>a</v></c></row>";

fn read(bytes: &[u8]) -> String {
    crate::testing::check(Format::Sheet, bytes, &request("", "", "A, B, C"))
}

/// Returns the last line that reading such rows gives.
fn last(rows: &str) -> String {
    let out = read(&xlsx("", &[HEADER, rows].concat(), ""));
    let last = out.lines().last().unwrap_or_default();
    last.trim_start_matches("error: member `xl/worksheets/sheet1.xml`: ").trim_end_matches(" (xml line 1 .)").to_owned()
}

/// Returns the last line that a second row of these cells gives.
fn cells(cells: &str) -> String {
    last(&format!("<row r='2'>{cells}</row>"))
}

/// Returns a workbook with the given part beside its one empty sheet.
fn with_part(kind: &str, text: &str) -> Vec<u8> {
    let types = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let relation =
        |id: &str, kind: &str, to: &str| format!("<Relationship Id='{id}' Type='{types}/{kind}' Target='{to}'/>");
    let relations = |inside: &str| format!("<Relationships>{inside}</Relationships>");
    let parts = relation("r1", "worksheet", "s.xml") + &relation("r2", kind, "p.xml");
    zip(&[
        ("_rels/.rels", &relations(&relation("r1", "officeDocument", "xl/workbook.xml"))),
        ("xl/workbook.xml", "<workbook><sheets><sheet name='S' r:id='r1'/></sheets></workbook>"),
        ("xl/_rels/workbook.xml.rels", &relations(&parts)),
        (
            "xl/s.xml",
            &format!("<worksheet><sheetData>{HEADER}<row><c t='s' s='1'><v>0</v></c></row></sheetData></worksheet>"),
        ),
        ("xl/p.xml", text),
    ])
}

#[test]
fn an_address_that_goes_beyond_all_bounds_is_an_error_and_no_other_cell() {
    let follow = "the address of a cell does not follow from the one before it";
    // The last two would be A2 again, multiplied beyond 32 bits: 4,294,967,296 columns or rows away.
    for address in
        ["ZZZZZZZZZZZZ2", "A99999999999999999999", "A0", "2", "", "A", "a2", "MWLQKWV2", "MWLQKWW2", "A4294967298"]
    {
        assert_eq!(cells(&format!("<c r='{address}'><v>1</v></c>")), follow, "{address}");
    }
    for row in ["0", "-1", "4294967296", "4294967298", "99999999999999999999", "A2", ""] {
        assert_eq!(last(&format!("<row r='{row}'/>")), "the number of a row is not above that of the row before it");
    }
    for row in ["1048577", "4294967295"] {
        let beyond = "the number of a row is beyond the last row that a sheet has";
        assert_eq!(last(&format!("<row r='{row}'/>")), beyond);
    }
    assert_eq!(last("<row r='1048576'/><row/>"), "the number of a row is beyond the last row that a sheet has");
    assert_eq!(cells("<c r='B2'/><c r='B2'/>"), follow);
    assert_eq!(cells("<c r='B3'/>"), follow);
    assert_eq!(cells("<c r='A2' r='B2'><v>1</v></c>"), "an element has an attribute twice");
}

#[test]
fn what_a_sheet_says_of_its_size_is_not_asked() {
    for size in ["A1:XFD1048576", "B9:A1", "A0", "", ":", "A1:B2:C3", "ZZZZZZZZ99999999999:A1", "Z9"] {
        let sheet = format!("<dimension ref='{size}'/><sheetData>{HEADER}<row><c><v>7</v></c></row></sheetData>");
        // The helper's own table comes behind and is no longer looked at.
        let bytes = xlsx("", "", "");
        let bytes = super::tests::with(&bytes, "xl/worksheets/sheet1.xml", &format!("<worksheet>{sheet}</worksheet>"));
        assert_eq!(
            read(&bytes).lines().last(),
            Some("sheet \"S\" A2: 7, nothing (sheet \"S\" B2), nothing (sheet \"S\" C2)"),
            "{size}"
        );
    }
}

#[test]
fn a_cell_is_never_taken_for_another_value() {
    let is = |cell: &str, expected: &str| assert_eq!(cells(cell), expected, "{cell}");
    let pieces = "a number, an error or a truth is not written in one piece";
    is("<c><v>12<!-- -->3</v></c>", pieces);
    is("<c><v>1&#50;3</v></c>", pieces);
    is("<c><v><![CDATA[1]]></v></c>", pieces);
    is("<c t='str'><v><![CDATA[x]]></v></c>", "the value of a cell is written as a section (CDATA)");
    is("<c><v>1<v>2</v></v></c>", "the value of a cell holds an element");
    is("<c><v>1</v><v>2</v></c>", "a cell holds something behind its value");
    is("<c><v>1</v><f>2</f></c>", "a cell holds something behind its value");
    is("<c><w/></c>", "a cell holds `w`, which is no value and no formula");
    is("<c><row/></c>", "a row stands inside of a row");
    is("<c><c/></c>", "a cell stands inside of a cell");
    is("<c t='s'><v>x</v></c>", "a cell shares text `x`, which is not there");
    is("<c t='s'><v>-1</v></c>", "a cell shares text `-1`, which is not there");
    is("<c t='b'><v>2</v></c>", "a cell is said to be a truth and holds `2`");
    is("<c t='n'><v>+inf</v></c>", "a cell is said to be a number and holds `+inf`");
    is("<c t='n'><v>x</v></c>", "a cell is said to be a number and holds `x`");
    is("<c><v> 7</v></c>", "a cell is said to be a number and holds ` 7`");
    is("<c t='z'><v>7</v></c>", "a cell is of the kind `z`, which ECMA-376 does not have");
    is("<c t='str'><v>&x;</v></c>", "`&x;` stands for nothing");
    assert_eq!(last("<row><sheetData/></row>"), "a sheet stands inside of a sheet");
    assert_eq!(last("<c r='A2'><v>1</v></c>"), "a cell stands outside of a row");
}

#[test]
fn odd_cells_are_read_as_they_stand() {
    let row = |cell: &str, value: &str| {
        let b = "(sheet \"S\" B2), `x` (sheet \"S\" C2)";
        let text = cells(&format!("<c r='B2'{cell}</c><c r='C2' t='str'><v>x</v></c>"));
        assert_eq!(text, format!("sheet \"S\" A2: nothing, {value} {b}"));
    };
    row(" t='e'><v>#BUSY!</v>", "`#BUSY!`");
    row(" t='e'><f>1/0</f><v>#DIV/0!</v>", "`#DIV/0!`");
    row("><v>-1e999</v>", "`-1e999`");
    row("><v>NaN</v>", "`NaN`");
    row("><v>22:47</v>", "`22:47`");
    row("><f>NOW()</f>", "nothing");
    row("><f>A1</f><v/>", "nothing");
    row(" t='b'><v>0</v>", "false");
    row(" t='str'><f>A1</f><v>a &amp; &#98;</v>", "`a & b`");
    row(
        " t='inlineStr'><is><r><t>two </t></r><r><t xml:space='preserve'> words</t></r><rPh><t>no</t></rPh></is>",
        "`two words`",
    );
    row(" t='inlineStr'><v>1</v><is><t>one</t></is>", "`one`");
}

#[test]
fn tables_beside_the_sheet_cost_what_they_hold_and_not_what_they_claim() {
    let text = with_part("sharedStrings", "<sst uniqueCount='1152921504606846976'><si><t>one</t></si></sst>");
    assert!(read(&text).contains("A2: `one`"), "{}", read(&text));
    // A copy of the font for each style would be 4 GB.
    let font = format!("<fonts><font><name val='{}'/></font></fonts>", "x".repeat(1 << 20));
    let styles =
        format!("<styleSheet>{font}<cellXfs>{}</cellXfs></styleSheet>", "<xf numFmtId='14' fontId='0'/>".repeat(4000));
    assert!(read(&with_part("styles", &styles)).contains("shares text `0`"));
    let many = format!("<sst>{}</sst>", "<si/>".repeat(30));
    let limits = Limits { shared_bytes: 1000, ..Limits::default() };
    let out = crate::testing::check(
        Format::Sheet,
        &with_part("sharedStrings", &many),
        &Request { limits, ..request("", "", "A") },
    );
    assert!(out.contains("what the cells of a workbook share is more than the limit of 1000"), "{out}");
}

#[test]
fn a_sheet_that_grows_is_refused() {
    let entity = xlsx("", "", "<!DOCTYPE x [<!ENTITY a 'b'>]>");
    assert!(read(&entity).contains("declares entities"), "{}", read(&entity));
    let deep = cells(&format!("<c t='inlineStr'><is>{}", "<r>".repeat(500)));
    assert!(deep.ends_with("(depth)"), "{deep}");
    let limits = Limits { row_bytes: 10_000, shared_bytes: 1280, ..Limits::default() };
    let ended = |rows: &str| {
        let request = Request { limits, ..request("", "", "A") };
        let out = crate::testing::check(Format::Sheet, &xlsx("", &[HEADER, rows].concat(), ""), &request);
        out.lines()
            .last()
            .unwrap_or_default()
            .trim_start_matches("error: member `xl/worksheets/sheet1.xml`: ")
            .to_owned()
    };
    let pieces = format!("<row><c t='inlineStr'><is><t>{}</t></is></c></row>", "abcdefgh<!-- -->".repeat(1300));
    assert_eq!(ended(&pieces), "row 2 with texts of 10008 bytes is more than the limit of 10000 (row_bytes)");
    let errors = format!("<row>{}</row>", "<c t='e'><v>#ODD!</v></c>".repeat(20));
    assert_eq!(ended(&errors), "the errors in a sheet is more than the limit of 1280 (shared_bytes)");
    let many = format!("<row {}/>", (0..65).map(|n| format!("a{n}='' ")).collect::<String>());
    assert!(ended(&many).starts_with("an element has more attributes"), "{}", ended(&many));
}

#[test]
fn sheets_of_one_name_or_without_a_part_are_told() {
    let book = "<workbook><sheets><sheet name='S' r:id='r1'/><sheet name='T' r:id='r9'/></sheets></workbook>";
    let bytes = super::tests::with(&xlsx("", HEADER, ""), "xl/workbook.xml", book);
    assert_eq!(read(&bytes), "columns: a\n");
    let bytes = super::tests::with(&bytes, "xl/worksheets/sheet1.xml", "<worksheet/>");
    assert!(read(&bytes).contains("breaks off before its end"), "{}", read(&bytes));
    let wide: Vec<u8> = "<worksheet><sheetData/></worksheet>".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let bytes = super::tests::with(&bytes, "xl/worksheets/sheet1.xml", &String::from_utf8_lossy(&wide));
    assert!(read(&bytes).contains("the sheet is written in UTF-16LE"), "{}", read(&bytes));
}
