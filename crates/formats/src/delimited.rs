//! Delimited text (RFC 4180): a header line, and below it a row a line.
//!
//! A row whose number of fields differs from the header's is told as unreadable with its own text and
//! reading goes on. Blank lines and comments are no rows. Values are given as they stand, untrimmed.
//!
//! csv-core splits the records. What it does not do stands here: comments that begin with more than one byte, the
//! place of a field, and quotes that go wrong, which it takes in silence.

mod record;

use crate::source::{Source, advance, text_locator};
use crate::{Event, Flow, FormatError, Head, Request, Row, TextOptions, Value, shorten, sniff};
use counterpane_model::Locator;
use memchr::memchr;
use record::{Flaw, Record};
use std::borrow::Cow;
use std::io::Read;

/// Reads delimited text; see the module's own page.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    if !request.each.is_empty() || request.nest.is_some() {
        let what = request.nest.clone().unwrap_or_else(|| request.each.clone());
        return refuse(&what, "a table has one kind of row; leave out `each` and `nest`");
    }
    let delimiter = delimiter_of(&request.text)?;
    let source = Source::open(input, &request.text, request.limits)?;
    if let Some(found) = sniff::disguise(source.bytes()) {
        return Err(FormatError::NotThis { expected: "delimited text", found });
    }
    let record = Record::new(delimiter, request.limits.columns);
    let mut table = Table { source, record, request, line: 1, half: false, columns: Vec::new() };
    table.header()?;
    let wanted = table.wanted()?;
    let head = Head { columns: table.columns.clone(), encoding: Some(table.source.encoding()), ..Head::default() };
    if sink(Event::Head(&head)) == Flow::Stop {
        return Ok(());
    }
    table.rows(&wanted, sink)
}

struct Table<'r, 'q> {
    source: Source<'r>,
    record: Record,
    request: &'q Request,
    /// Line, from 1, at which the window begins.
    line: u64,
    /// Whether the byte before the window is a CR: an LF that follows it ends no other line.
    half: bool,
    columns: Vec<String>,
}

impl Table<'_, '_> {
    /// Finds the header, reads the names of the columns and lets go of it.
    fn header(&mut self) -> Result<(), FormatError> {
        self.preamble()?;
        while self.record()? {
            let raw = self.raw();
            if !self.is_blank(raw) {
                if let Some(problem) = self.flaw(raw)? {
                    let line = shorten::line(str_of(raw));
                    return Err(FormatError::Broken {
                        problem: format!("the header `{line}`: {problem}"),
                        locator: text_locator(self.line, 1),
                    });
                }
                let names = (0..self.record.fields()).filter_map(|n| self.record.field(n));
                self.columns = names.map(|name| name.trim().to_owned()).collect();
                self.check_columns()?;
                self.pass();
                return Ok(());
            }
            self.pass();
        }
        Err(FormatError::Empty)
    }

    /// Passes over the lines above the one that holds the text that marks the header.
    fn preamble(&mut self) -> Result<(), FormatError> {
        let Some(mark) = &self.request.text.header_with else { return Ok(()) };
        let mut first = None;
        while let Some((len, ended)) = self.source.line(0)? {
            let text = str_of(&self.source.bytes()[..len]);
            if text.contains(mark.as_str()) {
                return Ok(());
            }
            first.get_or_insert_with(|| shorten::cut(text.trim(), 80));
            self.source.consume(len + usize::from(ended));
            self.line += 1;
        }
        let Some(first) = first else { return Err(FormatError::Empty) };
        refuse(mark, &format!("no line of the file holds it, so there is no header; the first line is `{first}`"))
    }

    fn check_columns(&self) -> Result<(), FormatError> {
        let n = self.columns.len();
        if n > self.request.limits.columns {
            let what = format!("a header of {n} columns");
            return Err(FormatError::Limit { what, name: "columns", limit: self.request.limits.columns as u64 });
        }
        let mut names: Vec<&str> = self.columns.iter().map(String::as_str).filter(|c| !c.is_empty()).collect();
        names.sort_unstable();
        let mut twice: Vec<&str> = names.windows(2).filter(|w| w[0] == w[1]).map(|w| w[0]).collect();
        twice.dedup();
        if twice.is_empty() {
            return Ok(());
        }
        let problem = format!("columns of the header have the same name: {}", shorten::names(twice));
        Err(FormatError::Broken { problem, locator: text_locator(self.line, 1) })
    }

    /// Returns the column of each wanted field.
    fn wanted(&self) -> Result<Vec<usize>, FormatError> {
        let known = || shorten::names(self.columns.iter().map(String::as_str));
        let column = |path: &str| {
            let by_number =
                || path.strip_prefix('#')?.parse::<usize>().ok()?.checked_sub(1).filter(|n| *n < self.columns.len());
            self.columns.iter().position(|c| c == path.trim() && !c.is_empty()).or_else(by_number)
        };
        let wants = self.request.wants.iter().map(|want| {
            if want.up > 0 {
                return refuse(&want.path, "a row of a table has no level above it; leave out `up`");
            }
            match column(&want.path) {
                Some(column) => Ok(column),
                None => refuse(&want.path, &format!("no column has this name; the columns are {}", known())),
            }
        });
        wants.collect()
    }

    fn rows(&mut self, wanted: &[usize], sink: &mut dyn FnMut(Event<'_>) -> Flow) -> Result<(), FormatError> {
        let mut rows = 0;
        while self.record()? {
            let raw = self.raw();
            if !self.is_blank(raw) {
                rows += 1;
                self.check_size(rows, raw.len())?;
                let problem = self.flaw(raw)?.or_else(|| self.ragged(raw));
                let flow = match problem {
                    Some(problem) => {
                        let locator = text_locator(self.line, 1);
                        sink(Event::Unreadable { locator, line: shorten::line(str_of(raw)), problem })
                    }
                    None => sink(Event::Row(&TextRow { raw, line: self.line, record: &self.record, wanted })),
                };
                if flow == Flow::Stop {
                    return Ok(());
                }
            }
            self.pass();
        }
        Ok(())
    }

    fn check_size(&self, rows: u64, len: usize) -> Result<(), FormatError> {
        let limits = self.request.limits;
        if rows > limits.rows {
            return Err(FormatError::Limit { what: format!("row {rows}"), name: "rows", limit: limits.rows });
        }
        if len > limits.row_bytes {
            let what = format!("line {} of {len} bytes", self.line);
            return Err(FormatError::Limit { what, name: "row_bytes", limit: limits.row_bytes as u64 });
        }
        Ok(())
    }

    fn ragged(&self, raw: &[u8]) -> Option<String> {
        if memchr(0, raw).is_some() {
            return Some("zero bytes stand in this line; it was never written, or only in part".to_owned());
        }
        let (have, want) = (self.record.fields(), self.columns.len());
        (have != want)
            .then(|| format!("this line has {} and the header has {want}", shorten::count(have as u64, "field")))
    }

    /// Returns what is wrong with the quotes of the record.
    ///
    /// # Errors
    /// A quote is never closed: then all that follows is one field, and no row can be told from another.
    fn flaw(&self, raw: &[u8]) -> Result<Option<String>, FormatError> {
        let place = |at: usize| advance((self.line, 1), &raw[..at]);
        match self.record.flaw(raw) {
            None => Ok(None),
            Some(Flaw::Stray(at)) => {
                let (line, column) = place(at);
                Ok(Some(format!("text stands behind the closing quote of the field at line {line}:{column}")))
            }
            Some(Flaw::Open(at)) => {
                let (line, column) = place(at);
                let problem = "a quote is opened here and never closed".to_owned();
                Err(FormatError::Broken { problem, locator: text_locator(line, column) })
            }
        }
    }

    /// Reads the next record, which then stands at the front of the window; `false` at the end.
    fn record(&mut self) -> Result<bool, FormatError> {
        loop {
            if self.source.bytes().is_empty() && !self.source.more()? {
                return Ok(false);
            }
            let first = self.source.bytes().first().copied();
            if matches!(first, Some(b'\r' | b'\n')) {
                self.line += u64::from(first == Some(b'\r') || !self.half);
                self.half = first == Some(b'\r');
                self.source.consume(1);
                continue;
            }
            self.half = false;
            if !self.comment()? {
                return self.record.read(&mut self.source);
            }
        }
    }

    /// Passes over a comment before it is split: a quote in a comment opens nothing.
    fn comment(&mut self) -> Result<bool, FormatError> {
        let Some(mark) = self.request.text.comment.as_deref().filter(|m| !m.is_empty()) else { return Ok(false) };
        while self.source.bytes().len() < mark.len() && self.source.more()? {}
        if !self.source.bytes().starts_with(mark.as_bytes()) {
            return Ok(false);
        }
        if let Some((len, ended)) = self.source.line(0)? {
            self.source.consume(len + usize::from(ended));
            self.line += 1;
        }
        Ok(true)
    }

    /// Returns the record as it stands in the file.
    fn raw(&self) -> &[u8] {
        &self.source.bytes()[..self.record.len]
    }

    fn pass(&mut self) {
        let bytes = &self.source.bytes()[..self.record.next];
        let text = &bytes[..self.record.len];
        // Only quotes can hold line ends; without them a record is one line.
        self.line += 1 + memchr(b'"', text).map_or(0, |_| count_lines(text));
        self.half = bytes.ends_with(b"\r");
        self.source.consume(self.record.next);
    }

    fn is_blank(&self, raw: &[u8]) -> bool {
        raw.is_empty() || (self.record.fields() == 1 && raw.trim_ascii().is_empty())
    }
}

/// A row of a table, looked at where it stands.
struct TextRow<'a> {
    raw: &'a [u8],
    line: u64,
    record: &'a Record,
    wanted: &'a [usize],
}

impl Row for TextRow<'_> {
    fn locator(&self) -> Locator {
        text_locator(self.line, 1)
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        let text = self.record.field(*self.wanted.get(want)?)?;
        Some(Value::Text(Cow::Borrowed(text)))
    }

    fn locate(&self, want: usize) -> Locator {
        let Some(column) = self.wanted.get(want) else { return self.locator() };
        let before = self.raw.get(..self.record.begin(*column, self.raw)).unwrap_or_default();
        let (line, column) = advance((self.line, 1), before);
        text_locator(line, column)
    }

    fn line(&self) -> String {
        shorten::line(str_of(self.raw))
    }
}

/// Returns a record as text. The window holds whole characters, and a record ends at one.
fn str_of(raw: &[u8]) -> &str {
    std::str::from_utf8(raw).unwrap_or_default()
}

/// Counts line ends: LF, CR LF and lone CR.
fn count_lines(bytes: &[u8]) -> u64 {
    let alone = |at: usize| bytes.get(at + 1) != Some(&b'\n');
    let cr = memchr::memchr_iter(b'\r', bytes).filter(|at| alone(*at)).count();
    (memchr::memchr_iter(b'\n', bytes).count() + cr) as u64
}

fn delimiter_of(text: &TextOptions) -> Result<u8, FormatError> {
    match text.delimiter.unwrap_or(',') {
        c @ ('"' | '\n' | '\r' | '\0') => refuse(&format!("{c:?}"), "this character cannot stand between fields"),
        c if c.is_ascii() => Ok(c as u8),
        c => refuse(&c.to_string(), "fields are separated by a character of ASCII, such as `,`, `;`, `|` or a tab"),
    }
}

fn refuse<T>(what: &str, why: &str) -> Result<T, FormatError> {
    Err(FormatError::Request { what: what.to_owned(), why: why.to_owned() })
}

#[cfg(test)]
mod tests;
