//! Plain text: a row is a line that is not blank.
//!
//! Fields: `line` (the whole line, trimmed), `word 1`, `word 2` … (between white space), and `rest 2` (from
//! the second word to the end of the line).

use crate::source::{Source, advance, text_locator};
use crate::{Event, Flow, FormatError, Head, Request, Row, Value, shorten, sniff};
use counterpane_model::Locator;
use std::borrow::Cow;
use std::io::Read;

/// Reads plain text; see the module's own page.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    if !request.each.is_empty() || request.nest.is_some() {
        let what = request.nest.clone().unwrap_or_else(|| request.each.clone());
        return refuse(&what, "a plain text has one kind of row; leave out `each` and `nest`");
    }
    let parts = request.wants.iter().map(part).collect::<Result<Vec<_>, _>>()?;
    let mut source = Source::open(input, &request.text, request.limits)?;
    if let Some(found) = sniff::disguise(source.bytes()) {
        return Err(FormatError::NotThis { expected: "plain text", found });
    }
    let head = Head { encoding: Some(source.encoding()), ..Head::default() };
    if sink(Event::Head(&head)) == Flow::Stop {
        return Ok(());
    }
    let (mut line, mut rows) = (1, 0);
    while let Some((len, ended)) = source.line(0)? {
        // The window holds whole characters, and a line ends at one.
        let text = std::str::from_utf8(&source.bytes()[..len]).unwrap_or_default();
        if !is_left_out(text, request) {
            rows += 1;
            check_size(request, rows, line, len)?;
            let flow = if text.as_bytes().contains(&0) {
                let problem = "zero bytes stand in this line; it was never written, or only in part".to_owned();
                sink(Event::Unreadable { locator: text_locator(line, 1), line: shorten::line(text.trim()), problem })
            } else {
                sink(Event::Row(&Line { text, line, parts: &parts }))
            };
            if flow == Flow::Stop {
                return Ok(());
            }
        }
        source.consume(len + usize::from(ended));
        line += 1;
    }
    Ok(())
}

/// A part of a line.
#[derive(Clone, Copy, Debug)]
enum Part {
    Line,
    /// The word of this number, from 0.
    Word(usize),
    /// Everything from the word of this number on.
    Rest(usize),
}

fn part(want: &crate::Want) -> Result<Part, FormatError> {
    let number = |text: &str| text.trim().parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    if want.up > 0 {
        return refuse(&want.path, "a line has no level above it; leave out `up`");
    }
    let part = match want.path.split_once(' ') {
        None if want.path == "line" => Some(Part::Line),
        Some(("word", n)) => number(n).map(Part::Word),
        Some(("rest", n)) => number(n).map(Part::Rest),
        _ => None,
    };
    match part {
        Some(part) => Ok(part),
        None => refuse(&want.path, "a line of plain text has `line`, `word 1`, `word 2` … and `rest 2` …"),
    }
}

/// A line, looked at where it stands.
struct Line<'a> {
    text: &'a str,
    line: u64,
    parts: &'a [Part],
}

impl<'a> Line<'a> {
    fn find(&self, want: usize) -> Option<&'a str> {
        let text = self.text.trim();
        match *self.parts.get(want)? {
            Part::Line => Some(text),
            Part::Word(n) => text.split_whitespace().nth(n),
            Part::Rest(n) => {
                let word = text.split_whitespace().nth(n)?;
                text.get(word.as_ptr() as usize - text.as_ptr() as usize..)
            }
        }
    }
}

impl Row for Line<'_> {
    fn locator(&self) -> Locator {
        text_locator(self.line, 1)
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        self.find(want).map(|text| Value::Text(Cow::Borrowed(text)))
    }

    fn locate(&self, want: usize) -> Locator {
        let Some(found) = self.find(want) else { return self.locator() };
        let start = found.as_ptr() as usize - self.text.as_ptr() as usize;
        let (line, column) = advance((self.line, 1), &self.text.as_bytes()[..start]);
        text_locator(line, column)
    }

    fn line(&self) -> String {
        shorten::line(self.text.trim())
    }
}

fn is_left_out(text: &str, request: &Request) -> bool {
    text.trim().is_empty() || request.text.comment.as_deref().is_some_and(|mark| text.trim_start().starts_with(mark))
}

fn check_size(request: &Request, rows: u64, line: u64, len: usize) -> Result<(), FormatError> {
    let limits = request.limits;
    if rows > limits.rows {
        return Err(FormatError::Limit { what: format!("row {rows}"), name: "rows", limit: limits.rows });
    }
    if len > limits.row_bytes {
        let what = format!("line {line} of {len} bytes");
        return Err(FormatError::Limit { what, name: "row_bytes", limit: limits.row_bytes as u64 });
    }
    Ok(())
}

fn refuse<T>(what: &str, why: &str) -> Result<T, FormatError> {
    Err(FormatError::Request { what: what.to_owned(), why: why.to_owned() })
}

#[cfg(test)]
mod tests;
