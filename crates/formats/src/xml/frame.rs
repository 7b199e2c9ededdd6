//! An element that is open, and a row as its caller sees it.
//!
//! Frames and their slots are used again for the next element of the same depth, so that a row costs no
//! allocation of its own.

use super::attributes::{Attributes, value};
use super::path::{Field, Name, Part};
use crate::{Node, Row, Value, shorten};
use counterpane_model::Locator;
use quick_xml::events::BytesStart;
use std::borrow::Cow;

/// Bytes of a row's text that are kept to show it.
const SHOWN: usize = 1000;

/// Bytes of room that a slot keeps for the next row.
const ROOM: usize = 4096;

/// An element that is open.
#[derive(Debug, Default)]
pub(super) struct Frame {
    /// Where its name begins in the names of all open elements.
    pub(super) name: usize,
    pub(super) line: u64,
    /// Bit n: the first n steps of the path lead here or above here, so that step n may follow below.
    pub(super) mask: u64,
    pub(super) row: bool,
    /// Its attributes, kept when rows below may ask for one.
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
    #[inline]
    pub(super) fn open(&mut self, name: usize, line: u64, mask: u64, row: bool) {
        (self.name, self.line, self.mask, self.row) = (name, line, mask, row);
        (self.asked, self.weight) = (false, 0);
        self.tag.clear();
        self.shown.clear();
        self.problem = None;
    }

    /// Makes room for what is found, and forgets what was found before.
    pub(super) fn prepare(&mut self, fields: usize) {
        self.slots.resize_with(fields, Slot::default);
        self.slots.iter_mut().for_each(Slot::clear);
    }

    /// Adds to the beginning of the row as it stands in the file.
    #[inline]
    pub(super) fn show(&mut self, part: &str) {
        if self.shown.len() < SHOWN {
            let end = if part.len() <= SHOWN { part.len() } else { part.floor_char_boundary(SHOWN) };
            self.shown.push_str(&part[..end]);
        }
    }

    /// Keeps the attributes of a row that are asked for, in one pass over its start tag.
    pub(super) fn keep_attributes(&mut self, tag: &BytesStart<'_>, fields: &[Field]) {
        // All of them are read, because one that stands twice says that the tag cannot be trusted.
        for attribute in Attributes::new(tag.attributes_raw()) {
            let kept = attribute.and_then(|(key, raw)| {
                for (field, slot) in fields.iter().zip(&mut self.slots) {
                    if field.own_attribute().is_some_and(|name| slot.what == What::Nothing && name.is(key)) {
                        slot.set(&value(key, raw)?, self.line);
                        push_attribute(&mut slot.suffix, key);
                        self.weight += slot.text.len();
                    }
                }
                Ok(())
            });
            if let Err(problem) = kept {
                self.problem = Some(problem);
                return;
            }
        }
    }
}

/// What was found for a field of an element.
#[derive(Debug, Default)]
pub(super) struct Slot {
    pub(super) what: What,
    pub(super) text: String,
    /// Path from the element to the value.
    pub(super) suffix: String,
    pub(super) line: u64,
    /// The values of a child that stands several times.
    pub(super) all: Vec<Node>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum What {
    #[default]
    Nothing,
    One,
    Many,
}

impl Slot {
    fn clear(&mut self) {
        self.what = What::Nothing;
        self.all.clear();
        if self.text.capacity() > ROOM {
            self.text = String::new();
        }
    }

    /// Takes one value in the place of any before.
    pub(super) fn set(&mut self, text: &str, line: u64) {
        self.text.clear();
        self.text.push_str(text);
        self.suffix.clear();
        (self.what, self.line) = (What::One, line);
    }

    /// Adds a value to the one before.
    pub(super) fn add(&mut self, text: &str) {
        if self.what == What::One {
            self.all.push(Node::Text(std::mem::take(&mut self.text)));
            self.what = What::Many;
        }
        self.all.push(Node::Text(text.to_owned()));
    }
}

/// Returns the attribute that a field names: its name as written, and its value.
///
/// # Errors
/// The attributes are written wrongly, or the value has an entity that is not known.
pub(super) fn attribute<'t>(raw: &'t str, wanted: &Name) -> Result<Option<(&'t str, Cow<'t, str>)>, String> {
    let mut found = None;
    for attribute in Attributes::new(raw) {
        let (key, raw) = attribute?;
        if found.is_none() && wanted.is(key) {
            found = Some((key, value(key, raw)?));
        }
    }
    Ok(found)
}

/// Adds the path of an attribute to that of its element.
pub(super) fn push_attribute(path: &mut String, name: &str) {
    path.push_str(if path.is_empty() { "@" } else { "/@" });
    path.push_str(name);
}

impl Field {
    /// Returns the attribute that is asked of the row itself.
    fn own_attribute(&self) -> Option<&Name> {
        match &self.part {
            Part::Attribute(name) if self.up == 0 && self.steps.is_empty() => Some(name),
            _ => None,
        }
    }
}

/// A row whose element has just ended.
pub(super) struct XmlRow<'w> {
    pub(super) frames: &'w [Frame],
    pub(super) names: &'w str,
    pub(super) fields: &'w [Field],
}

impl XmlRow<'_> {
    fn own(&self) -> &Frame {
        &self.frames[self.frames.len() - 1]
    }

    fn slot(&self, want: usize) -> Option<(usize, &Slot)> {
        let level = (self.frames.len() - 1).checked_sub(self.fields.get(want)?.up)?;
        self.frames[level].slots.get(want).filter(|slot| slot.what != What::Nothing).map(|slot| (level, slot))
    }
}

impl Row for XmlRow<'_> {
    fn locator(&self) -> Locator {
        Locator::Xml { line: self.own().line, path: path(self.frames, self.names, self.frames.len() - 1, "") }
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        let (_, slot) = self.slot(want)?;
        Some(match slot.what {
            What::Many => Value::List(&slot.all),
            _ => Value::Text(Cow::Borrowed(&slot.text)),
        })
    }

    fn locate(&self, want: usize) -> Locator {
        match self.slot(want) {
            Some((level, slot)) => {
                Locator::Xml { line: slot.line, path: path(self.frames, self.names, level, &slot.suffix) }
            }
            None => self.locator(),
        }
    }

    fn line(&self) -> String {
        shown(self.own())
    }
}

/// Returns the name of an open element.
#[inline]
pub(super) fn name<'n>(frames: &[Frame], names: &'n str, level: usize) -> &'n str {
    let end = frames.get(level + 1).map_or(names.len(), |next| next.name);
    &names[frames[level].name..end]
}

/// Returns the path below the root of an open element and what follows; `.` is the root.
pub(super) fn path(frames: &[Frame], names: &str, level: usize, suffix: &str) -> String {
    let mut out = String::new();
    for part in (1..=level).map(|n| name(frames, names, n)).chain((!suffix.is_empty()).then_some(suffix)) {
        out.push_str(if out.is_empty() { "" } else { "/" });
        out.push_str(part);
    }
    if out.is_empty() { ".".to_owned() } else { out }
}

/// Returns a row as it stands in the file, on one line and shortened.
pub(super) fn shown(frame: &Frame) -> String {
    let words: Vec<&str> = frame.shown.split_whitespace().collect();
    shorten::line(&words.join(" "))
}
