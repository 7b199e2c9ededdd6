//! From one element in memory to its rows.

use super::plan::{Field, Plan};
use super::tape::{Kind, Tape};
use crate::path::{Step, push_index, push_name, push_steps};
use crate::{Event, Flow, FormatError, Limits, Node, Row, Value, shorten};
use counterpane_model::Locator;
use std::borrow::Cow;
use std::cell::OnceCell;

/// A step that was taken while the file streamed by.
#[derive(Clone, Debug)]
pub(super) enum Taken {
    Name { name: String, wild: bool },
    Index(u64),
}

/// A value that stands outside the rows, with its path.
pub(super) type Kept = Option<(String, Node)>;

/// An element and where it stands.
#[derive(Clone, Copy)]
pub(super) struct Element<'a> {
    pub(super) text: &'a str,
    pub(super) tape: &'a Tape,
    pub(super) trail: &'a [Taken],
    /// Number of the document, from 1, in JSON Lines.
    pub(super) document: Option<u64>,
    pub(super) outside: &'a [Kept],
}

impl Element<'_> {
    fn locator(&self, path: String) -> Locator {
        match self.document {
            Some(row) => Locator::JsonLine { row, path },
            None => Locator::Json { path },
        }
    }

    fn path(&self) -> String {
        path_of(self.trail)
    }
}

/// Returns the normalized path of steps taken.
pub(super) fn path_of(trail: &[Taken]) -> String {
    let mut path = "$".to_owned();
    for step in trail {
        match step {
            Taken::Name { name, .. } => push_name(&mut path, name),
            Taken::Index(index) => push_index(&mut path, *index),
        }
    }
    path
}

/// A step that was taken in memory.
#[derive(Clone, Copy, Debug)]
struct Stride {
    /// Token of the name, in an object.
    name: Option<usize>,
    /// Index, in a list.
    index: u64,
}

/// What goes on from row to row; its buffers are used again and again.
pub(super) struct Expander<'p> {
    plan: &'p Plan,
    limits: Limits,
    nodes: Vec<usize>,
    strides: Vec<Stride>,
    trees: Vec<OnceCell<Node>>,
    rows: u64,
    /// Whether any element had the list that the rows stand in.
    found: bool,
    /// The first element that had not, and the names that it has.
    lacking: Option<(Locator, String, String)>,
}

impl<'p> Expander<'p> {
    pub(super) fn new(plan: &'p Plan, limits: Limits) -> Expander<'p> {
        Expander {
            plan,
            limits,
            nodes: Vec::new(),
            strides: Vec::new(),
            trees: plan.fields.iter().map(|_| OnceCell::new()).collect(),
            rows: 0,
            found: false,
            lacking: None,
        }
    }

    /// Hands out the rows of one element.
    pub(super) fn element(
        &mut self,
        element: Element<'_>,
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        self.nodes.clear();
        self.strides.clear();
        self.nodes.push(0);
        self.walk(element, sink)
    }

    /// Tells of rows that no element had, which is likely a slip in the definition.
    pub(super) fn finish(&mut self, sink: &mut dyn FnMut(Event<'_>) -> Flow) {
        if let (false, Some((locator, line, names))) = (self.found, self.lacking.take()) {
            let mut way = String::new();
            push_steps(&mut way, &self.plan.walk);
            let way = way.trim_start_matches('.');
            let problem = format!("nothing in this file has `{way}`; the first row has {names}");
            let _ = sink(Event::Unreadable { locator, line, problem });
        }
    }

    fn walk(&mut self, element: Element<'_>, sink: &mut dyn FnMut(Event<'_>) -> Flow) -> Result<Flow, FormatError> {
        let depth = self.nodes.len() - 1;
        let here = self.nodes[depth];
        let plan = self.plan;
        let Some(step) = plan.walk.get(depth) else {
            return self.row(element, sink);
        };
        if !step.is_wild() {
            return match element.tape.step(here, step, element.text) {
                Some(at) => self.into(at, stride(step, at), element, sink),
                None => {
                    self.lacks(element, here);
                    Ok(Flow::Continue)
                }
            };
        }
        match element.tape.kind(here) {
            Kind::List | Kind::Map => {
                self.found = true;
                for (index, child) in element.tape.children(here).enumerate() {
                    let stride = Stride { name: child.name, index: index as u64 };
                    if self.into(child.value, stride, element, sink)? == Flow::Stop {
                        return Ok(Flow::Stop);
                    }
                }
                Ok(Flow::Continue)
            }
            // Nothing at all is an empty list.
            Kind::Null => {
                self.found = true;
                Ok(Flow::Continue)
            }
            _ => {
                let row = JsonRow { element, expander: self };
                let locator = element.locator(row.path(depth, &[]));
                let line = shorten::line(element.tape.raw(here, element.text));
                let problem = "a list of rows should stand here".to_owned();
                Ok(sink(Event::Unreadable { locator, line, problem }))
            }
        }
    }

    fn into(
        &mut self,
        at: usize,
        stride: Stride,
        element: Element<'_>,
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        self.nodes.push(at);
        self.strides.push(stride);
        let flow = self.walk(element, sink);
        self.nodes.pop();
        self.strides.pop();
        flow
    }

    fn row(&mut self, element: Element<'_>, sink: &mut dyn FnMut(Event<'_>) -> Flow) -> Result<Flow, FormatError> {
        self.found = true;
        self.rows += 1;
        if self.rows > self.limits.rows {
            let what = format!("row {}", self.rows);
            return Err(FormatError::Limit { what, name: "rows", limit: self.limits.rows });
        }
        let flow = sink(Event::Row(&JsonRow { element, expander: self }));
        for tree in &mut self.trees {
            tree.take();
        }
        Ok(flow)
    }

    fn lacks(&mut self, element: Element<'_>, here: usize) {
        if self.found || self.lacking.is_some() {
            return;
        }
        let names: Vec<_> = element
            .tape
            .children(here)
            .filter_map(|c| c.name)
            .take(100)
            .map(|n| element.tape.text(n, element.text).into_owned())
            .collect();
        let names = shorten::names(names.iter().map(String::as_str));
        let line = one_line(element.tape.raw(0, element.text));
        self.lacking = Some((element.locator(element.path()), line, names));
    }
}

fn stride(step: &Step, value: usize) -> Stride {
    match step {
        // In an object the name is the token before its value.
        Step::Name(_) => Stride { name: Some(value - 1), index: 0 },
        Step::Index(index) => Stride { name: None, index: *index as u64 },
        Step::Items | Step::Members => Stride { name: None, index: 0 },
    }
}

/// A row of JSON, looked at where it stands.
struct JsonRow<'a> {
    element: Element<'a>,
    expander: &'a Expander<'a>,
}

impl JsonRow<'_> {
    fn path(&self, depth: usize, steps: &[Step]) -> String {
        let mut path = self.element.path();
        for stride in &self.expander.strides[..depth.min(self.expander.strides.len())] {
            match stride.name {
                Some(name) => push_name(&mut path, &self.element.tape.text(name, self.element.text)),
                None => push_index(&mut path, stride.index),
            }
        }
        push_steps(&mut path, steps);
        path
    }

    fn find(&self, depth: usize, steps: &[Step]) -> Option<usize> {
        self.element.tape.follow(*self.expander.nodes.get(depth)?, steps, self.element.text)
    }

    /// Returns the depth below which a wildcard chose a member, and its name's token.
    fn key(&self, depth: usize) -> Option<(usize, usize)> {
        let wild = |d: &usize| self.expander.plan.walk.get(*d).is_some_and(Step::is_wild);
        (0..depth).rev().filter(wild).find_map(|d| Some((d, self.expander.strides.get(d)?.name?)))
    }

    /// Returns the number of streamed steps up to the nearest member that a wildcard chose, and its name.
    fn outer_key(&self) -> Option<(usize, &str)> {
        self.element.trail.iter().enumerate().rev().find_map(|(at, step)| match step {
            Taken::Name { name, wild: true } => Some((at + 1, name.as_str())),
            _ => None,
        })
    }

    fn row(&self) -> usize {
        self.expander.nodes.last().copied().unwrap_or(0)
    }
}

impl Row for JsonRow<'_> {
    fn locator(&self) -> Locator {
        self.element.locator(self.path(self.expander.strides.len(), &[]))
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        let Element { tape, text, .. } = self.element;
        let at = match self.expander.plan.fields.get(want)? {
            Field::Inside { depth, steps } => self.find(*depth, steps)?,
            Field::Key { depth } => {
                return match self.key(*depth) {
                    Some((_, name)) => Some(Value::Text(tape.text(name, text))),
                    None => self.outer_key().map(|(_, name)| Value::Text(Cow::Borrowed(name))),
                };
            }
            Field::Outside(n) => return self.element.outside.get(*n)?.as_ref().map(|(_, node)| value_of(node)),
        };
        Some(match tape.kind(at) {
            Kind::Null => Value::Null,
            Kind::True => Value::Bool(true),
            Kind::False => Value::Bool(false),
            Kind::Number => Value::Number(Cow::Borrowed(tape.raw(at, text))),
            Kind::Plain | Kind::Escaped => Value::Text(tape.text(at, text)),
            Kind::List | Kind::Map => value_of(self.expander.trees.get(want)?.get_or_init(|| tape.node(at, text))),
        })
    }

    fn locate(&self, want: usize) -> Locator {
        match self.expander.plan.fields.get(want) {
            Some(Field::Inside { depth, steps }) if self.find(*depth, steps).is_some() => {
                self.element.locator(self.path(*depth, steps))
            }
            Some(Field::Key { depth }) => match (self.key(*depth), self.outer_key()) {
                (Some((at, _)), _) => self.element.locator(self.path(at + 1, &[])),
                (None, Some((at, _))) => self.element.locator(path_of(&self.element.trail[..at])),
                (None, None) => self.locator(),
            },
            Some(Field::Outside(n)) => match self.element.outside.get(*n) {
                Some(Some((path, _))) => self.element.locator(path.clone()),
                _ => self.locator(),
            },
            _ => self.locator(),
        }
    }

    fn line(&self) -> String {
        let Element { tape, text, .. } = self.element;
        match tape.kind(self.row()) {
            Kind::Plain | Kind::Escaped => shorten::line(&format!("\"{}\"", tape.raw(self.row(), text))),
            _ => one_line(tape.raw(self.row(), text)),
        }
    }
}

/// Returns a borrowed look at a tree.
fn value_of(node: &Node) -> Value<'_> {
    match node {
        Node::Null => Value::Null,
        Node::Bool(value) => Value::Bool(*value),
        Node::Number(text) => Value::Number(Cow::Borrowed(text)),
        Node::Text(text) => Value::Text(Cow::Borrowed(text)),
        Node::List(items) => Value::List(items),
        Node::Map(members) => Value::Map(members),
    }
}

/// Returns JSON without the blanks between its tokens, cut to a line.
pub(super) fn one_line(text: &str) -> String {
    let mut out = String::new();
    let (mut inside, mut escaped, mut n) = (false, false, 0);
    for c in text.chars() {
        if !inside && matches!(c, ' ' | '\t' | '\n' | '\r') {
            continue;
        }
        inside ^= c == '"' && !escaped;
        escaped = inside && c == '\\' && !escaped;
        out.push(c);
        n += 1;
        if n > shorten::LINE {
            break;
        }
    }
    shorten::line(&out)
}
