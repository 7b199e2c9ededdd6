//! The cells of a sheet of an XLSX workbook, as calamine reads them.
//!
//! **Invariant.** Only a part that [`look`] has seen whole is read here. An address that does not rise is refused
//! all the same, so that a cell is never taken for another one.
//!
//! [`look`]: super::look::look

use super::Each;
use super::cell::{Cell, Run, Shown, address};
use super::look::Looked;
use crate::{Flow, FormatError, Limits, shorten};
use calamine::{DataRef, XlsxCellReader, XlsxError};
use counterpane_model::Locator;
use quick_xml::Reader;
use quick_xml::events::Event;
use std::io::{BufReader, Read, Seek};
use std::ops::Bound;
use zip::read::ZipFile;

/// What the cells of a workbook have in common.
#[derive(Clone, Copy)]
pub(super) struct Book<'a> {
    pub(super) shared: &'a [String],
    /// How each style shows a number.
    pub(super) shown: &'a [Shown],
    pub(super) from_1904: bool,
    pub(super) limits: Limits,
}

/// Gives the rows of a sheet that hold anything.
///
/// # Errors
/// calamine refuses a cell, an address does not rise, or the texts of a row are too long.
pub(super) fn rows<R: Read + Seek>(
    file: ZipFile<'_, R>,
    book: Book<'_>,
    looked: &Looked,
    sheet: &str,
    each: &mut Each<'_>,
) -> Result<(), FormatError> {
    let mut last = None;
    let mut reader = open(file, book, looked).map_err(|e| refused(&e, sheet, last))?;
    let (mut runs, mut weight) = (Vec::new(), 0);
    loop {
        let (at, cell) = match reader.next_cell_with_style_id() {
            Ok(Some((cell, style))) => (cell.get_position(), value(cell.get_value(), style, book)),
            Ok(None) => break,
            // calamine knows seven errors; it stands inside of the cell then, and goes on with the next one.
            Err(error @ XlsxError::CellError(_)) => {
                let after = last.map_or(Bound::Unbounded, Bound::Excluded);
                let odd = looked.odd.range((after, Bound::Unbounded)).next();
                (*odd.ok_or_else(|| refused(&error, sheet, last))?.0, None)
            }
            Err(error) => return Err(refused(&error, sheet, last)),
        };
        if last >= Some(at) || at.1 as usize >= book.limits.columns {
            let problem = "the address of a cell does not follow from the one before it".to_owned();
            return Err(FormatError::Broken { problem, locator: place(sheet, at) });
        }
        if let Some((row, _)) = last.filter(|(row, _)| *row != at.0) {
            if !runs.is_empty() && each(row, &runs, &looked.merged)? == Flow::Stop {
                return Ok(());
            }
            runs.clear();
            weight = 0;
        }
        last = Some(at);
        let cell = looked.odd.get(&at).map(|text| Cell::Text(text.clone())).or(cell);
        let Some(cell) = cell else { continue };
        if let Cell::Text(text) = &cell {
            if text.trim().is_empty() {
                continue;
            }
            weight += text.len();
            if weight > book.limits.row_bytes {
                let what = format!("row {} with texts of {weight} bytes", u64::from(at.0) + 1);
                return Err(FormatError::Limit { what, name: "row_bytes", limit: book.limits.row_bytes as u64 });
            }
        }
        runs.push(Run { from: at.1, count: 1, cell });
    }
    match last {
        Some((row, _)) if !runs.is_empty() => each(row, &runs, &looked.merged).map(drop),
        _ => Ok(()),
    }
}

/// Opens the part as calamine does, behind what it says of its size: that may be missing, wrong, or no area at all.
fn open<'a, R: Read + Seek>(
    file: ZipFile<'a, R>,
    book: Book<'a>,
    looked: &Looked,
) -> Result<XlsxCellReader<'a, R>, XlsxError> {
    let mut xml = Reader::from_reader(BufReader::new(file));
    let config = xml.config_mut();
    (config.check_end_names, config.check_comments, config.expand_empty_elements) = (false, false, true);
    let (mut buffer, mut left) = (Vec::new(), looked.dimensions);
    while left > 0 {
        buffer.clear();
        match xml.read_event_into(&mut buffer)? {
            Event::Start(tag) if tag.local_name().into_inner() == "dimension" => left -= 1,
            Event::Eof => break,
            _ => {}
        }
    }
    // Without formats of its own it gives every number as it stands.
    XlsxCellReader::new(xml, book.shared, &[], &[], book.from_1904)
}

fn value(data: &DataRef<'_>, style: usize, book: Book<'_>) -> Option<Cell> {
    let number = |n: f64| match n.is_finite() {
        true => Cell::of_number(n, book.shown.get(style).copied().unwrap_or_default(), book.from_1904),
        false => Cell::Text(n.to_string()),
    };
    Some(match data {
        DataRef::Empty => return None,
        DataRef::Int(n) => number(*n as f64),
        DataRef::Float(n) => number(*n),
        DataRef::DateTime(when) => number(when.as_f64()),
        DataRef::Bool(truth) => Cell::Bool(*truth),
        DataRef::DateTimeIso(text) => Cell::of_iso(text.trim()),
        DataRef::String(text) | DataRef::DurationIso(text) => Cell::Text(text.clone()),
        DataRef::SharedString(text) => Cell::Text((*text).to_owned()),
        DataRef::Error(error) => Cell::Text(error.to_string()),
    })
}

fn refused(error: &XlsxError, sheet: &str, last: Option<(u32, u32)>) -> FormatError {
    let problem = shorten::cut(&format!("a cell behind this one cannot be read: {error}"), 200);
    FormatError::Broken { problem, locator: place(sheet, last.unwrap_or_default()) }
}

fn place(sheet: &str, (row, column): (u32, u32)) -> Locator {
    Locator::Cell { sheet: sheet.to_owned(), cell: address(row, column) }
}
