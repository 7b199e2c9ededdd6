//! No archive and no workbook makes a reader panic or loop: honest ones with bytes changed inside and outside of
//! their members, and the XML of workbooks with pieces exchanged.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper of tests fails as a test does")]

use counterpane_formats::{
    Event, Flow, Format, FormatError, Limits, Request, TextOptions, Want, members, read, sheets, sniff,
};
use proptest::prelude::*;
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

type Files = Vec<(String, Vec<u8>)>;

fn pack(files: &Files, method: CompressionMethod) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        writer.start_file(name.as_str(), SimpleFileOptions::default().compression_method(method)).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

fn unpack(bytes: Vec<u8>) -> Files {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).unwrap();
    let len = archive.len();
    let read = |n| {
        let mut file = archive.by_index(n).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        (file.name().unwrap().into_owned(), bytes)
    };
    (0..len).map(read).collect()
}

fn workbook() -> Files {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    let look = rust_xlsxwriter::Format::new().set_num_format("yyyy-mm-dd hh:mm");
    sheet.merge_range(0, 0, 0, 1, "Night", &look).unwrap();
    sheet.write_row(1, 0, ["a", "b"]).unwrap();
    sheet.write_number_with_format(2, 0, 46_116.5, &look).unwrap();
    sheet.write_boolean(2, 1, true).unwrap();
    unpack(book.save_to_buffer().unwrap())
}

fn document() -> Files {
    let content = "<d><number:time-style style:name='N' number:truncate-on-overflow='false'/><style:style style:name='c' style:data-style-name='N'/><table:table table:name='S'><table:table-column table:number-columns-repeated='2' table:default-cell-style-name='c'/><table:table-row table:number-rows-repeated='2'><table:table-cell office:value-type='string' table:number-columns-spanned='2'><text:p>a<text:s text:c='3'/></text:p></table:table-cell><table:covered-table-cell table:number-columns-repeated='9'/></table:table-row><table:table-row><table:table-cell office:value-type='time' office:time-value='PT1H2M3S'/><table:table-cell office:value-type='date' office:date-value='2026-04-04'/></table:table-row></table:table></d>";
    let file = |name: &str, text: &str| (name.to_owned(), text.as_bytes().to_vec());
    vec![
        file("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
        file("content.xml", content),
        file("META-INF/manifest.xml", "<manifest:manifest/>"),
    ]
}

fn account() -> Files {
    let inner = vec![("n.csv".to_owned(), b"a,b\n3,4\n".to_vec())];
    vec![
        ("days/1.csv".to_owned(), b"a,b\n1,2\n".to_vec()),
        ("all.zip".to_owned(), pack(&inner, CompressionMethod::Deflated)),
    ]
}

fn exercise(bytes: &[u8]) {
    let limits = Limits { rows: 2000, bytes: 10 << 20, shared_bytes: 1 << 20, row_bytes: 1 << 20, ..Limits::default() };
    let wants = ["a", "#2", "C"].map(|path| Want { up: 0, path: path.into() });
    for (format, member) in [(Format::Sheet, None), (Format::Zip, Some("*/*.csv"))] {
        for mark in [None, Some("a".to_owned())] {
            for wants in [&wants[1..], &wants[..0]] {
                let request = Request {
                    member: member.map(str::to_owned),
                    inner: Some(Format::Csv),
                    wants: wants.to_vec(),
                    text: TextOptions { header_with: mark.clone(), ..TextOptions::default() },
                    limits,
                    ..Request::default()
                };
                let result = read(format, &mut &bytes[..], &request, &mut |event| {
                    if let Event::Row(row) = event {
                        assert!(row.line().chars().count() <= 200);
                        for want in 0..=wants.len() {
                            let _ = (row.value(want), row.locate(want).to_string());
                        }
                    }
                    Flow::Continue
                });
                // What is wrong with a file is never told as the machine's own failure.
                if let Err(FormatError::Io(error)) = result {
                    panic!("{error}");
                }
            }
        }
    }
    let _ = members(Cursor::new(bytes), limits);
    let _ = sheets(Cursor::new(bytes), limits);
    sniff::sniff_file("a", Cursor::new(bytes), limits).unwrap();
}

fn change(bytes: &mut Vec<u8>, (at, byte, what): (prop::sample::Index, u8, u8)) {
    if bytes.is_empty() {
        return;
    }
    let at = at.index(bytes.len());
    match what {
        0 => bytes[at] = byte,
        1 => bytes.insert(at, byte),
        2 => bytes.truncate(at),
        _ => {
            bytes.remove(at);
        }
    }
}

/// Exchanges the n-th attribute value or text of digits or letters of an XML part.
fn exchange(bytes: &mut Vec<u8>, at: prop::sample::Index, with: &str) {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let marks: Vec<usize> = text.match_indices(['"', '\'', '>', '<']).map(|(at, _)| at).collect();
    let spans: Vec<_> = marks.windows(2).filter(|w| w[1] > w[0] + 1).collect();
    if !spans.is_empty() {
        let span = spans[at.index(spans.len())];
        *bytes = [&text[..=span[0]], with, &text[span[1]..]].concat().into_bytes();
    }
}

const WORDS: [&str; 16] = [
    "0",
    "1",
    "-1",
    "4294967295",
    "99999999999999999999",
    "1e308",
    "NaN",
    "XFD1048576",
    "A0",
    "ZZZZ9:B2",
    "A1:XFD1048576",
    "true",
    "PT99999999999H",
    "2026-99-99",
    "&amp;&#0;",
    "../../x",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn bytes_changed_outside_of_members(
        which in 0usize..3,
        stored: bool,
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0u8..4), 1..4),
    ) {
        let method = if stored { CompressionMethod::Stored } else { CompressionMethod::Deflated };
        let mut bytes = pack(&[account, workbook, document][which](), method);
        for one in changes {
            change(&mut bytes, one);
        }
        exercise(&bytes);
    }

    #[test]
    fn bytes_changed_inside_of_members(
        which in 0usize..3,
        member in any::<prop::sample::Index>(),
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0u8..4), 1..3),
    ) {
        let mut files = [account, workbook, document][which]();
        let n = member.index(files.len());
        for one in changes {
            change(&mut files[n].1, one);
        }
        exercise(&pack(&files, CompressionMethod::Deflated));
    }

    #[test]
    fn values_exchanged_in_workbooks(
        which in 1usize..3,
        changes in proptest::collection::vec(
            (any::<prop::sample::Index>(), any::<prop::sample::Index>(), proptest::sample::select(WORDS.to_vec())), 1..6),
    ) {
        let mut files = [account, workbook, document][which]();
        for (member, at, with) in changes {
            let n = member.index(files.len());
            exchange(&mut files[n].1, at, with);
        }
        exercise(&pack(&files, CompressionMethod::Deflated));
    }
}

#[test]
fn honest_ones_are_read() {
    let rows = |files: &Files, format, wants: &str| {
        let request = Request {
            member: Some("*/*.csv".into()),
            inner: Some(Format::Csv),
            wants: vec![Want { up: 0, path: wants.into() }],
            ..Request::default()
        };
        let mut rows = 0;
        let result = read(format, &mut pack(files, CompressionMethod::Deflated).as_slice(), &request, &mut |event| {
            rows += usize::from(matches!(event, Event::Row(_)));
            Flow::Continue
        });
        (rows, result.map_err(|e| e.to_string()))
    };
    assert_eq!(rows(&account(), Format::Zip, "a"), (2, Ok(())));
    assert_eq!(rows(&workbook(), Format::Sheet, "A"), (2, Ok(())));
    assert_eq!(rows(&document(), Format::Sheet, "A"), (2, Ok(())));
}
