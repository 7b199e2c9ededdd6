//! A workbook of 100,000 rows: the reader beside calamine's own way to read a sheet, and the memory that it takes.
//!
//! Run with `cargo bench -p counterpane-formats --bench sheets`. The workbook is written piece by piece to a file, so that
//! the peak of the process before calamine's turn is that of the reader.

#![allow(clippy::print_stdout, reason = "the table is what a run is for")]

use calamine::Reader as _;
use counterpane_formats::{Event, Flow, Request, Want, read_workbook};
use std::hint::black_box;
use std::io::{BufReader, Error, Result, Seek as _, Write as _};
use std::time::{Duration, Instant};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

const ROWS: usize = 100_000;

fn write(file: std::fs::File) -> Result<()> {
    let mut zip = ZipWriter::new(file);
    let mut part = |name: &str, text: &mut dyn Iterator<Item = String>| -> Result<()> {
        zip.start_file(name, SimpleFileOptions::default()).map_err(Error::other)?;
        for text in text {
            zip.write_all(text.as_bytes())?;
        }
        Ok(())
    };
    let mut one = |name: &str, text: &str| part(name, &mut std::iter::once(text.to_owned()));
    let relation = |id: &str, kind: &str, target: &str| {
        format!(
            "<Relationship Id='{id}' Type='http://schemas.openxmlformats.org/officeDocument/2006/relationships/{kind}' Target='{target}'/>"
        )
    };
    let relations = |inside: &str| format!("<Relationships>{inside}</Relationships>");
    one("[Content_Types].xml", "<Types/>")?;
    one("_rels/.rels", &relations(&relation("r1", "officeDocument", "xl/workbook.xml")))?;
    one("xl/workbook.xml", "<workbook><sheets><sheet name='Night' sheetId='1' r:id='r1'/></sheets></workbook>")?;
    let inside = [
        relation("r1", "worksheet", "worksheets/sheet1.xml"),
        relation("r2", "sharedStrings", "sharedStrings.xml"),
        relation("r3", "styles", "styles.xml"),
    ];
    one("xl/_rels/workbook.xml.rels", &relations(&inside.concat()))?;
    let texts = ["Begin", "Phase", "Length", "Pulse", "Note", "light", "deep"].map(|t| format!("<si><t>{t}</t></si>"));
    one("xl/sharedStrings.xml", &format!("<sst uniqueCount='7'>{}</sst>", texts.concat()))?;
    one(
        "xl/styles.xml",
        "<styleSheet><cellXfs><xf numFmtId='0'/><xf numFmtId='22'/><xf numFmtId='46'/></cellXfs></styleSheet>",
    )?;
    let head: String = (0..5).map(|n| format!("<c r='{}1' t='s'><v>{n}</v></c>", char::from(b'A' + n))).collect();
    let row = |n: usize| {
        let (r, begin, phase) = (n + 2, 46_000.0 + n as f64 / 2880.0, 5 + n % 2);
        format!(
            "<row r='{r}'><c r='A{r}' s='1'><v>{begin}</v></c><c r='B{r}' t='s'><v>{phase}</v></c><c r='C{r}' s='2'><v>1.25</v></c><c r='D{r}'><v>{}</v></c><c r='E{r}' t='inlineStr'><is><t>note {n} of the night</t></is></c></row>",
            50 + n % 40
        )
    };
    let begin = format!("<worksheet><dimension ref='A1:E{}'/><sheetData><row r='1'>{head}</row>", ROWS + 1);
    let end = "</sheetData></worksheet>".to_owned();
    part("xl/worksheets/sheet1.xml", &mut std::iter::once(begin).chain((0..ROWS).map(row)).chain([end]))?;
    zip.finish().map(drop).map_err(Error::other)
}

fn ours(file: &std::fs::File) -> Result<usize> {
    let mut input = BufReader::new(file);
    input.rewind()?;
    let wants = ["Begin", "Phase", "Length", "Pulse", "Note"].map(|p| Want { up: 0, path: p.to_owned() }).to_vec();
    let request = Request { wants, ..Request::default() };
    let mut kept = 0;
    let mut take = |event: Event<'_>| {
        if let Event::Row(row) = event {
            kept += (0..5).filter(|want| black_box(row.value(*want)).is_some()).count();
            black_box(row.locate(0));
        }
        Flow::Continue
    };
    read_workbook(input, &request, &mut take).map_err(Error::other)?;
    Ok(kept)
}

fn theirs(file: &std::fs::File) -> Result<usize> {
    let mut input = BufReader::new(file);
    input.rewind()?;
    let mut book = calamine::Xlsx::new(input).map_err(Error::other)?;
    let range = book.worksheet_range("Night").map_err(Error::other)?;
    Ok(range.rows().skip(1).flatten().filter(|cell| **cell != calamine::Data::Empty).count())
}

fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.map_or("unknown".to_owned(), |l| l.trim().to_owned())
}

fn main() -> Result<()> {
    let file = tempfile::tempfile()?;
    write(file.try_clone()?)?;
    let before = peak();
    let time = |read: fn(&std::fs::File) -> Result<usize>| -> Result<Duration> {
        let start = Instant::now();
        assert_eq!(read(&file)?, 5 * ROWS);
        Ok(start.elapsed())
    };
    time(ours)?;
    println!("{ROWS} rows; peak memory of the process: written {before}, read {}", peak());
    let (mut mine, mut other) = (Duration::MAX, Duration::MAX);
    for _ in 0..9 {
        mine = mine.min(time(ours)?);
        other = other.min(time(theirs)?);
    }
    println!(
        "reader {mine:.2?}, calamine's range {other:.2?}, ratio {:.2}; peak with the range {}",
        other.as_secs_f64() / mine.as_secs_f64(),
        peak()
    );
    Ok(())
}
