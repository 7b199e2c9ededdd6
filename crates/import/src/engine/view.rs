//! A row, or one item inside a row, as the shapes see it.

use super::compile::{Field, Source};
use super::faults::Fault;
use super::joins::{JoinTable, Joined, Looked};
use crate::kinds;
use counterpane_formats::{Node, Path, Row, Step, Value};
use counterpane_model::Locator;
use std::borrow::Cow;

/// A row, or one item inside it.
pub(super) struct View<'r> {
    pub(super) row: &'r dyn Row,
    pub(super) item: Item<'r>,
    pub(super) known: &'r Known,
}

/// What is known before the rows are read: the file's name, and what stands in other parts of it.
pub(super) struct Known {
    pub(super) file: String,
    pub(super) joins: Vec<JoinTable>,
}

/// Which part of the row is looked at.
#[derive(Clone, Copy)]
pub(super) enum Item<'r> {
    /// The row itself.
    Whole,
    /// The n-th element, from 0, of each list in the row.
    Index(usize),
    /// One element of the list under a key of a map; `want` is the map.
    Under { key: &'r str, node: &'r Node, index: usize, want: usize },
}

/// A text and where it stands.
pub(super) struct Found<'r> {
    pub(super) text: Cow<'r, str>,
    pub(super) locator: Locator,
}

impl<'r> View<'r> {
    /// Returns the value of one field, or `None` when the row has no such field.
    pub(super) fn value(&self, field: &Field) -> Option<Value<'r>> {
        match (field, self.item) {
            (Field::Item(path), Item::Under { node, .. }) => step_into(node, path).map(value_of),
            (Field::Item(_), _) => None,
            (Field::Want(want), Item::Index(index)) => match self.row.value(*want)? {
                Value::List(items) => items.get(index).map(value_of),
                other => Some(other),
            },
            (Field::Want(want), _) => self.row.value(*want),
        }
    }

    /// Returns where one field stands.
    pub(super) fn locate(&self, field: &Field) -> Locator {
        match (field, self.item) {
            (Field::Want(want), Item::Index(index)) => match self.row.value(*want) {
                Some(Value::List(_)) => self.row.locate(*want).item(index as u64 + 1),
                _ => self.row.locate(*want),
            },
            (Field::Want(want), _) => self.row.locate(*want),
            (Field::Item(_), _) => self.place(),
        }
    }

    /// Returns where the row or the item stands.
    pub(super) fn place(&self) -> Locator {
        match self.item {
            Item::Whole => self.row.locator(),
            Item::Index(index) => self.row.locator().item(index as u64 + 1),
            Item::Under { key, index, want, .. } => match self.row.locate(want) {
                Locator::Json { path } => Locator::Json { path: format!("{path}{}[{index}]", member(key)) },
                Locator::JsonLine { row, path } => {
                    Locator::JsonLine { row, path: format!("{path}{}[{index}]", member(key)) }
                }
                other => other.item(index as u64 + 1),
            },
        }
    }

    /// Returns the text of a source, or `None` when the row has no such field.
    pub(super) fn find(&self, source: &Source, what: &str) -> Result<Option<Found<'r>>, Fault> {
        let found = |text: Cow<'r, str>, locator| Ok(Some(Found { text, locator }));
        match source {
            Source::Fields(fields) => match fields.as_slice() {
                [field] => self.one(field, what),
                fields => self.joined(fields, what),
            },
            Source::Text(text) => found(Cow::Owned(text.clone()), self.place()),
            Source::Key => match self.item {
                Item::Under { key, .. } => found(Cow::Borrowed(key), self.place()),
                _ => Ok(None),
            },
            Source::FileName(pattern) => self.file_name(pattern.as_deref()).map(Some),
            Source::Join(joined) => self.joined_value(joined, what),
            Source::Bound(_) | Source::FileStart => Ok(None),
        }
    }

    /// Returns the text of a source without its place, for conditions that every row of a file is held against:
    /// to say where a value stands costs more than to read it.
    pub(super) fn text(&self, source: &Source) -> Option<Cow<'r, str>> {
        match source {
            Source::Fields(fields) if fields.len() == 1 => text_of(self.value(fields.first()?)?).ok(),
            _ => Some(self.find(source, "").ok().flatten()?.text),
        }
    }

    fn one(&self, field: &Field, what: &str) -> Result<Option<Found<'r>>, Fault> {
        let Some(value) = self.value(field) else { return Ok(None) };
        let locator = self.locate(field);
        match text_of(value) {
            Ok(text) => Ok(Some(Found { text, locator })),
            Err(kind) => Err(Fault::new(
                &kinds::value_unreadable::KIND,
                format!("{what} is {kind}, not a single value"),
                locator,
            )),
        }
    }

    /// Returns the name of the file, or of the member of an archive in which the row stands, or the part of the name
    /// that stands for the `*` of a pattern.
    fn file_name(&self, pattern: Option<&str>) -> Result<Found<'r>, Fault> {
        let place = self.place();
        let name = match &place {
            Locator::Member { member, .. } => member.clone(),
            _ => self.known.file.rsplit(['/', '\\']).next().unwrap_or_default().to_owned(),
        };
        match part_of_name(&name, pattern) {
            Some(part) => Ok(Found { text: Cow::Owned(part.to_owned()), locator: place }),
            None => {
                let message = format!("the name `{name}` does not have the form `{}`", pattern.unwrap_or("*"));
                Err(Fault::new(&kinds::value_unreadable::KIND, message, place))
            }
        }
    }

    /// Returns the value that another part of the file has for a field of the row.
    fn joined_value(&self, joined: &Joined, what: &str) -> Result<Option<Found<'r>>, Fault> {
        let Some(key) = self.find(&joined.here, what)? else { return Ok(None) };
        let Some(table) = self.known.joins.get(joined.table) else { return Ok(None) };
        let fault = |message: String| Fault::new(&kinds::value_unreadable::KIND, message, key.locator.clone());
        match table.look(&key.text) {
            Looked::Value(value) => Ok(Some(Found { text: Cow::Owned(value.to_owned()), locator: key.locator })),
            Looked::Twice => {
                Err(fault(format!("`{}` stands in `{}` twice, with different values", key.text, table.what)))
            }
            Looked::Nothing | Looked::Absent if joined.own => Ok(Some(key)),
            Looked::Nothing => Err(fault(format!("`{}` does not stand in `{}`", key.text, table.what))),
            Looked::Absent => Err(fault(format!("the file beside this one, `{}`, was not given", table.what))),
        }
    }

    fn joined(&self, fields: &[Field], what: &str) -> Result<Option<Found<'r>>, Fault> {
        let mut texts = Vec::new();
        let mut locator = None;
        for field in fields {
            let Some(found) = self.one(field, what)? else { return Ok(None) };
            locator.get_or_insert(found.locator);
            texts.push(found.text);
        }
        Ok(Some(Found { text: Cow::Owned(texts.join(" ")), locator: locator.unwrap_or_else(|| self.place()) }))
    }

    /// Returns the text of a source, or the fault that there is none.
    pub(super) fn need(&self, source: &Source, what: &str) -> Result<Found<'r>, Fault> {
        self.find(source, what)?.ok_or_else(|| self.lacks(what))
    }

    /// Returns the fault that the row has no such value.
    pub(super) fn lacks(&self, what: &str) -> Fault {
        Fault::new(&kinds::value_unreadable::KIND, format!("the row has no {what}"), self.place())
    }
}

/// Returns a value as the text that a label map or a reading compares.
pub(super) fn text_of(value: Value<'_>) -> Result<Cow<'_, str>, &'static str> {
    match value {
        Value::Null => Ok(Cow::Borrowed("null")),
        Value::Bool(true) => Ok(Cow::Borrowed("true")),
        Value::Bool(false) => Ok(Cow::Borrowed("false")),
        Value::Number(text) | Value::Text(text) => Ok(text),
        Value::List(_) => Err("a list"),
        Value::Map(_) => Err("a group of named values"),
        Value::Moment { wall } if wall.time() == jiff::civil::Time::midnight() => {
            Ok(Cow::Owned(wall.date().to_string()))
        }
        Value::Moment { wall } => Ok(Cow::Owned(wall.to_string().replace('T', " "))),
        Value::Clock { ms } => Ok(Cow::Owned(hours(i64::from(ms), 2))),
        Value::Span { ms } => Ok(Cow::Owned(hours(ms, 1))),
    }
}

/// Returns the part of a name where a pattern has its `*`, or the whole name without one.
pub(super) fn part_of_name<'n>(name: &'n str, pattern: Option<&str>) -> Option<&'n str> {
    match pattern.and_then(|p| p.split_once('*')) {
        None => Some(name),
        Some((before, after)) => name.strip_prefix(before)?.strip_suffix(after),
    }
}

/// Returns milliseconds as `7:05:30`, with a fraction where there is one.
fn hours(ms: i64, width: usize) -> String {
    let (sign, abs) = (if ms < 0 { "-" } else { "" }, ms.unsigned_abs());
    let (h, m, s, rest) = (abs / 3_600_000, abs / 60_000 % 60, abs / 1000 % 60, abs % 1000);
    let fraction = if rest == 0 { String::new() } else { format!(".{rest:03}") };
    format!("{sign}{h:0width$}:{m:02}:{s:02}{fraction}")
}

/// Returns a value as JSON on one line.
pub(super) fn json_of(value: Value<'_>) -> String {
    let quoted = |text: &str| serde_json::Value::String(text.to_owned()).to_string();
    match value {
        Value::Number(text) if text.parse::<f64>().is_ok() => text.into_owned(),
        Value::Null => "null".into(),
        Value::Bool(truth) => truth.to_string(),
        Value::List(items) => format!("[{}]", items.iter().map(ToString::to_string).collect::<Vec<_>>().join(",")),
        Value::Map(members) => {
            let member = |(name, node): &(String, Node)| format!("{}:{node}", quoted(name));
            format!("{{{}}}", members.iter().map(member).collect::<Vec<_>>().join(","))
        }
        other => text_of(other).map_or_else(|_| "null".into(), |text| quoted(&text)),
    }
}

/// Returns a value as a node of its own.
pub(super) fn node_of(value: Value<'_>) -> Node {
    match value {
        Value::Null => Node::Null,
        Value::Bool(truth) => Node::Bool(truth),
        Value::Number(text) => Node::Number(text.into_owned()),
        Value::List(items) => Node::List(items.to_vec()),
        Value::Map(members) => Node::Map(members.to_vec()),
        other => Node::Text(text_of(other).map_or_else(|_| String::new(), Cow::into_owned)),
    }
}

/// Returns a node as a value.
pub(super) fn value_of(node: &Node) -> Value<'_> {
    match node {
        Node::Null => Value::Null,
        Node::Bool(truth) => Value::Bool(*truth),
        Node::Number(text) => Value::Number(Cow::Borrowed(text)),
        Node::Text(text) => Value::Text(Cow::Borrowed(text)),
        Node::List(items) => Value::List(items),
        Node::Map(members) => Value::Map(members),
    }
}

/// Follows a path into a node.
fn step_into<'n>(node: &'n Node, path: &Path) -> Option<&'n Node> {
    path.steps.iter().try_fold(node, |node, step| match (node, step) {
        (Node::Map(members), Step::Name(name)) => members.iter().find(|(key, _)| key == name).map(|(_, value)| value),
        (Node::List(items), Step::Index(index)) => items.get(*index),
        _ => None,
    })
}

fn member(key: &str) -> String {
    let plain =
        key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') && !key.starts_with(|c: char| c.is_ascii_digit());
    if plain && !key.is_empty() {
        format!(".{key}")
    } else {
        format!("['{}']", key.replace('\\', "\\\\").replace('\'', "\\'"))
    }
}
