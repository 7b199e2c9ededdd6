//! Headers, dates, lengths, merged cells, and workbooks that are made to do harm.

use super::sheets;
use crate::testing::request;
use crate::{Format, Limits, Request, TextOptions};
use calamine::{DataType, Reader};
use expect_test::{Expect, expect};
use rust_xlsxwriter::{Format as Look, Workbook, Worksheet};
use std::io::{Cursor, Write};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

fn book(fill: impl FnOnce(&mut Worksheet)) -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.set_name("Night").unwrap();
    fill(sheet);
    book.save_to_buffer().unwrap()
}

pub(super) fn zip(files: &[(&str, &str)]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in files {
        writer.start_file(*name, SimpleFileOptions::default()).unwrap();
        writer.write_all(text.as_bytes()).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

/// Returns a workbook with the given rows of its one sheet.
pub(super) fn xlsx(workbook: &str, rows: &str, rest: &str) -> Vec<u8> {
    let types = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let relation = |id: &str, kind: &str, target: &str| {
        format!("<Relationships><Relationship Id='{id}' Type='{types}/{kind}' Target='{target}'/></Relationships>")
    };
    let book = format!("<workbook>{workbook}<sheets><sheet name='S' sheetId='1' r:id='r1'/></sheets></workbook>");
    zip(&[
        ("[Content_Types].xml", "<Types/>"),
        ("_rels/.rels", &relation("r1", "officeDocument", "xl/workbook.xml")),
        ("xl/workbook.xml", &book),
        ("xl/_rels/workbook.xml.rels", &relation("r1", "worksheet", "worksheets/sheet1.xml")),
        ("xl/worksheets/sheet1.xml", &format!("<worksheet><sheetData>{rows}</sheetData>{rest}</worksheet>")),
    ])
}

/// Returns an archive with another text in one of its members.
pub(super) fn with(bytes: &[u8], member: &str, text: &str) -> Vec<u8> {
    let files = texts(bytes);
    let files: Vec<_> = files.iter().map(|(n, t)| (n.as_str(), if n == member { text } else { t.as_str() })).collect();
    zip(&files)
}

fn texts(bytes: &[u8]) -> Vec<(String, String)> {
    let mut archive = ::zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut files = Vec::new();
    for n in 0..archive.len() {
        let mut file = archive.by_index(n).unwrap();
        let mut text = String::new();
        std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        files.push((file.name().unwrap().into_owned(), text));
    }
    files
}

fn ods(styles: &str, body: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content><office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet>{body}</office:spreadsheet></office:body></office:document-content>"
    );
    zip(&[
        ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
        ("content.xml", &content),
        ("META-INF/manifest.xml", "<manifest:manifest/>"),
    ])
}

fn check(bytes: &[u8], each: &str, wants: &str, expected: Expect) {
    expected.assert_eq(&crate::testing::check(Format::Sheet, bytes, &request(each, "", wants)));
}

#[test]
fn a_row_is_read_by_its_header_its_number_or_its_letter() {
    let bytes = book(|s| {
        s.write_row(0, 0, [" Begin ", "Phase", "", "B"]).unwrap();
        s.write_row(1, 0, ["22:47", "light"]).unwrap();
        s.write_number(1, 3, 0.1).unwrap();
        s.write_boolean(3, 1, true).unwrap();
        s.write_string(3, 3, "a & <b>\nc").unwrap();
    });
    check(
        &bytes,
        "",
        "Begin, #2, B, A, C",
        expect![[r#"
            columns: Begin | Phase |  | B
            sheet "Night" A2: `22:47`, `light` (sheet "Night" B2), 0.1 (sheet "Night" D2), `22:47`, nothing (sheet "Night" C2)
            sheet "Night" A4: nothing, true (sheet "Night" B4), `a & <b>
            c` (sheet "Night" D4), nothing, nothing (sheet "Night" C4)
        "#]],
    );
    check(
        &bytes,
        "",
        "",
        expect![[r#"
        columns: Begin | Phase |  | B
        sheet "Night" A2: 22:47 | light | 0.1
        sheet "Night" A4: true | a & <b> c
    "#]],
    );
}

#[test]
fn the_header_may_stand_below_a_preamble() {
    let bytes = book(|s| {
        s.write_string(1, 0, "night sheet of mat-a (invented)").unwrap();
        s.write_row(4, 1, ["Begin", "Phase"]).unwrap();
        s.write_row(5, 1, ["22:47", "light"]).unwrap();
    });
    let text = |mark: &str| TextOptions { header_with: Some(mark.into()), ..TextOptions::default() };
    let gives =
        |mark| crate::testing::check(Format::Sheet, &bytes, &Request { text: text(mark), ..request("", "", "Phase") });
    assert_eq!(gives("Begin"), "columns:  | Begin | Phase\nsheet \"Night\" A6: `light` (sheet \"Night\" C6)\n");
    assert_eq!(
        gives("Start"),
        "error: `Start` cannot be asked of this format: no row of the sheet holds it, so there is no header; the first row is `night sheet of mat-a (invented)`\n"
    );
}

#[test]
fn a_sheet_is_named_unless_it_is_the_only_one() {
    let mut book = Workbook::new();
    for name in ["Cover \"1\"", "Night"] {
        book.add_worksheet().set_name(name).unwrap().write_row(0, 0, ["a"]).unwrap();
    }
    let bytes = book.save_to_buffer().unwrap();
    check(
        &bytes,
        "Night",
        "a",
        expect![[r#"
        columns: a
    "#]],
    );
    check(
        &bytes,
        "",
        "a",
        expect![[r#"
        error: `` cannot be asked of this format: there are several sheets; name one of `Cover "1"`, `Night`
    "#]],
    );
    check(
        &bytes,
        "night",
        "a",
        expect![[r#"
        error: `night` cannot be asked of this format: no sheet has this name; there are `Cover "1"`, `Night`
    "#]],
    );
}

#[test]
fn a_column_that_is_not_there_or_twice_there_is_told() {
    let bytes = book(|s| {
        s.write_row(0, 0, ["a", "b", "a"]).unwrap();
        s.write_row(1, 0, ["1", "2", "3"]).unwrap();
    });
    check(
        &bytes,
        "",
        "c",
        expect![[r#"
            error: member `xl/worksheets/sheet1.xml`: `c` cannot be asked of this format: no column has this name; the columns are `a`, `b`, `a`
        "#]],
    );
    check(
        &bytes,
        "",
        "a",
        expect![[r#"
            error: member `xl/worksheets/sheet1.xml`: `a` cannot be asked of this format: several columns have this name; ask for one of them by its number: `#1`, `#3`
        "#]],
    );
    check(
        &bytes,
        "",
        "#3",
        expect![[r#"
        columns: a | b | a
        sheet "Night" A2: `3` (sheet "Night" C2)
    "#]],
    );
}

#[test]
fn merged_header_cells_name_all_their_columns() {
    let bytes = book(|s| {
        let look = Look::new();
        s.merge_range(0, 0, 1, 0, "Night", &look).unwrap();
        s.merge_range(0, 1, 0, 2, "Start", &look).unwrap();
        s.write_row(1, 1, ["date", "time"]).unwrap();
        s.write_row(2, 0, ["1", "4 April", "22:47"]).unwrap();
    });
    check(
        &bytes,
        "",
        "Night, #3",
        expect![[r#"
        columns: Night | Start | Start
        sheet "Night" A2: nothing, `time` (sheet "Night" C2)
        sheet "Night" A3: `1`, `22:47` (sheet "Night" C3)
    "#]],
    );
    let text = TextOptions { header_with: Some("date".into()), ..TextOptions::default() };
    let below = Request { text, ..request("", "", "Night, time") };
    expect![[r#"
        columns: Night | date | time
        sheet "Night" A3: `1`, `22:47` (sheet "Night" C3)
    "#]]
    .assert_eq(&crate::testing::check(Format::Sheet, &bytes, &below));
}

#[test]
fn dates_times_and_lengths_stay_what_they_are() {
    let bytes = book(|s| {
        s.write_row(0, 0, ["moment", "day", "clock", "length", "number"]).unwrap();
        let looks = ["yyyy-mm-dd hh:mm:ss", "d.m.yy", "h:mm", "[h]:mm", "0.00"].map(|f| Look::new().set_num_format(f));
        for (column, (number, look)) in
            [46_116.949_652_777_78, 46_116.0, 0.949_652_777_78, 1.25, 46_116.5].iter().zip(&looks).enumerate()
        {
            s.write_number_with_format(1, column as u16, *number, look).unwrap();
        }
    });
    check(
        &bytes,
        "",
        "moment, day, clock, length, number",
        expect![[r#"
        columns: moment | day | clock | length | number
        sheet "Night" A2: 2026-04-04T22:47:30, 2026-04-04T00:00:00 (sheet "Night" B2), at 82050000 ms (sheet "Night" C2), for 108000000 ms (sheet "Night" D2), 46116.5 (sheet "Night" E2)
    "#]],
    );
    check(
        &bytes,
        "",
        "",
        expect![[r#"
        columns: moment | day | clock | length | number
        sheet "Night" A2: 2026-04-04 22:47:30 | 2026-04-04 00:00:00 | 22:47:30 | 30:00:00 | 46116.5
    "#]],
    );
}

/// What was written is known here, whoever reads it.
#[test]
fn what_a_writer_wrote_is_what_is_read() {
    let first = jiff::civil::date(2009, 7, 6).at(0, 0, 0, 0);
    let written = |n: u32| {
        let ms = i64::from(n) * 1_479_466_681;
        (first + jiff::SignedDuration::from_millis(ms), i64::from(n) * 12_342_857, f64::from(n) / 3.0, n % 9)
    };
    let bytes = book(|s| {
        s.write_row(0, 0, ["when", "for", "n", "t"]).unwrap();
        let looks = ["yyyy-mm-dd hh:mm:ss.000", "[h]:mm:ss"].map(|f| Look::new().set_num_format(f));
        for n in 0..500 {
            let (wall, ms, number, text) = written(n);
            let date = wall.to_string();
            let when = rust_xlsxwriter::ExcelDateTime::parse_from_str(&date).unwrap();
            s.write_datetime_with_format(n + 1, 0, &when, &looks[0]).unwrap();
            s.write_number_with_format(n + 1, 1, ms as f64 / 86_400_000.0, &looks[1]).unwrap();
            s.write_number(n + 1, 2, number).unwrap();
            s.write_string(n + 1, 3, format!("text {text}")).unwrap();
        }
    });
    let mut rows = 0;
    crate::read(Format::Sheet, &mut bytes.as_slice(), &request("", "", "when, for, n, t"), &mut |event| {
        if let crate::Event::Row(row) = event {
            let (wall, ms, number, text) = written(rows);
            assert_eq!(row.value(0), Some(crate::Value::Moment { wall }));
            assert_eq!(row.value(1), Some(crate::Value::Span { ms }));
            assert_eq!(row.value(2), Some(crate::Value::Number(number.to_string().into())));
            assert_eq!(row.value(3), Some(crate::Value::Text(format!("text {text}").into())));
            rows += 1;
        }
        crate::Flow::Continue
    })
    .unwrap();
    assert_eq!(rows, 500);
}

/// The same cells by another reader of ODS. It has no length of a day or more, which the reader here keeps.
#[test]
fn another_reader_of_ods_sees_the_same_values() {
    let cell = |n: u32| {
        format!(
            "<table:table-row><table:table-cell office:value-type='date' office:date-value='2026-04-04T22:{:02}:30'/><table:table-cell office:value-type='float' office:value='{}'/><table:table-cell office:value-type='string' table:number-columns-repeated='2'><text:p>text {}</text:p></table:table-cell><table:table-cell office:value-type='boolean' office:boolean-value='{}'/></table:table-row>",
            n % 60,
            f64::from(n) / 3.0,
            n % 9,
            n.is_multiple_of(2)
        )
    };
    let rows: String = (0..100).map(cell).collect();
    let bytes = ods("", &format!("<table:table table:name='Night'>{}{rows}</table:table>", cell(0)));
    let mut other: calamine::Ods<_> = calamine::Ods::new(Cursor::new(bytes.as_slice())).unwrap();
    let range = other.worksheet_range("Night").unwrap();
    let mut theirs = range.rows().skip(1);
    crate::read(Format::Sheet, &mut bytes.as_slice(), &request("", "", "A, B, C, D, E"), &mut |event| {
        if let crate::Event::Row(row) = event {
            let cells = theirs.next().unwrap();
            let Some(crate::Value::Moment { wall }) = row.value(0) else { panic!("{:?}", row.value(0)) };
            assert_eq!(cells[0], calamine::Data::DateTimeIso(wall.to_string()));
            assert_eq!(row.value(1), Some(crate::Value::Number(cells[1].as_f64().unwrap().to_string().into())));
            for n in [2, 3] {
                assert_eq!(row.value(n), Some(crate::Value::Text(cells[n].as_string().unwrap().into())));
            }
            assert_eq!(row.value(4), Some(crate::Value::Bool(cells[4].get_bool().unwrap())));
        }
        crate::Flow::Continue
    })
    .unwrap();
    assert_eq!(theirs.next(), None);
}

#[test]
fn a_workbook_may_count_its_days_from_1904() {
    let row = "<row><c t='str'><v>when</v></c></row><row><c t='d'><v>2026-04-04T22:47:30.5</v></c></row>";
    check(
        &xlsx("<workbookPr date1904='1'/>", row, ""),
        "",
        "when",
        expect![[r#"
        columns: when
        sheet "S" A2: 2026-04-04T22:47:30.5
    "#]],
    );
    // The same serial in both systems: 1,462 days lie between them.
    let dated = |workbook: &str| {
        let bytes = book(|s| {
            s.write_string(0, 0, "when").unwrap();
            s.write_number_with_format(1, 0, 44_654.5, &Look::new().set_num_format("yyyy-mm-dd hh:mm")).unwrap();
        });
        let files: Vec<_> = texts(&bytes).into_iter().map(|(n, t)| (n, t.replace("<workbookPr ", workbook))).collect();
        let files: Vec<(&str, &str)> = files.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
        crate::testing::check(Format::Sheet, &zip(&files), &request("", "", "when"))
    };
    assert_eq!(dated("<workbookPr "), "columns: when\nsheet \"Night\" A2: 2022-04-03T12:00:00\n");
    assert_eq!(dated("<workbookPr date1904=\"true\" "), "columns: when\nsheet \"Night\" A2: 2026-04-04T12:00:00\n");
}

#[test]
fn cells_in_opposite_corners_cost_nothing() {
    let rows = "<row r='1'><c r='A1' t='str'><v>a</v></c></row><row r='1048576'><c r='XFD1048576'><v>1</v></c></row>";
    check(
        &xlsx("", rows, ""),
        "",
        "a, XFD",
        expect![[r#"
        columns: a
        sheet "S" A1048576: nothing, 1 (sheet "S" XFD1048576)
    "#]],
    );
    let far = "<table:table table:name='S'><table:table-row><table:table-cell office:value-type='string'><text:p>a</text:p></table:table-cell></table:table-row><table:table-row table:number-rows-repeated='1048574'><table:table-cell table:number-columns-repeated='16384'/></table:table-row><table:table-row><table:table-cell table:number-columns-repeated='16383'/><table:table-cell office:value-type='float' office:value='1'/></table:table-row></table:table>";
    check(
        &ods("", far),
        "",
        "a, XFD",
        expect![[r#"
        columns: a
        sheet "S" A1048576: nothing, 1 (sheet "S" XFD1048576)
    "#]],
    );
}

#[test]
fn ods_keeps_times_lengths_and_merged_headers() {
    let styles = "<number:time-style style:name='N1' number:truncate-on-overflow='false'/><number:time-style style:name='N2'/><style:style style:name='long' style:data-style-name='N1'/><style:style style:name='clock' style:data-style-name='N2'/>";
    let cell = |kind: &str, value: &str| format!("<table:table-cell office:value-type='{kind}' {value}/>");
    let text = |text: &str, more: &str| {
        format!("<table:table-cell {more} office:value-type='string'><text:p>{text}</text:p></table:table-cell>")
    };
    let row = |cells: &[String]| format!("<table:table-row>{}</table:table-row>", cells.concat());
    let body = [
        "<table:table table:name='Night'><table:table-column table:number-columns-repeated='3'/><table:table-column table:default-cell-style-name='long'/>".to_owned(),
        row(&[
            text("when", ""),
            text("two <text:span>words</text:span><text:s text:c='2'/>&amp;<text:tab/>more", "table:number-columns-spanned='2'"),
            "<table:covered-table-cell/>".to_owned(),
            text("long", ""),
            text("x", "table:number-columns-repeated='2'"),
        ]),
        row(&[
            cell("date", "office:date-value='2026-04-04T22:47:30.25'"),
            cell("time", "table:style-name='clock' office:time-value='PT22H47M30S'"),
            cell("time", "table:style-name='long' office:time-value='PT07H05M00S'"),
            cell("time", "office:time-value='PT06H00M00S'"),
            cell("time", "table:style-name='clock' office:time-value='PT30H00M00S'"),
            cell("boolean", "office:boolean-value='true'"),
        ]),
        "<table:table-row table:number-rows-repeated='2'>".to_owned(),
        cell("float", "office:value='0.10000000000000001' table:number-columns-repeated='3'"),
        "<table:table-cell office:value-type='string'><office:annotation><text:p>a note</text:p></office:annotation><text:p>one</text:p><text:p>two</text:p></table:table-cell></table:table-row></table:table>".to_owned(),
    ];
    check(
        &ods(styles, &body.concat()),
        "Night",
        "when, #2, #3, long, #5, #6",
        expect![[r#"
        columns: when | two words  &	more | two words  &	more | long | x | x
        sheet "Night" A2: 2026-04-04T22:47:30.25, at 82050000 ms (sheet "Night" B2), for 25500000 ms (sheet "Night" C2), for 21600000 ms (sheet "Night" D2), for 108000000 ms (sheet "Night" E2), true (sheet "Night" F2)
        sheet "Night" A3: 0.1, 0.1 (sheet "Night" B3), 0.1 (sheet "Night" C3), `one
        two` (sheet "Night" D3), nothing (sheet "Night" E3), nothing (sheet "Night" F3)
        sheet "Night" A4: 0.1, 0.1 (sheet "Night" B4), 0.1 (sheet "Night" C4), `one
        two` (sheet "Night" D4), nothing (sheet "Night" E4), nothing (sheet "Night" F4)
    "#]],
    );
}

#[test]
fn locked_and_old_workbooks_are_explained() {
    let compound = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".to_vec();
    let name: Vec<u8> = "EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes).collect();
    check(
        &[compound.clone(), vec![0; 512], name].concat(),
        "",
        "",
        expect![[r#"
        error: the workbook is locked with a password; open it, save a copy without one, and import that
    "#]],
    );
    check(
        &[compound, vec![0; 512]].concat(),
        "",
        "",
        expect![[r#"
        error: this is not a spreadsheet that is read here (XLSX or ODS): an old binary workbook (XLS); open it and save it as XLSX
    "#]],
    );
    let manifest =
        "<manifest:manifest><manifest:file-entry><manifest:encryption-data/></manifest:file-entry></manifest:manifest>";
    check(
        &zip(&[("content.xml", "\u{1}"), ("META-INF/manifest.xml", manifest)]),
        "",
        "",
        expect![[r#"
        error: the spreadsheet is locked with a password; open it, save a copy without one, and import that
    "#]],
    );
    check(
        &zip(&[("xl/workbook.bin", "")]),
        "",
        "",
        expect![[r#"
        error: this is not a spreadsheet that is read here (XLSX or ODS): a binary workbook (XLSB); open it and save it as XLSX
    "#]],
    );
    check(
        &zip(&[("a.csv", "")]),
        "",
        "",
        expect![[r#"
        error: this is not a spreadsheet that is read here (XLSX or ODS): an archive (ZIP) without a workbook in it
    "#]],
    );
    check(
        b"clock;stage\n",
        "",
        "",
        expect![[r#"
        error: this is not a spreadsheet that is read here (XLSX or ODS): `clock;st`
    "#]],
    );
    check(
        b"",
        "",
        "",
        expect![[r#"
        error: the file is empty
    "#]],
    );
}

#[test]
fn sheets_that_contradict_themselves_are_refused() {
    let wrong = |rows: &str| {
        let header = "<row r='1'><c r='A1' t='str'><v>a</v></c></row>";
        let out = crate::testing::check(Format::Sheet, &xlsx("", &[header, rows].concat(), ""), &request("", "", "a"));
        let last = out.lines().last().unwrap_or_default().to_owned();
        last.trim_start_matches("error: member `xl/worksheets/sheet1.xml`: ").to_owned()
    };
    assert_eq!(wrong("<row r='1'/>"), "the number of a row is not above that of the row before it (xml line 1 .)");
    assert_eq!(
        wrong("<row r='9'><c r='B9'/><c r='A9'/></row>"),
        "the address of a cell does not follow from the one before it (xml line 1 .)"
    );
    assert_eq!(
        wrong("<row r='9'><c r='ZZZZZZZ9999999999999'/></row>"),
        "the address of a cell does not follow from the one before it (xml line 1 .)"
    );
    assert_eq!(
        wrong("<row><c r='XFE2'><v>1</v></c></row>"),
        "column 16385 of row 2 is more than the limit of 16384 (columns)"
    );
    assert_eq!(wrong("<row><c t='s'><v>7</v></c></row>"), "a cell shares text `7`, which is not there (xml line 1 .)");
    assert_eq!(wrong("<row><c><v>1e999</v></c></row>"), "sheet \"S\" A2: `1e999`");
    assert_eq!(wrong("<row><c t='e'><v>#N/A</v></c></row>"), "sheet \"S\" A2: `#N/A`");
    assert!(wrong("<row>").contains("stands where"), "{}", wrong("<row>"));
    let bomb = "<!DOCTYPE x [<!ENTITY a 'b'>]>";
    let out = crate::testing::check(Format::Sheet, &ods("", bomb), &request("", "", "a"));
    assert!(out.contains("declares entities"), "{out}");
}

#[test]
fn what_cells_share_or_repeat_has_a_limit() {
    let limits = Limits { shared_bytes: 1000, row_bytes: 10_000, rows: 100, ..Limits::default() };
    let bytes = book(|s| {
        s.write_row(0, 0, (0..100).map(|n| format!("text number {n}"))).unwrap();
    });
    let ended = |bytes: &[u8]| {
        let out = crate::testing::check(Format::Sheet, bytes, &Request { limits, ..request("", "", "A") });
        out.lines().last().unwrap_or_default().trim_start_matches("error: ").to_owned()
    };
    assert_eq!(
        ended(&bytes),
        "member `xl/sharedStrings.xml`: what the cells of a workbook share is more than the limit of 1000 (shared_bytes)"
    );
    let table = |cells: &str| format!("<table:table table:name='S'>{cells}</table:table>");
    let repeated = "<table:table-row table:number-rows-repeated='4000000000'><table:table-cell office:value-type='float' office:value='1' table:number-columns-repeated='16384'/></table:table-row>";
    assert_eq!(ended(&ods("", &table(repeated))), "member `content.xml`: row 101 is more than the limit of 100 (rows)");
    let blanks = "<table:table-row><table:table-cell office:value-type='string'><text:p>a<text:s text:c='4000000000'/></text:p></table:table-cell></table:table-row>";
    assert_eq!(
        ended(&ods("", &table(blanks))),
        "member `content.xml`: a row with long texts at line 1 is more than the limit of 10000 (row_bytes)"
    );
    let wide = "<table:table-row><table:table-cell office:value-type='float' office:value='1' table:number-columns-repeated='4000000000'/></table:table-row>";
    assert_eq!(
        ended(&ods("", &table(wide))),
        "member `content.xml`: column 4000000000 of row 1 is more than the limit of 16384 (columns)"
    );
    let open = "<table:table-row>".repeat(200);
    assert!(ended(&ods("", &table(&open))).contains("(depth)"));
}

#[test]
fn the_beginning_of_each_sheet_is_given() {
    let mut book = Workbook::new();
    book.add_worksheet().set_name("Empty").unwrap();
    let sheet = book.add_worksheet();
    sheet.set_name("Night").unwrap();
    for row in 0..30 {
        sheet.write_row(row, 0, [format!("a{row}"), "b".to_owned()]).unwrap();
    }
    let heads = sheets(Cursor::new(book.save_to_buffer().unwrap()), Limits::default()).unwrap();
    let seen: Vec<_> = heads.iter().map(|h| (h.name.as_str(), h.rows.len())).collect();
    assert_eq!(seen, [("Empty", 0), ("Night", 20)]);
    assert_eq!(heads[1].rows[19], ["a19", "b"]);
}
