//! An element that is open, and a row as its caller sees it.

use super::path::{Field, Part};
use crate::{Node, Row, Value, shorten};
use counterpane_model::Locator;
use quick_xml::XmlVersion;
use quick_xml::events::attributes::Attributes;
use std::borrow::Cow;

/// Bytes of a row's text that are kept to show it.
const SHOWN: usize = 1000;

/// An element that is open; kept and used again for the next one of its depth.
#[derive(Debug, Default)]
pub(super) struct Frame {
    /// Where its name begins in the names of all open elements.
    pub(super) name: usize,
    pub(super) line: u64,
    /// Bit n: the first n steps of the path lead here or above here, so that step n may follow below.
    pub(super) mask: u64,
    pub(super) row: bool,
    /// Its start tag without brackets, kept when rows below may ask for an attribute.
    pub(super) tag: String,
    /// What was found for each field.
    pub(super) slots: Vec<Slot>,
    /// The attributes that rows below ask for stand in the slots.
    pub(super) asked: bool,
    /// Bytes of the values of a row.
    pub(super) weight: usize,
    pub(super) problem: Option<String>,
    /// The beginning of a row as it stands in the file.
    pub(super) shown: String,
}

impl Frame {
    pub(super) fn open(&mut self, name: usize, line: u64, mask: u64, row: bool) {
        (self.name, self.line, self.mask, self.row) = (name, line, mask, row);
        self.tag.clear();
        self.slots.clear();
        self.shown.clear();
        (self.asked, self.weight, self.problem) = (false, 0, None);
    }

    /// Adds to the beginning of the row as it stands in the file.
    pub(super) fn show(&mut self, parts: &[&str]) {
        for part in parts {
            if self.shown.len() < SHOWN {
                let end = part.char_indices().map(|(at, _)| at).nth(SHOWN).unwrap_or(part.len());
                self.shown.push_str(&part[..end]);
            }
        }
    }
}

/// What was found for a field of an element.
#[derive(Debug, Default)]
pub(super) enum Slot {
    #[default]
    Nothing,
    One(String, At),
    /// A child that stands several times.
    Many(Vec<Node>, At),
}

/// Where a value stands.
#[derive(Clone, Debug)]
pub(super) struct At {
    pub(super) line: u64,
    pub(super) path: String,
}

impl Slot {
    /// Adds a value of a row: a second one makes a list.
    pub(super) fn add(&mut self, text: String, at: At) {
        *self = match std::mem::take(self) {
            Slot::Nothing => Slot::One(text, at),
            Slot::One(first, at) => Slot::Many(vec![Node::Text(first), Node::Text(text)], at),
            Slot::Many(mut all, at) => {
                all.push(Node::Text(text));
                Slot::Many(all, at)
            }
        };
    }
}

/// Returns the value of an attribute.
///
/// # Errors
/// The attributes are written wrongly, or the value has an entity that is not known.
pub(super) fn attribute(raw: &str, field: &Field) -> Result<Option<(String, String)>, String> {
    let Part::Attribute(wanted) = &field.part else { return Ok(None) };
    let mut found = None;
    // All of them are read, because one that stands twice says that the tag cannot be trusted.
    for attribute in Attributes::new(raw, 0) {
        let attribute = attribute.map_err(|e| format!("the attributes are written wrongly: {e}"))?;
        if found.is_none() && wanted.is(attribute.key.into_inner()) {
            let value = attribute
                .normalized_value(XmlVersion::Implicit1_0)
                .map_err(|e| format!("`{}`: {e}", attribute.key.into_inner()))?;
            found = Some((attribute.key.into_inner().to_owned(), value.into_owned()));
        }
    }
    Ok(found)
}

/// A row whose element has just ended.
pub(super) struct XmlRow<'w> {
    pub(super) frames: &'w [Frame],
    pub(super) fields: &'w [Field],
    /// Path below the root.
    pub(super) path: &'w str,
}

impl XmlRow<'_> {
    fn own(&self) -> &Frame {
        &self.frames[self.frames.len() - 1]
    }

    fn slot(&self, want: usize) -> Option<&Slot> {
        let level = (self.frames.len() - 1).checked_sub(self.fields.get(want)?.up)?;
        self.frames[level].slots.get(want)
    }
}

impl Row for XmlRow<'_> {
    fn locator(&self) -> Locator {
        Locator::Xml { line: self.own().line, path: self.path.to_owned() }
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        match self.slot(want)? {
            Slot::Nothing => None,
            Slot::One(text, _) => Some(Value::Text(Cow::Borrowed(text))),
            Slot::Many(all, _) => Some(Value::List(all)),
        }
    }

    fn locate(&self, want: usize) -> Locator {
        match self.slot(want) {
            Some(Slot::One(_, at) | Slot::Many(_, at)) => Locator::Xml { line: at.line, path: at.path.clone() },
            _ => self.locator(),
        }
    }

    fn line(&self) -> String {
        shown(self.own())
    }
}

/// Returns a row as it stands in the file, on one line and shortened.
pub(super) fn shown(frame: &Frame) -> String {
    let words: Vec<&str> = frame.shown.split_whitespace().collect();
    shorten::line(&words.join(" "))
}
