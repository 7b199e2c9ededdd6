//! Sheets of OpenDocument (OASIS ODF 1.2): one part holds the styles and then every sheet.
//!
//! A time is stored as a length whether it is a time of day or not. It is a length here when it is a day or
//! longer, or negative, or when its style goes on counting beyond 24 hours.

use super::cell::{Cell, Run, iso_span};
use super::parts::{Parts, attribute};
use super::table::Merged;
use super::{Books, Each};
use crate::xml::pull::{Pull, broken};
use crate::{Flow, FormatError, Limits};
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};
use std::collections::HashSet;
use std::io::{Read, Seek};

/// Rows that a sheet has at most; more repetitions than that lead nowhere.
const MOST_ROWS: u32 = 1_048_576;

const CONTENT: &str = "content.xml";

/// A document whose sheets are known.
pub(super) struct Ods<R> {
    parts: Parts<R>,
    names: Vec<String>,
}

impl<R: Read + Seek> Ods<R> {
    pub(super) fn open(mut parts: Parts<R>) -> Result<Ods<R>, FormatError> {
        let locked = parts.read("META-INF/manifest.xml", |pull| {
            loop {
                match pull.next()? {
                    Event::Start(tag) | Event::Empty(tag) if tag.local_name().into_inner() == "encryption-data" => {
                        return Ok(true);
                    }
                    Event::Eof => return Ok(false),
                    _ => {}
                }
            }
        });
        if parts.has("encrypted-package") || locked? == Some(true) {
            return Err(FormatError::Locked { what: "the spreadsheet".to_owned() });
        }
        let limit = parts.limits.members;
        let names = parts.read(CONTENT, |pull| names(pull, limit))?;
        let missing = || FormatError::NotThis { expected: "a spreadsheet", found: format!("it has no `{CONTENT}`") };
        Ok(Ods { names: names.ok_or_else(missing)?, parts })
    }
}

impl<R: Read + Seek> Books for Ods<R> {
    fn names(&self) -> Vec<String> {
        self.names.clone()
    }

    fn rows(&mut self, sheet: usize, each: &mut Each<'_>) -> Result<(), FormatError> {
        let limits = self.parts.limits;
        self.parts.read(CONTENT, |pull| Sheet::new(limits).all(pull, sheet, each))?;
        Ok(())
    }
}

fn names(pull: &mut Pull<'_>, limit: u64) -> Result<Vec<String>, FormatError> {
    let (mut names, mut depth) = (Vec::new(), 0_usize);
    loop {
        match pull.next()? {
            Event::Start(tag) if tag.name().into_inner() == "table:table" => {
                if depth == 0 {
                    names.push(attribute(&tag, "table:name").unwrap_or_default());
                }
                depth += 1;
            }
            Event::Empty(tag) if depth == 0 && tag.name().into_inner() == "table:table" => {
                names.push(attribute(&tag, "table:name").unwrap_or_default());
            }
            Event::End(tag) if tag.name().into_inner() == "table:table" => depth = depth.saturating_sub(1),
            Event::Eof => return Ok(names),
            _ => {}
        }
        if names.len() as u64 > limit {
            return Err(FormatError::Limit { what: "the sheets of a document".to_owned(), name: "members", limit });
        }
    }
}

/// One sheet being read.
struct Sheet {
    limits: Limits,
    /// Number styles that go on counting beyond 24 hours, and cell styles that use them.
    counting: HashSet<String>,
    elapsed: HashSet<String>,
    /// Columns whose cells have such a style unless they say otherwise: first one and number.
    columns: Vec<(u32, u32)>,
    column: u32,
    row: u32,
    repeat: u32,
    runs: Vec<Run>,
    merged: Vec<Merged>,
    weight: usize,
}

/// A cell that is being read.
struct Raw {
    /// Value that an attribute gives.
    value: Option<Cell>,
    is_text: bool,
    text: String,
    paragraphs: usize,
    repeat: u32,
    span: (u32, u32),
}

impl Sheet {
    fn new(limits: Limits) -> Sheet {
        Sheet {
            limits,
            counting: HashSet::new(),
            elapsed: HashSet::new(),
            columns: Vec::new(),
            column: 0,
            row: 0,
            repeat: 1,
            runs: Vec::new(),
            merged: Vec::new(),
            weight: 0,
        }
    }

    fn all(&mut self, pull: &mut Pull<'_>, sheet: usize, each: &mut Each<'_>) -> Result<(), FormatError> {
        let (mut seen, mut depth) = (0, 0_usize);
        loop {
            match pull.next()? {
                Event::Start(tag) if tag.name().into_inner() == "table:table" => {
                    if depth == 0 && seen == sheet {
                        return self.sheet(pull, each);
                    }
                    seen += usize::from(depth == 0);
                    depth += 1;
                }
                Event::Empty(tag) if depth == 0 && tag.name().into_inner() == "table:table" => seen += 1,
                Event::End(tag) if tag.name().into_inner() == "table:table" => depth = depth.saturating_sub(1),
                Event::Start(tag) | Event::Empty(tag) if seen == 0 => self.style(&tag)?,
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    }

    fn style(&mut self, tag: &BytesStart<'_>) -> Result<(), FormatError> {
        let name = || attribute(tag, "style:name").unwrap_or_default();
        match tag.name().into_inner() {
            "number:time-style" if attribute(tag, "number:truncate-on-overflow").as_deref() == Some("false") => {
                self.counting.insert(name());
            }
            "style:style" if attribute(tag, "style:data-style-name").is_some_and(|s| self.counting.contains(&s)) => {
                self.elapsed.insert(name());
            }
            _ => {}
        }
        let limit = self.limits.members;
        match (self.counting.len() + self.elapsed.len()) as u64 > limit {
            true => Err(FormatError::Limit { what: "the styles of a sheet".to_owned(), name: "members", limit }),
            false => Ok(()),
        }
    }

    fn sheet(&mut self, pull: &mut Pull<'_>, each: &mut Each<'_>) -> Result<(), FormatError> {
        let (mut raw, mut notes, mut inner) = (None, 0_usize, 0_usize);
        loop {
            let line = pull.next_line();
            match pull.next()? {
                // A sheet in a cell, and what was noted on a cell, are not looked at.
                Event::Start(tag) if is_aside(&tag) => notes += 1,
                Event::End(tag) if notes > 0 && is_aside_name(tag.name().into_inner()) => notes -= 1,
                Event::Eof => return Err(broken("the sheet breaks off before its end".to_owned(), line)),
                _ if notes > 0 => {}
                Event::Start(tag) => match tag.name().into_inner() {
                    "table:table-row" => self.begin_row(&tag),
                    "table:table-cell" | "table:covered-table-cell" => raw = Some(self.begin_cell(&tag)),
                    name => {
                        inner += usize::from(name == "text:p");
                        self.inside(&tag, &mut raw, line)?;
                    }
                },
                Event::Empty(tag) => match tag.name().into_inner() {
                    "table:table-row" => {
                        self.begin_row(&tag);
                        self.row = self.row.saturating_add(self.repeat);
                    }
                    "table:table-cell" | "table:covered-table-cell" => {
                        let raw = self.begin_cell(&tag);
                        self.end_cell(raw, line)?;
                    }
                    _ => self.inside(&tag, &mut raw, line)?,
                },
                Event::End(tag) => match tag.name().into_inner() {
                    "text:p" => inner = inner.saturating_sub(1),
                    "table:table-cell" | "table:covered-table-cell" => {
                        if let Some(raw) = raw.take() {
                            self.end_cell(raw, line)?;
                        }
                    }
                    "table:table-row" => {
                        let flow = self.give(each)?;
                        if flow == Flow::Stop {
                            return Ok(());
                        }
                    }
                    "table:table" => return Ok(()),
                    _ => {}
                },
                event => {
                    if let Some(raw) = raw.as_mut().filter(|_| inner > 0) {
                        push(&mut raw.text, &event);
                        self.check_weight(raw.text.len(), line)?;
                    }
                }
            }
        }
    }

    /// Takes an element that stands in a row of columns or in a cell.
    fn inside(&mut self, tag: &BytesStart<'_>, raw: &mut Option<Raw>, line: u64) -> Result<(), FormatError> {
        match (tag.name().into_inner(), raw) {
            ("table:table-column", None) => {
                let count = count(tag, "table:number-columns-repeated");
                let style = attribute(tag, "table:default-cell-style-name");
                if style.is_some_and(|s| self.elapsed.contains(&s)) && self.columns.len() < self.limits.columns {
                    self.columns.push((self.column, count));
                }
                self.column = self.column.saturating_add(count);
            }
            ("text:p", Some(raw)) => {
                if raw.paragraphs > 0 {
                    raw.text.push('\n');
                }
                raw.paragraphs += 1;
            }
            ("text:s", Some(raw)) => {
                let blanks = count(tag, "text:c") as usize;
                self.check_weight(raw.text.len().saturating_add(blanks), line)?;
                raw.text.extend(std::iter::repeat_n(' ', blanks));
            }
            ("text:tab", Some(raw)) => raw.text.push('\t'),
            ("text:line-break", Some(raw)) => raw.text.push('\n'),
            _ => {}
        }
        Ok(())
    }

    fn begin_row(&mut self, tag: &BytesStart<'_>) {
        self.repeat = count(tag, "table:number-rows-repeated");
        (self.column, self.weight) = (0, 0);
        self.runs.clear();
    }

    fn begin_cell(&self, tag: &BytesStart<'_>) -> Raw {
        let get = |name| attribute(tag, name);
        let kind = get("office:value-type").unwrap_or_default();
        let value = match kind.as_str() {
            "float" | "percentage" | "currency" => {
                let number = get("office:value").and_then(|v| v.trim().parse::<f64>().ok());
                number.filter(|n| n.is_finite()).map(Cell::Number)
            }
            "boolean" => get("office:boolean-value").map(|v| Cell::Bool(v == "true")),
            "date" => get("office:date-value").map(|v| Cell::of_iso(&v)),
            "time" => get("office:time-value").map(|v| self.time(&v, get("table:style-name"))),
            "string" => get("office:string-value").map(Cell::Text),
            _ => None,
        };
        let is_text = value.is_none() && !kind.is_empty();
        let repeat = count(tag, "table:number-columns-repeated");
        let span = (count(tag, "table:number-rows-spanned"), count(tag, "table:number-columns-spanned"));
        Raw { value, is_text, text: String::new(), paragraphs: 0, repeat, span }
    }

    fn time(&self, text: &str, style: Option<String>) -> Cell {
        let Some(ms) = iso_span(text) else { return Cell::Text(text.to_owned()) };
        let counting = match style {
            Some(style) => self.elapsed.contains(&style),
            None => self.columns.iter().any(|(from, n)| (*from..from.saturating_add(*n)).contains(&self.column)),
        };
        match u32::try_from(ms) {
            Ok(ms) if ms < 86_400_000 && !counting => Cell::Clock(ms),
            _ => Cell::Span(ms),
        }
    }

    fn end_cell(&mut self, raw: Raw, line: u64) -> Result<(), FormatError> {
        let (from, limit) = (self.column, self.limits.columns);
        self.column = self.column.saturating_add(raw.repeat);
        let cell = match raw.value {
            Some(cell) => Some(cell),
            None => raw.is_text.then_some(Cell::Text(raw.text)),
        };
        let cell = cell.filter(|c| !matches!(c, Cell::Text(text) if text.trim().is_empty()));
        let Some(cell) = cell else { return Ok(()) };
        if self.column as usize > limit {
            let what = format!("column {} of row {}", self.column, u64::from(self.row) + 1);
            return Err(FormatError::Limit { what, name: "columns", limit: limit as u64 });
        }
        if let Cell::Text(text) = &cell {
            self.check_weight(text.len(), line)?;
            self.weight += text.len();
        }
        if raw.span != (1, 1) && 16 * (self.merged.len() as u64) < self.limits.shared_bytes {
            let until = |from: u32, n: u32, most: u32| from.saturating_add(n - 1).min(most);
            let rows = (self.row, until(self.row, raw.span.0, MOST_ROWS));
            let columns = (from, until(from, raw.span.1, limit.saturating_sub(1) as u32));
            self.merged.push(Merged { rows, columns });
        }
        self.runs.push(Run { from, count: raw.repeat, cell });
        Ok(())
    }

    fn check_weight(&self, more: usize, line: u64) -> Result<(), FormatError> {
        let limit = self.limits.row_bytes;
        match self.weight.saturating_add(more) > limit {
            true => {
                let what = format!("a row with long texts at line {line}");
                Err(FormatError::Limit { what, name: "row_bytes", limit: limit as u64 })
            }
            false => Ok(()),
        }
    }

    /// Hands out the row, as often as it is repeated.
    fn give(&mut self, each: &mut Each<'_>) -> Result<Flow, FormatError> {
        let end = self.row.saturating_add(self.repeat).min(MOST_ROWS);
        while self.row < end && !self.runs.is_empty() {
            if each(self.row, &self.runs, &self.merged)? == Flow::Stop {
                return Ok(Flow::Stop);
            }
            self.row += 1;
        }
        self.row = end.max(self.row);
        Ok(Flow::Continue)
    }
}

fn is_aside(tag: &BytesStart<'_>) -> bool {
    is_aside_name(tag.name().into_inner())
}

fn is_aside_name(name: &str) -> bool {
    matches!(name, "office:annotation" | "table:shapes" | "draw:frame" | "table:table")
}

/// Returns a number of repetitions, 1 when there is none or it is none.
fn count(tag: &BytesStart<'_>, name: &str) -> u32 {
    attribute(tag, name).and_then(|n| n.trim().parse::<u32>().ok()).unwrap_or(1).max(1)
}

fn push(out: &mut String, event: &Event<'_>) {
    match event {
        Event::Text(text) => out.push_str(text),
        Event::CData(text) => out.push_str(text),
        Event::GeneralRef(name) => match name.resolve_char_ref() {
            Ok(Some(c)) => out.push(c),
            _ => out.push_str(resolve_predefined_entity(name).unwrap_or_default()),
        },
        _ => {}
    }
}
