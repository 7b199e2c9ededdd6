//! Delimited text (RFC 4180): a header line, and below it a row a line.
//!
//! A row whose number of fields differs from the header's is told as unreadable with its own text and
//! reading goes on. Blank lines and comments are no rows. Values are given as they stand, untrimmed.

pub(crate) mod split;

use crate::source::{Source, advance, text_locator};
use crate::{Event, Flow, FormatError, Head, Request, Row, TextOptions, Value, shorten, sniff};
use counterpane_model::Locator;
use split::{Field, Outcome, split};
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
    let mut table = Table { source, delimiter, request, line: 1, fields: Vec::new(), columns: Vec::new() };
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
    delimiter: String,
    request: &'q Request,
    /// Line, from 1, at which the window begins.
    line: u64,
    fields: Vec<Field>,
    columns: Vec<String>,
}

impl Table<'_, '_> {
    /// Finds the header, reads the names of the columns and lets go of it.
    fn header(&mut self) -> Result<(), FormatError> {
        self.preamble()?;
        loop {
            let Some(found) = self.record()? else {
                return Err(FormatError::Empty);
            };
            let text = record_text(&self.source, found.len);
            if !self.is_blank(text) {
                if let Some(problem) = found.problem {
                    let line = shorten::line(text);
                    return Err(FormatError::Broken {
                        problem: format!("the header `{line}`: {problem}"),
                        locator: text_locator(self.line, 1),
                    });
                }
                self.columns = self.fields.iter().map(|f| read_field(text, f).trim().to_owned()).collect();
                self.pass(found.next);
                return self.check_columns();
            }
            self.pass(found.next);
        }
    }

    /// Passes over the lines above the one that holds the text that marks the header.
    fn preamble(&mut self) -> Result<(), FormatError> {
        let Some(mark) = &self.request.text.header_with else { return Ok(()) };
        let mut first = None;
        while let Some((len, ended)) = self.source.line(0)? {
            let text = record_text(&self.source, len);
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
        Err(FormatError::Broken { problem, locator: text_locator(self.line - 1, 1) })
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
        while let Some(Found { len, next, problem }) = self.record()? {
            let text = record_text(&self.source, len);
            if !self.is_blank(text) {
                rows += 1;
                self.check_size(rows, len)?;
                let flow = match problem.or_else(|| self.ragged(text)) {
                    Some(problem) => {
                        let locator = text_locator(self.line, 1);
                        sink(Event::Unreadable { locator, line: shorten::line(text), problem })
                    }
                    None => sink(Event::Row(&TextRow { text, line: self.line, fields: &self.fields, wanted })),
                };
                if flow == Flow::Stop {
                    return Ok(());
                }
            }
            self.pass(next);
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

    fn ragged(&self, text: &str) -> Option<String> {
        if text.as_bytes().contains(&0) {
            return Some("zero bytes stand in this line; it was never written, or only in part".to_owned());
        }
        let (have, want) = (self.fields.len(), self.columns.len());
        (have != want)
            .then(|| format!("this line has {} and the header has {want}", shorten::count(have as u64, "field")))
    }

    /// Passes over comments before they are split: a quote in a comment opens nothing.
    fn comments(&mut self) -> Result<(), FormatError> {
        let Some(mark) = self.request.text.comment.as_deref().filter(|m| !m.is_empty()) else { return Ok(()) };
        loop {
            while self.source.bytes().len() < mark.len() && self.source.more()? {}
            if !self.source.bytes().starts_with(mark.as_bytes()) {
                return Ok(());
            }
            if let Some((len, ended)) = self.source.line(0)? {
                self.source.consume(len + usize::from(ended));
                self.line += 1;
            }
        }
    }

    /// Splits the record at the front of the window.
    fn record(&mut self) -> Result<Option<Found>, FormatError> {
        self.comments()?;
        let mut last = false;
        loop {
            if self.source.bytes().is_empty() && !self.source.more()? {
                return Ok(None);
            }
            let found = match split(self.source.bytes(), self.delimiter.as_bytes(), last, &mut self.fields) {
                Outcome::More => {
                    last = !self.source.more()?;
                    continue;
                }
                Outcome::Record { len, next } => Found { len, next, problem: None },
                Outcome::Stray { at, len, next } => {
                    let (line, column) = advance((self.line, 1), &self.source.bytes()[..at]);
                    let problem = format!("text stands behind a closing quote, at line {line}:{column}");
                    Found { len, next, problem: Some(problem) }
                }
                Outcome::Open { at } => {
                    let (line, column) = advance((self.line, 1), &self.source.bytes()[..at]);
                    let problem = "a quote is opened here and never closed".to_owned();
                    return Err(FormatError::Broken { problem, locator: text_locator(line, column) });
                }
            };
            return Ok(Some(found));
        }
    }

    fn pass(&mut self, next: usize) {
        let bytes = &self.source.bytes()[..next];
        // Only quotes can hold line ends; without them a record is one line.
        self.line += match self.fields.iter().any(|f| f.quoted) {
            true => count_lines(bytes),
            false => 1,
        };
        self.source.consume(next);
    }

    fn is_blank(&self, text: &str) -> bool {
        text.is_empty() || (self.fields.len() == 1 && text.trim_ascii().is_empty())
    }
}

/// A record at the front of the window.
struct Found {
    len: usize,
    next: usize,
    problem: Option<String>,
}

/// A row of a table, looked at where it stands.
struct TextRow<'a> {
    text: &'a str,
    line: u64,
    fields: &'a [Field],
    wanted: &'a [usize],
}

impl TextRow<'_> {
    fn field(&self, want: usize) -> Option<&Field> {
        self.fields.get(*self.wanted.get(want)?)
    }
}

impl Row for TextRow<'_> {
    fn locator(&self) -> Locator {
        text_locator(self.line, 1)
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        self.field(want).map(|field| Value::Text(read_field(self.text, field)))
    }

    fn locate(&self, want: usize) -> Locator {
        let Some(field) = self.field(want) else { return self.locator() };
        let start = field.start - usize::from(field.quoted);
        let (line, column) = advance((self.line, 1), &self.text.as_bytes()[..start]);
        text_locator(line, column)
    }

    fn line(&self) -> String {
        shorten::line(self.text)
    }
}

fn read_field<'t>(text: &'t str, field: &Field) -> Cow<'t, str> {
    let raw = text.get(field.start..field.end).unwrap_or_default();
    if field.doubled { Cow::Owned(raw.replace("\"\"", "\"")) } else { Cow::Borrowed(raw) }
}

fn record_text<'a>(source: &'a Source<'_>, len: usize) -> &'a str {
    // The window holds whole characters, and a record ends at one.
    std::str::from_utf8(&source.bytes()[..len]).unwrap_or_default()
}

/// Counts line ends: LF, CR LF and lone CR.
fn count_lines(bytes: &[u8]) -> u64 {
    let alone = |w: &[u8]| w[0] == b'\r' && w.get(1) != Some(&b'\n');
    let lf = bytes.iter().filter(|b| **b == b'\n').count();
    let cr = bytes.windows(2).filter(|w| alone(w)).count() + usize::from(bytes.last() == Some(&b'\r'));
    (lf + cr) as u64
}

fn delimiter_of(text: &TextOptions) -> Result<String, FormatError> {
    match text.delimiter.unwrap_or(',') {
        c @ ('"' | '\n' | '\r' | '\0') => refuse(&format!("{c:?}"), "this character cannot stand between fields"),
        c => Ok(c.to_string()),
    }
}

fn refuse<T>(what: &str, why: &str) -> Result<T, FormatError> {
    Err(FormatError::Request { what: what.to_owned(), why: why.to_owned() })
}

#[cfg(test)]
mod tests;
