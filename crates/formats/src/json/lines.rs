//! JSON Lines: one document a line.
//!
//! A line that is not JSON does not spoil its neighbours: it is told as unreadable and reading goes on.
//! A last line that breaks off, with no line end, is a file that was cut.

use super::check::check;
use super::expand::{Element, Expander, Spot, path_of};
use super::plan::Plan;
use super::text::Text;
use super::walk::TWICE;
use crate::source::{Source, advance, text_locator};
use crate::{Event, Flow, FormatError, Head, Request, shorten};
use std::io::Read;

/// Reads JSON Lines; blank lines are passed over.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    let plan = Plan::new(request, true)?;
    let mut source = Source::open(input, &request.text, request.limits)?;
    super::begins_like_json(&mut source, "JSON Lines")?;
    let head = Head { encoding: Some(source.encoding()), ..Head::default() };
    if sink(Event::Head(&head)) == Flow::Stop {
        return Ok(());
    }
    let mut expander = Expander::new(&plan, request.limits);
    let (mut line, mut row) = (source.place(0).0, 0);
    while let Some((len, ended)) = source.line(0)? {
        // Whole by the promise of the source.
        let text = std::str::from_utf8(&source.bytes()[..len]).unwrap_or_default().trim();
        if !text.is_empty() {
            row += 1;
            check_size(request.limits.row_bytes, line, len)?;
            let flow = match check(text, request.limits.depth) {
                Ok(()) => document(text, row, &mut expander, sink)?,
                Err(e) => sink(refused(&e, text, (line, row), ended)?),
            };
            if flow == Flow::Stop {
                return Ok(());
            }
        }
        source.consume(len + usize::from(ended));
        line += 1;
    }
    expander.finish(sink);
    Ok(())
}

fn document(
    text: &str,
    row: u64,
    expander: &mut Expander<'_>,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<Flow, FormatError> {
    let element = Element { trail: &[], document: Some(row), outside: &[] };
    let root = Spot::root(Text(text));
    match root.doubled() {
        None => expander.element(element, root, sink),
        Some(way) => {
            let locator = element.locator(path_of(&way));
            Ok(sink(Event::Unreadable { locator, line: shorten::line(text), problem: TWICE.to_owned() }))
        }
    }
}

fn check_size(limit: usize, line: u64, len: usize) -> Result<(), FormatError> {
    if len <= limit {
        return Ok(());
    }
    let what = format!("line {line} of {len} bytes");
    Err(FormatError::Limit { what, name: "row_bytes", limit: limit as u64 })
}

/// Returns what to say of a line that was refused, or the error when it says that the file is another or was cut.
fn refused(
    e: &serde_json::Error,
    text: &str,
    (line, row): (u64, u64),
    ended: bool,
) -> Result<Event<'static>, FormatError> {
    // They count the bytes up to the one at fault, and where the text ends there is none.
    let before = if e.is_eof() { text.len() } else { e.column().saturating_sub(1).min(text.len()) };
    let (_, column) = advance((line, 1), &text.as_bytes()[..before]);
    let locator = text_locator(line, column);
    let problem = problem(e);
    if row == 1 && ended && !e.is_data() {
        let found = format!("line {line} is not one whole document: {problem} (column {column})");
        return Err(FormatError::NotThis { expected: "JSON Lines", found });
    }
    if !ended && e.is_eof() {
        return Err(FormatError::Broken { problem, locator });
    }
    Ok(Event::Unreadable { locator, line: shorten::line(text), problem })
}

/// Returns what serde_json says of a text, without its place, and in our words when it breaks off.
fn problem(e: &serde_json::Error) -> String {
    let said = e.to_string();
    let said = said.strip_suffix(&format!(" at line {} column {}", e.line(), e.column())).unwrap_or(&said);
    match said.strip_prefix("EOF while parsing ") {
        Some("a value") => "the line breaks off where a value should stand".to_owned(),
        Some("a string") => "the line breaks off inside a text".to_owned(),
        Some(what) => format!("the line breaks off inside {what}"),
        None => said.to_owned(),
    }
}
