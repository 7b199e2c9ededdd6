//! The way through one document, while it streams by.

use super::expand::{Element, Expander, Kept, Spot, Taken, path_of};
use super::plan::Plan;
use super::stream::Stream;
use super::text::Text;
use crate::path::Step;
use crate::source::Source;
use crate::{Event, Flow, FormatError, Limits, shorten};
use counterpane_model::Locator;
use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use struson::reader::ValueType;

type Sink<'s> = &'s mut dyn FnMut(Event<'_>) -> Flow;

/// Reads the document and hands out its rows.
pub(super) fn read(source: Source<'_>, plan: &Plan, limits: Limits, sink: Sink<'_>) -> Result<(), FormatError> {
    let mut walk = Walk {
        json: Stream::new(source, limits),
        plan,
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
    match walk.json.has_next() {
        Ok(false) => {}
        Err(e) if !matches!(e, FormatError::Broken { .. }) => return Err(e),
        // Whatever it is that follows, it should not.
        Ok(true) | Err(_) => {
            let problem = "a second document begins here, or stray text; one file of JSON is one document, and many of them, one a line, are JSON Lines";
            return Err(FormatError::Broken { problem: problem.to_owned(), locator: walk.json.locator() });
        }
    }
    walk.finish(sink);
    Ok(())
}

struct Walk<'r, 'p> {
    json: Stream<'r>,
    plan: &'p Plan,
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

impl Walk<'_, '_> {
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
            self.json.skip()?;
            return Ok(Flow::Continue);
        }
        match self.json.peek()? {
            ValueType::Array => self.list(rows, outside, sink),
            ValueType::Object => self.object(rows, outside, sink),
            other => self.scalar(rows, other, sink),
        }
    }

    fn list(&mut self, rows: bool, outside: &[usize], sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.arrive(rows);
        let depth = self.trail.len();
        let mut index = 0;
        self.json.begin_list()?;
        while self.json.has_next()? {
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
        self.json.end_list()?;
        Ok(Flow::Continue)
    }

    fn object(&mut self, rows: bool, outside: &[usize], sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.arrive(rows);
        let depth = self.trail.len();
        let mut seen = HashSet::new();
        self.json.begin_object()?;
        while self.json.has_next()? {
            let name = self.json.name()?;
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
        self.json.end_object()?;
        Ok(Flow::Continue)
    }

    /// Notes that a list or object stands where rows may stand below it.
    fn arrive(&mut self, rows: bool) {
        self.found |= rows && self.plan.stream.get(self.trail.len()).is_some_and(Step::is_wild);
    }

    fn scalar(&mut self, rows: bool, kind: ValueType, sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.arrive(rows);
        let last = rows && self.plan.stream.get(self.trail.len()).is_some_and(Step::is_wild);
        // Nothing at all is an empty list.
        if !last || kind == ValueType::Null {
            self.json.skip()?;
            return Ok(Flow::Continue);
        }
        let held = self.json.hold()?;
        let line = self.json.text(held).line();
        let locator = Locator::Json { path: path_of(&self.trail) };
        Ok(sink(Event::Unreadable { locator, line, problem: "a list of rows should stand here".to_owned() }))
    }

    /// Reads an element and hands out its rows.
    fn element(&mut self, sink: Sink<'_>) -> Result<Flow, FormatError> {
        self.found = true;
        self.elements += 1;
        let held = self.json.hold()?;
        let root = checked(self.json.text(held), &self.trail)?;
        let element = Element { trail: &self.trail, document: None, outside: &self.outside };
        self.expander.element(element, root, sink)
    }

    /// Reads a value outside the rows and keeps what was asked for of it.
    fn keep(&mut self, outside: &[usize], depth: usize) -> Result<(), FormatError> {
        let held = self.json.hold()?;
        let text = self.json.text(held);
        checked(text, &self.trail)?;
        for n in outside {
            let wanted = &self.plan.outside[*n];
            let Some(value) = text.follow(&wanted.steps[depth..]) else { continue };
            if self.elements > self.began[*n] {
                let why = format!(
                    "it stands after the rows, at line {}:{}, and the file is read once from its beginning; give this value another way, or use `each = \"$\"` with `nest`, which holds the whole document in memory",
                    held.line, held.column
                );
                return Err(FormatError::Request { what: wanted.text.clone(), why });
            }
            let mut path = path_of(&self.trail);
            crate::path::push_steps(&mut path, &wanted.steps[depth..]);
            self.outside[*n] = Some((path, value.node()));
        }
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
}

fn checked<'t>(text: Text<'t>, trail: &[Taken]) -> Result<Spot<'t>, FormatError> {
    let root = Spot::root(text);
    match root.doubled() {
        Some(below) => Err(twice(path_of(&[trail, &below].concat()))),
        None => Ok(root),
    }
}

/// What is wrong with a name that stands twice.
pub(super) const TWICE: &str = "this name stands twice in one object, and nothing says which value counts";

fn twice(path: String) -> FormatError {
    FormatError::Broken { problem: TWICE.to_owned(), locator: Locator::Json { path } }
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
