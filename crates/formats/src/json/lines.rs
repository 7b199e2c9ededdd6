//! JSON Lines: one document a line.
//!
//! A line that is not JSON does not spoil its neighbours: it is told as unreadable and reading goes on.
//! A last line that breaks off, with no line end, is a file that was cut.

use super::expand::{Element, Expander};
use super::plan::Plan;
use super::scan::{Fault, Scanner};
use super::tape::{LONGEST, Tape};
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
    let mut tape = Tape::default();
    let (mut line, mut row) = (source.place(0).0, 0);
    while let Some((len, ended)) = source.line(0)? {
        let bytes = &source.bytes()[..len];
        // Whole by the promise of the source.
        let text = std::str::from_utf8(bytes).unwrap_or_default().trim_end();
        if !text.trim_start().is_empty() {
            row += 1;
            let limit = request.limits.row_bytes.min(LONGEST);
            if len > limit {
                let what = format!("line {line} of {len} bytes");
                return Err(FormatError::Limit { what, name: "row_bytes", limit: limit as u64 });
            }
            let flow = match document(text, &mut tape, request.limits.depth) {
                Ok(()) => {
                    let element = Element { text, tape: &tape, trail: &[], document: Some(row), outside: &[] };
                    expander.element(element, sink)?
                }
                Err(flaw) => {
                    let (line, column) = advance((line, 1), &text.as_bytes()[..flaw.at.min(text.len())]);
                    let locator = text_locator(line, column);
                    if row == 1 && flaw.grammar && ended {
                        let found =
                            format!("line {line} is not one whole document: {} (column {column})", flaw.problem);
                        return Err(FormatError::NotThis { expected: "JSON Lines", found });
                    }
                    if !ended && flaw.at >= text.len() {
                        return Err(FormatError::Broken { problem: flaw.problem, locator });
                    }
                    sink(Event::Unreadable { locator, line: shorten::line(text), problem: flaw.problem })
                }
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

struct Flaw {
    at: usize,
    problem: String,
    /// Whether it is not JSON at all, rather than JSON that is refused.
    grammar: bool,
}

/// Reads one line into the tape.
fn document(text: &str, tape: &mut Tape, depth: usize) -> Result<(), Flaw> {
    let mut scan = Scanner::new(text.as_bytes(), depth);
    scan.pinned = true;
    tape.clear();
    let read = scan.value(tape).and_then(|()| scan.peek());
    match read {
        Ok(None) => {}
        Ok(Some(_)) => return flaw(scan.at, "something stands after the document".to_owned(), true),
        Err(Fault::Flaw { at, problem }) => {
            return flaw(at, problem.replace("the file breaks", "the line breaks"), true);
        }
        Err(Fault::Deep { at }) => return flaw(at, format!("it is nested deeper than the limit of {depth}"), false),
        Err(Fault::Format(e)) => return flaw(0, e.to_string(), false),
    }
    match tape.doubled(text) {
        Some((_, name)) => {
            let problem = format!("the name `{}` stands twice in one object", shorten::cut(tape.raw(name, text), 40));
            flaw(tape.start(name), problem, false)
        }
        None => Ok(()),
    }
}

fn flaw(at: usize, problem: String, grammar: bool) -> Result<(), Flaw> {
    Err(Flaw { at, problem, grammar })
}
