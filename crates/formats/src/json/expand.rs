//! From one element in memory to its rows.

use super::plan::{Field, Plan};
use super::text::{Kind, Member, Text};
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

impl Taken {
    /// Returns the step to a member that was asked for by its name, or by none.
    pub(super) fn name(name: &str) -> Taken {
        Taken::Name { name: name.to_owned(), wild: false }
    }
}

/// A value that stands outside the rows, with its path.
pub(super) type Kept = Option<(String, Node)>;

/// Where an element stands.
#[derive(Clone, Copy)]
pub(super) struct Element<'a> {
    pub(super) trail: &'a [Taken],
    /// Number of the document, from 1, in JSON Lines.
    pub(super) document: Option<u64>,
    pub(super) outside: &'a [Kept],
}

impl Element<'_> {
    pub(super) fn locator(&self, path: String) -> Locator {
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

/// A value on the way from the element to a row.
pub(super) struct Spot<'t> {
    text: Text<'t>,
    /// Its name, in an object that is not a list.
    name: Option<Cow<'t, str>>,
    /// Its index, in a list.
    index: u64,
    members: OnceCell<Vec<Member<'t>>>,
}

impl<'t> Spot<'t> {
    fn new(text: Text<'t>, name: Option<Cow<'t, str>>, index: u64) -> Spot<'t> {
        Spot { text, name, index, members: OnceCell::new() }
    }

    /// Returns the element itself.
    pub(super) fn root(text: Text<'t>) -> Spot<'t> {
        Spot::new(text, None, 0)
    }

    /// Returns the way to a name that stands twice in one object.
    pub(super) fn doubled(&self) -> Option<Vec<Taken>> {
        self.text.doubled(if self.text.kind() == Kind::Map { self.members() } else { &[] })
    }

    /// Returns its members, which are read once: many fields are asked of the same row.
    fn members(&self) -> &[Member<'t>] {
        self.members.get_or_init(|| self.text.members())
    }

    fn follow(&self, steps: &[Step]) -> Option<Text<'t>> {
        match steps {
            [Step::Name(name), rest @ ..] => {
                self.members().iter().find(|(n, _)| n == name).and_then(|(_, value)| value.follow(rest))
            }
            steps => self.text.follow(steps),
        }
    }

    /// Returns the values that a wildcard finds; `None` where there can be none.
    fn children(&self) -> Option<Vec<Spot<'t>>> {
        match self.text.kind() {
            Kind::Map => {
                let named = |(name, value)| Spot::new(value, Some(name), 0);
                Some(self.text.members().into_iter().map(named).collect())
            }
            Kind::List => {
                let numbered = |(index, item)| Spot::new(item, None, index as u64);
                Some(self.text.items().into_iter().enumerate().map(numbered).collect())
            }
            // Nothing at all is an empty list.
            Kind::Null => Some(Vec::new()),
            Kind::Bool | Kind::Number | Kind::Text => None,
        }
    }
}

/// What goes on from row to row.
pub(super) struct Expander<'p> {
    plan: &'p Plan,
    limits: Limits,
    trees: Vec<OnceCell<Node>>,
    rows: u64,
    /// Whether any element had the list that the rows stand in.
    found: bool,
    /// The first element that had not, and the names that it has.
    lacking: Option<(Locator, String, String)>,
}

impl<'p> Expander<'p> {
    pub(super) fn new(plan: &'p Plan, limits: Limits) -> Expander<'p> {
        let trees = plan.fields.iter().map(|_| OnceCell::new()).collect();
        Expander { plan, limits, trees, rows: 0, found: false, lacking: None }
    }

    /// Hands out the rows of one element.
    pub(super) fn element(
        &mut self,
        element: Element<'_>,
        root: Spot<'_>,
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        match self.plan.walk.is_empty() {
            true => self.row(element, &[root], sink),
            false => self.walk(element, &mut vec![root], sink),
        }
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

    /// Goes on from the last of the spots.
    fn walk(
        &mut self,
        element: Element<'_>,
        spots: &mut Vec<Spot<'_>>,
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        let Some(here) = spots.last() else { return Ok(Flow::Continue) };
        let Some(step) = self.plan.walk.get(spots.len() - 1) else {
            return self.row(element, spots, sink);
        };
        let next = if step.is_wild() { here.children() } else { Some(one_step(here, step).into_iter().collect()) };
        let Some(next) = next else {
            let locator = element.locator(path(element, &spots[1..], &[]));
            let problem = "a list of rows should stand here".to_owned();
            return Ok(sink(Event::Unreadable { locator, line: here.text.line(), problem }));
        };
        if step.is_wild() {
            self.found = true;
        } else if next.is_empty() {
            self.lacks(element, &spots[0], here);
        }
        for spot in next {
            spots.push(spot);
            let flow = self.walk(element, spots, sink)?;
            spots.pop();
            if flow == Flow::Stop {
                return Ok(Flow::Stop);
            }
        }
        Ok(Flow::Continue)
    }

    fn row(
        &mut self,
        element: Element<'_>,
        spots: &[Spot<'_>],
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        self.found = true;
        self.rows += 1;
        if self.rows > self.limits.rows {
            let what = format!("row {}", self.rows);
            return Err(FormatError::Limit { what, name: "rows", limit: self.limits.rows });
        }
        let flow = sink(Event::Row(&JsonRow { element, spots, plan: self.plan, trees: &self.trees }));
        for tree in &mut self.trees {
            tree.take();
        }
        Ok(flow)
    }

    fn lacks(&mut self, element: Element<'_>, root: &Spot<'_>, here: &Spot<'_>) {
        if self.found || self.lacking.is_some() {
            return;
        }
        let names = shorten::names(here.members().iter().take(100).map(|(name, _)| name.as_ref()));
        self.lacking = Some((element.locator(element.path()), root.text.line(), names));
    }
}

fn one_step<'t>(here: &Spot<'t>, step: &Step) -> Option<Spot<'t>> {
    let text = here.follow(std::slice::from_ref(step))?;
    Some(match step {
        Step::Name(name) => Spot::new(text, Some(Cow::Owned(name.clone())), 0),
        Step::Index(index) => Spot::new(text, None, *index as u64),
        Step::Items | Step::Members => return None,
    })
}

/// Returns the path of the last of the spots that were reached below the element, and of steps from there.
fn path(element: Element<'_>, below: &[Spot<'_>], steps: &[Step]) -> String {
    let mut path = element.path();
    for spot in below {
        match &spot.name {
            Some(name) => push_name(&mut path, name),
            None => push_index(&mut path, spot.index),
        }
    }
    push_steps(&mut path, steps);
    path
}

/// A row of JSON, looked at where it stands.
struct JsonRow<'a, 't> {
    element: Element<'a>,
    /// The way to the row, from the element to the row itself.
    spots: &'a [Spot<'t>],
    plan: &'a Plan,
    trees: &'a [OnceCell<Node>],
}

impl<'t> JsonRow<'_, 't> {
    fn find(&self, depth: usize, steps: &[Step]) -> Option<Text<'t>> {
        self.spots.get(depth)?.follow(steps)
    }

    fn at(&self, depth: usize, steps: &[Step]) -> Locator {
        self.element.locator(path(self.element, self.spots.get(1..=depth).unwrap_or_default(), steps))
    }

    /// Returns the name of the nearest member that a wildcard chose, at or above a spot, and where it stands.
    fn key(&self, depth: usize) -> Option<(&str, Locator)> {
        let wild = |d: &usize| self.plan.walk.get(d - 1).is_some_and(Step::is_wild);
        let mut inner = (1..=depth).rev().filter(wild);
        if let Some((d, name)) = inner.find_map(|d| Some((d, self.spots.get(d)?.name.as_deref()?))) {
            return Some((name, self.at(d, &[])));
        }
        let trail = self.element.trail;
        trail.iter().enumerate().rev().find_map(|(n, step)| match step {
            Taken::Name { name, wild: true } => Some((name.as_str(), self.element.locator(path_of(&trail[..=n])))),
            _ => None,
        })
    }
}

impl Row for JsonRow<'_, '_> {
    fn locator(&self) -> Locator {
        self.at(self.spots.len() - 1, &[])
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        let text = match self.plan.fields.get(want)? {
            Field::Inside { depth, steps } => self.find(*depth, steps)?,
            Field::Key { depth } => return self.key(*depth).map(|(name, _)| Value::Text(Cow::Borrowed(name))),
            Field::Outside(n) => return self.element.outside.get(*n)?.as_ref().map(|(_, node)| value_of(node)),
        };
        Some(match text.kind() {
            Kind::Null => Value::Null,
            Kind::Bool => Value::Bool(text.0 == "true"),
            Kind::Number => Value::Number(Cow::Borrowed(text.0)),
            Kind::Text => Value::Text(text.string()),
            Kind::List | Kind::Map => value_of(self.trees.get(want)?.get_or_init(|| text.node())),
        })
    }

    fn locate(&self, want: usize) -> Locator {
        let found = match self.plan.fields.get(want) {
            Some(Field::Inside { depth, steps }) => self.find(*depth, steps).map(|_| self.at(*depth, steps)),
            Some(Field::Key { depth }) => self.key(*depth).map(|(_, locator)| locator),
            Some(Field::Outside(n)) => {
                let kept = self.element.outside.get(*n).and_then(Option::as_ref);
                kept.map(|(path, _)| self.element.locator(path.clone()))
            }
            None => None,
        };
        found.unwrap_or_else(|| self.locator())
    }

    fn line(&self) -> String {
        self.spots.last().map(|row| row.text.line()).unwrap_or_default()
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
