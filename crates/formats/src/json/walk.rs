//! The way through one document, while it streams by.

use super::expand::{Element, Expander, Kept, Taken, path_of};
use super::plan::Plan;
use super::scan::{Fault, Scanner, Skip};
use super::tape::{LONGEST, Tape, unescape};
use crate::path::Step;
use crate::source::Source;
use crate::{Event, Flow, FormatError, Limits, shorten};
use counterpane_model::Locator;
use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};

type Sink<'s> = &'s mut dyn FnMut(Event<'_>) -> Flow;

/// Reads the document and hands out its rows.
pub(super) fn read(source: Source<'_>, plan: &Plan, limits: Limits, sink: Sink<'_>) -> Result<(), FormatError> {
    let mut walk = Walk {
        scan: Scanner::new(source, limits.depth),
        plan,
        limits,
        tape: Tape::default(),
        trail: Vec::new(),
        expander: Expander::new(plan, limits),
        outside: vec![None; plan.outside.len()],
        began: vec![0; plan.outside.len()],
        elements: 0,
        found: false,
        top: Vec::new(),
    };
    let outside: Vec<usize> = (0..plan.outside.len()).collect();
    if walk.value(true, &outside, sink)? == Flow::Stop {
        return Ok(());
    }
    if walk.peek()?.is_some() {
        let problem = "a second document begins here, or stray text; one file of JSON is one document, and many of them, one a line, are JSON Lines";
        return Err(FormatError::Broken {
            problem: problem.to_owned(),
            locator: walk.scan.window.locator(walk.scan.at),
        });
    }
    walk.finish(sink);
    Ok(())
}

struct Walk<'r, 'p> {
    scan: Scanner<Source<'r>>,
    plan: &'p Plan,
    limits: Limits,
    tape: Tape,
    trail: Vec<Taken>,
    expander: Expander<'p>,
    /// Values outside the rows, as far as they have been met.
    outside: Vec<Kept>,
    /// Elements that had been handed out when the part began that such a value holds for.
    began: Vec<u64>,
    elements: u64,
    /// Whether the part that holds the rows exists.
    found: bool,
    /// Names at the top of the document, for the message when it does not.
    top: Vec<String>,
}

impl<'r> Walk<'r, '_> {
    /// Reads the value that is next. `rows` says that rows may stand here or below; `outside` lists the
    /// values outside the rows of which the same is true.
    fn value(&mut self, rows: bool, outside: &[usize], sink: Sink<'_>) -> Result<Flow, FormatError> {
        let depth = self.trail.len();
        if rows && depth == self.plan.stream.len() {
            return self.element(sink);
        }
        if outside.iter().any(|n| self.plan.outside[*n].steps.len() == depth) {
            self.keep(outside, depth)?;
            return Ok(Flow::Continue);
        }
        if !rows && outside.is_empty() {
            self.skip()?;
            return Ok(Flow::Continue);
        }
        match self.peek()? {
            Some(b'[') => self.list(rows, outside, sink),
            Some(b'{') => self.object(rows, outside, sink),
            other => self.scalar(rows, other, sink),
        }
    }

    fn list(&mut self, rows: bool, outside: &[usize], sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.arrive(rows);
        let depth = self.trail.len();
        let mut index = 0;
        self.ask(|scan| scan.enter(true))?;
        while !self.ask(Scanner::leave)? {
            if index > 0 {
                self.ask(Scanner::comma)?;
            }
            let here = |step: Option<&Step>| match step {
                Some(Step::Items | Step::Members) => true,
                Some(Step::Index(n)) => *n as u64 == index,
                _ => false,
            };
            let below: Vec<usize> =
                outside.iter().copied().filter(|n| here(self.plan.outside[*n].steps.get(depth))).collect();
            let rows = rows && here(self.plan.stream.get(depth));
            self.trail.push(Taken::Index(index));
            self.begin_scopes(&below);
            if self.value(rows, &below, sink)? == Flow::Stop {
                return Ok(Flow::Stop);
            }
            self.trail.pop();
            index += 1;
        }
        Ok(Flow::Continue)
    }

    fn object(&mut self, rows: bool, outside: &[usize], sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.arrive(rows);
        let depth = self.trail.len();
        let mut seen = HashSet::new();
        self.ask(|scan| scan.enter(false))?;
        while !self.ask(Scanner::leave)? {
            if !seen.is_empty() {
                self.ask(Scanner::comma)?;
            }
            let name = self.name()?;
            if depth == 0 && self.top.len() < 100 {
                self.top.push(name.clone());
            }
            let here = |step: Option<&Step>| match step {
                Some(Step::Items | Step::Members) => true,
                Some(Step::Name(wanted)) => *wanted == name,
                _ => false,
            };
            let below: Vec<usize> =
                outside.iter().copied().filter(|n| here(self.plan.outside[*n].steps.get(depth))).collect();
            let step = self.plan.stream.get(depth);
            let rows = rows && here(step);
            let doubled = !seen.insert(fingerprint(&name));
            self.trail.push(Taken::Name { name, wild: rows && step.is_some_and(Step::is_wild) });
            if doubled {
                return Err(twice(path_of(&self.trail)));
            }
            self.begin_scopes(&below);
            if self.value(rows, &below, sink)? == Flow::Stop {
                return Ok(Flow::Stop);
            }
            self.trail.pop();
        }
        Ok(Flow::Continue)
    }

    /// Notes that a list or object stands where rows may stand below it.
    fn arrive(&mut self, rows: bool) {
        self.found |= rows && self.plan.stream.get(self.trail.len()).is_some_and(Step::is_wild);
    }

    fn scalar(&mut self, rows: bool, first: Option<u8>, sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.arrive(rows);
        let last = rows && self.plan.stream.get(self.trail.len()).is_some_and(Step::is_wild);
        // Nothing at all is an empty list.
        if !last || matches!(first, Some(b'n') | None) {
            self.skip()?;
            return Ok(Flow::Continue);
        }
        let (text, _) = self.take()?;
        let line = shorten::line(text);
        let locator = Locator::Json { path: path_of(&self.trail) };
        self.scan.release();
        Ok(sink(Event::Unreadable { locator, line, problem: "a list of rows should stand here".to_owned() }))
    }

    /// Reads an element and hands out its rows.
    fn element(&mut self, sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.found = true;
        self.elements += 1;
        self.fill_tape()?;
        let text = text_of(&self.scan);
        check(&self.tape, text, &self.trail)?;
        let element = Element { text, tape: &self.tape, trail: &self.trail, document: None, outside: &self.outside };
        let flow = self.expander.element(element, sink)?;
        self.scan.release();
        Ok(flow)
    }

    /// Reads a value outside the rows and keeps what was asked for of it.
    fn keep(&mut self, outside: &[usize], depth: usize) -> Result<(), FormatError> {
        self.fill_tape()?;
        let text = text_of(&self.scan);
        check(&self.tape, text, &self.trail)?;
        for n in outside {
            let wanted = &self.plan.outside[*n];
            let Some(at) = self.tape.follow(0, &wanted.steps[depth..], text) else { continue };
            if self.elements > self.began[*n] {
                let (line, column) = self.scan.window.place(0);
                let why = format!(
                    "it stands after the rows, at line {line}:{column}, and the file is read once from its beginning; give this value another way, or use `each = \"$\"` with `nest`, which holds the whole document in memory"
                );
                return Err(FormatError::Request { what: wanted.text.clone(), why });
            }
            let mut path = path_of(&self.trail);
            crate::path::push_steps(&mut path, &wanted.steps[depth..]);
            self.outside[*n] = Some((path, self.tape.node(at, text)));
        }
        self.scan.release();
        Ok(())
    }

    /// Forgets values that held for the element before this one.
    fn begin_scopes(&mut self, outside: &[usize]) {
        for n in outside {
            if self.plan.outside[*n].scope == self.trail.len() {
                self.outside[*n] = None;
                self.began[*n] = self.elements;
            }
        }
    }

    fn finish(&mut self, sink: Sink<'_>) {
        if self.found {
            return self.expander.finish(sink);
        }
        let names = shorten::names(self.top.iter().map(String::as_str));
        let problem = format!("this file has no `{}`; at its top it has {names}", self.plan.each);
        let locator = Locator::Json { path: "$".to_owned() };
        let _ = sink(Event::Unreadable { locator, line: String::new(), problem });
    }

    /// Reads the next value into the tape and holds its text in the window.
    fn fill_tape(&mut self) -> Result<(), FormatError> {
        self.peek()?;
        self.scan.pin();
        self.tape.clear();
        if let Err(fault) = self.scan.value(&mut self.tape) {
            return Err(self.explain(fault));
        }
        let len = self.scan.at;
        if len > self.limits.row_bytes.min(LONGEST) {
            let (line, column) = self.scan.window.place(0);
            let what = format!("a row of {len} bytes that begins at line {line}:{column}");
            return Err(FormatError::Limit { what, name: "row_bytes", limit: self.limits.row_bytes as u64 });
        }
        Ok(())
    }

    /// Reads the next value and returns its text, which stays in the window until it is released.
    fn take(&mut self) -> Result<(&str, usize), FormatError> {
        self.fill_tape()?;
        Ok((text_of(&self.scan), self.scan.at))
    }

    fn name(&mut self) -> Result<String, FormatError> {
        self.peek()?;
        self.scan.pin();
        let (start, end, escaped) = self.ask(Scanner::name)?;
        let raw = std::str::from_utf8(&self.scan.window.bytes()[start..end]).unwrap_or_default();
        let name = if escaped { unescape(raw) } else { raw.to_owned() };
        self.scan.release();
        Ok(name)
    }

    fn skip(&mut self) -> Result<(), FormatError> {
        self.ask(|scan| scan.value(&mut Skip))
    }

    fn peek(&mut self) -> Result<Option<u8>, FormatError> {
        self.ask(Scanner::peek)
    }

    fn ask<T>(
        &mut self,
        question: impl FnOnce(&mut Scanner<Source<'r>>) -> Result<T, Fault>,
    ) -> Result<T, FormatError> {
        question(&mut self.scan).map_err(|fault| self.explain(fault))
    }

    fn explain(&self, fault: Fault) -> FormatError {
        match fault {
            Fault::Format(e) => e,
            Fault::Flaw { at, problem } => FormatError::Broken { problem, locator: self.scan.window.locator(at) },
            Fault::Deep { at } => {
                let (line, column) = self.scan.window.place(at);
                let what = format!("the nesting at line {line}:{column}");
                FormatError::Limit { what, name: "depth", limit: self.limits.depth as u64 }
            }
        }
    }
}

/// Returns the text that a pinned scanner has read.
fn text_of<'a>(scan: &'a Scanner<Source<'_>>) -> &'a str {
    // The window holds whole characters, and a value begins and ends with one of ASCII.
    std::str::from_utf8(&scan.window.bytes()[..scan.at]).unwrap_or_default()
}

fn check(tape: &Tape, text: &str, trail: &[Taken]) -> Result<(), FormatError> {
    let Some((object, name)) = tape.doubled(text) else { return Ok(()) };
    let mut path = path_of(trail);
    tape.push_path(object, text, &mut path);
    crate::path::push_name(&mut path, &tape.text(name, text));
    Err(twice(path))
}

fn twice(path: String) -> FormatError {
    let problem = "this name stands twice in one object, and nothing says which value counts".to_owned();
    FormatError::Broken { problem, locator: Locator::Json { path } }
}

/// Returns 128 bits that stand for a name: with them, even a thousand million names collide by
/// chance about once in 10^20 files.
fn fingerprint(name: &str) -> u128 {
    let half = |salt: u8| {
        let mut hasher = DefaultHasher::new();
        salt.hash(&mut hasher);
        name.hash(&mut hasher);
        u128::from(hasher.finish())
    };
    half(0) << 64 | half(1)
}
