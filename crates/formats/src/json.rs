//! JSON (RFC 8259), read once from its beginning, one element at a time.
//!
//! `each` says where the rows are: `$` is the whole document, `$.nights[*]` the items of a list,
//! `$.by_day.*` the members of an object (their name is the field `@key`). What is not a row is passed
//! over without being kept, so memory does not grow with the file; the one thing that does grow is a note
//! of each member of an object whose members are followed, to notice a name that stands twice.
//!
//! A field whose path begins with `$` stands outside the row. It is kept while the file streams by, so it
//! must stand before the rows; when it turns up after a row that asked for it, that is an error and not a
//! wrong answer. Wildcards that it shares with `each` mean the same element as in the row's own path.
//!
//! The grammar is that of two libraries: struson finds where values begin and end in the stream, serde_json
//! reads the elements and the lines in memory.
//!
//! Deliberately absent: a second pass (the input may be a pipe or a member of an archive), and any
//! look into parts that are passed over beyond whether they are JSON: a name that stands twice there
//! cannot change a row.

mod check;
mod expand;
pub(crate) mod lines;
mod outline;
mod plan;
mod stream;
mod text;
mod walk;

use crate::source::Source;
use crate::{Event, Flow, FormatError, Head, Request, sniff};
pub(crate) use outline::{Outline, outline};
use plan::Plan;
use std::io::Read;

/// Reads one JSON document; see the module's own page.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    let plan = Plan::new(request, false)?;
    let mut source = Source::open(input, &request.text, request.limits)?;
    begins_like_json(&mut source, "JSON")?;
    let head = Head { encoding: Some(source.encoding()), ..Head::default() };
    if sink(Event::Head(&head)) == Flow::Stop {
        return Ok(());
    }
    walk::read(source, &plan, request.limits, sink)
}

/// Passes over blanks and refuses what cannot be JSON, saying what it is instead.
fn begins_like_json(source: &mut Source<'_>, expected: &'static str) -> Result<(), FormatError> {
    loop {
        let blank = source.bytes().iter().take_while(|b| matches!(b, b' ' | b'\t' | b'\n' | b'\r')).count();
        source.consume(blank);
        if let Some(first) = source.bytes().first() {
            // A zero byte would be half of a character of UTF-16 without a byte order mark.
            let wide = source.bytes().get(1) == Some(&0);
            if !wide && matches!(first, b'{' | b'[' | b'"' | b'-' | b'0'..=b'9' | b't' | b'f' | b'n') {
                return Ok(());
            }
            let (line, column) = source.place(0);
            let found = match sniff::disguise(source.bytes()) {
                Some(found) => found,
                None => format!("line {line}:{column} begins with {}", sniff::beginning(source.bytes())),
            };
            return Err(FormatError::NotThis { expected, found });
        }
        if !source.more()? {
            return Err(FormatError::Empty);
        }
    }
}

#[cfg(test)]
mod tests;
