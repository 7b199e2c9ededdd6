//! Spreadsheets: XLSX (ECMA-376) and ODS (OASIS ODF), read row by row.
//!
//! `each` is the name of the sheet; empty, it is the only one there is. The header is the first row that holds
//! anything, or the first that holds [`crate::TextOptions::header_with`]; what stands above is a preamble. Fields are
//! header texts (trimmed), `#3` for the third column, or its letter `C`. A header text that several columns
//! have cannot be asked for: their numbers can. The text of merged cells is that of every column they cover;
//! below the header, merged cells stand in their first cell only. Rows without any text or number are none.
//!
//! A number that is shown as a date is a [`Value::Moment`], or a [`Value::Clock`] when it is below 1; one that is
//! shown as a length (`[h]:mm`) is a [`Value::Span`] of any length. Errors such as `#N/A` are texts. A formula has the
//! value that was last computed, and none when it was never computed.
//!
//! Nothing is laid out in memory but one row, so that two cells in opposite corners cost no more than two cells
//! side by side. The old binary formats (XLS, XLSB) are not read.
//!
//! [`Value::Moment`]: crate::Value::Moment
//! [`Value::Clock`]: crate::Value::Clock
//! [`Value::Span`]: crate::Value::Span

mod cell;
mod cells;
mod format_code;
mod look;
mod ods;
mod parts;
mod table;
mod xlsx;

use crate::source::read_full;
use crate::zip::archive::Archive;
use crate::{Event, Flow, FormatError, Limits, Request, shorten, spool::spool};
use cell::Run;
use parts::Parts;
use std::io::{Read, Seek};
use table::{Merged, Table};

/// Takes a row that holds anything: its number from 0, its cells, and the merged areas that are known by then.
type Each<'e> = dyn FnMut(u32, &[Run], &[Merged]) -> Result<Flow, FormatError> + 'e;

/// A workbook of either kind.
trait Books {
    /// Returns the names of the sheets, in their order.
    fn names(&self) -> Vec<String>;
    /// Reads the rows of a sheet.
    fn rows(&mut self, sheet: usize, each: &mut Each<'_>) -> Result<(), FormatError>;
}

/// The beginning of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetHead {
    /// Name of the sheet.
    pub name: String,
    /// First rows that hold anything, each as the texts of its cells, shortened.
    pub rows: Vec<Vec<String>>,
}

/// Reads a workbook of which only the bytes in their order are given.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    read_workbook(spool(input, request.limits)?, request, sink)
}

/// Reads a sheet of a workbook.
///
/// # Errors
/// As [`crate::read`]. A workbook with a password is [`FormatError::Locked`]; a sheet that is not there is a
/// [`FormatError::Request`] that names the sheets.
pub fn read_workbook(
    input: impl Read + Seek,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    if let Some(nest) = &request.nest {
        let why = "a sheet has one kind of row; leave out `nest`".to_owned();
        return Err(FormatError::Request { what: nest.clone(), why });
    }
    let mut book = open(input, request.limits)?;
    let names = book.names();
    let sheet = choose(&names, &request.each)?;
    let mut table = Table::new(request, &names[sheet]);
    let mut stopped = false;
    book.rows(sheet, &mut |row, runs, merged| {
        let flow = table.row(row, runs, merged, sink)?;
        stopped = flow == Flow::Stop;
        Ok(flow)
    })?;
    if stopped { Ok(()) } else { table.finish() }
}

/// Returns the beginning of every sheet of a workbook, at most 100 of them and 20 rows of each.
///
/// # Errors
/// It is no workbook, has a password, or goes beyond a limit.
pub fn sheets(input: impl Read + Seek, limits: Limits) -> Result<Vec<SheetHead>, FormatError> {
    let mut book = open(input, limits)?;
    let names = book.names();
    let mut out = Vec::new();
    for (n, name) in names.into_iter().take(100).enumerate() {
        let mut rows = Vec::new();
        book.rows(n, &mut |_, runs, _| {
            rows.push(runs.iter().take(200).map(|r| shorten::cut(r.cell.shown().trim(), 80)).collect());
            Ok(if rows.len() < 20 { Flow::Continue } else { Flow::Stop })
        })?;
        out.push(SheetHead { name, rows });
    }
    Ok(out)
}

fn choose(names: &[String], each: &str) -> Result<usize, FormatError> {
    let known = || shorten::names(names.iter().map(String::as_str));
    let refuse = |why: String| Err(FormatError::Request { what: each.to_owned(), why });
    match (names, each) {
        ([], _) => Err(FormatError::NotThis { expected: "a workbook with a sheet", found: "it has none".to_owned() }),
        ([_], "") => Ok(0),
        (_, "") => refuse(format!("there are several sheets; name one of {}", known())),
        _ => match names.iter().position(|n| n == each) {
            Some(n) => Ok(n),
            None => refuse(format!("no sheet has this name; there are {}", known())),
        },
    }
}

fn open<'a, R: Read + Seek + 'a>(mut input: R, limits: Limits) -> Result<Box<dyn Books + 'a>, FormatError> {
    let mut head = [0; 8];
    let got = read_full(&mut input, &mut head)?;
    match &head[..got] {
        [] => return Err(FormatError::Empty),
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" => return Err(old(&mut input)?),
        head if !head.starts_with(b"PK") => return Err(no_sheet(&crate::sniff::beginning(head))),
        _ => {}
    }
    let parts = Parts::new(Archive::open(input, limits)?, limits);
    if parts.has("content.xml") || parts.has("encrypted-package") {
        return Ok(Box::new(ods::Ods::open(parts)?));
    }
    if parts.has("xl/workbook.bin") {
        return Err(no_sheet("a binary workbook (XLSB); open it and save it as XLSX"));
    }
    match parts.has("[Content_Types].xml") || parts.has("xl/workbook.xml") {
        true => Ok(Box::new(xlsx::Xlsx::open(parts)?)),
        false => Err(no_sheet("an archive (ZIP) without a workbook in it")),
    }
}

fn no_sheet(found: &str) -> FormatError {
    FormatError::NotThis { expected: "a spreadsheet that is read here (XLSX or ODS)", found: found.to_owned() }
}

/// Says of a file in Microsoft's compound format whether it is a locked workbook or an old one.
fn old<R: Read + Seek>(input: &mut R) -> Result<FormatError, FormatError> {
    input.rewind()?;
    let mut bytes = Vec::new();
    input.take(64 << 20).read_to_end(&mut bytes)?;
    let name: Vec<u8> = "EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes).collect();
    Ok(match bytes.windows(name.len()).any(|w| w == name) {
        true => FormatError::Locked { what: "the workbook".to_owned() },
        false => no_sheet("an old binary workbook (XLS); open it and save it as XLSX"),
    })
}

#[cfg(test)]
mod hostile;
#[cfg(test)]
mod tests;
