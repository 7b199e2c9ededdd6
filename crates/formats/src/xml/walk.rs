//! The way through the elements: which of them are rows, and which of their fields are kept.

use super::attributes::Attributes;
use super::frame::{Frame, What, XmlRow, attribute, name, path, push_attribute, shown};
use super::path::{Field, Name, Part, Pattern, Step};
use super::pull::{Begun, count};
use crate::{Event, Flow, FormatError, Limits, shorten};
use counterpane_model::Locator;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart};

/// Bytes that one value of a list costs beside its text.
const NODE: usize = 32;

/// A text that is being put together.
#[derive(Default)]
struct Active {
    /// Level of the element whose field it is, and the field.
    level: usize,
    want: usize,
    /// Level of the element whose text it is.
    depth: usize,
    text: String,
    suffix: String,
    line: u64,
}

/// The open elements, and what was found so far.
pub(super) struct Walk {
    pattern: Pattern,
    fields: Vec<Field>,
    limits: Limits,
    frames: Vec<Frame>,
    /// How many of the frames are open.
    depth: usize,
    names: String,
    tags: usize,
    active: Vec<Active>,
    /// Texts to use again.
    spare: Vec<Active>,
    /// Levels of the rows that are open.
    open_rows: Vec<usize>,
    rows: u64,
    rooted: bool,
    /// Fields of a row that stand so many steps below it, without its own attributes; and of elements above.
    own: Vec<Vec<usize>>,
    above: Vec<Vec<usize>>,
    own_attributes: bool,
    up_tags: bool,
}

impl Walk {
    pub(super) fn new(pattern: Pattern, fields: Vec<Field>, limits: Limits) -> Walk {
        let is_tag = |f: &Field| f.steps.is_empty() && f.part != Part::Text;
        let (mut own, mut above) = (Vec::new(), Vec::new());
        for (want, field) in fields.iter().enumerate() {
            let is_own_attribute = is_tag(field) && matches!(field.part, Part::Attribute(_));
            let by_steps = match field.up {
                0 if !is_own_attribute => &mut own,
                1.. if !is_tag(field) => &mut above,
                _ => continue,
            };
            by_steps.resize(by_steps.len().max(field.steps.len() + 1), Vec::new());
            by_steps[field.steps.len()].push(want);
        }
        let own_attributes = fields.iter().any(|f| f.up == 0 && f.steps.is_empty() && f.part != Part::Text);
        let up_tags = fields.iter().any(|f| f.up > 0 && is_tag(f));
        Walk {
            pattern,
            fields,
            limits,
            frames: Vec::new(),
            depth: 0,
            names: String::new(),
            tags: 0,
            active: Vec::new(),
            spare: Vec::new(),
            open_rows: Vec::new(),
            rows: 0,
            rooted: false,
            own,
            above,
            own_attributes,
            up_tags,
        }
    }

    /// Enters an element.
    #[inline]
    pub(super) fn start(&mut self, tag: &BytesStart<'_>, begun: &mut Begun<'_, '_>) -> Result<(), FormatError> {
        let (mask, row) = self.state(tag, begun)?;
        self.push(tag, begun.line(), mask, row, ">")
    }

    #[inline]
    fn push(&mut self, tag: &BytesStart<'_>, line: u64, mask: u64, row: bool, close: &str) -> Result<(), FormatError> {
        let at = self.names.len();
        self.names.push_str(tag.name().into_inner());
        if self.depth == self.frames.len() {
            self.frames.push(Frame::default());
        }
        self.frames[self.depth].open(at, line, mask, row);
        self.depth += 1;
        if mask != 0 || row || !self.open_rows.is_empty() || !self.above.is_empty() {
            self.enter(tag, line, close)?;
        }
        Ok(())
    }

    /// Enters an element and leaves it.
    #[inline]
    pub(super) fn empty(
        &mut self,
        tag: &BytesStart<'_>,
        begun: &mut Begun<'_, '_>,
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        let (mask, row) = self.state(tag, begun)?;
        if self.depth > 0 && !row && self.open_rows.is_empty() && self.above.is_empty() {
            return Ok(Flow::Continue);
        }
        self.push(tag, begun.line(), mask, row, "/>")?;
        self.leave(sink, true)
    }

    /// Returns the state of a new element: its mask, and whether it is a row.
    #[inline]
    fn state(&mut self, tag: &BytesStart<'_>, begun: &mut Begun<'_, '_>) -> Result<(u64, bool), FormatError> {
        let Some(level) = self.depth.checked_sub(1) else { return self.root_state(tag, begun) };
        match self.frames[level].mask {
            0 => Ok((0, false)),
            above => Ok(self.below(above, tag)),
        }
    }

    fn root_state(&mut self, tag: &BytesStart<'_>, begun: &mut Begun<'_, '_>) -> Result<(u64, bool), FormatError> {
        let name = tag.name().into_inner();
        if self.rooted {
            let problem = format!("a second root element, `{}`, follows the first", shorten::cut(name, 60));
            return Err(self.broken(problem, begun.line()));
        }
        self.rooted = true;
        let first = &self.pattern.steps[0];
        let names_it = first.name != Name::Any && first.name.is(name);
        match self.pattern.rooted || first.anywhere || names_it {
            true => Ok(self.below(1, tag)),
            false => Ok((1, false)),
        }
    }

    #[inline]
    fn below(&self, above: u64, tag: &BytesStart<'_>) -> (u64, bool) {
        let name = tag.name().into_inner();
        let (mut mask, mut row, mut bits) = (0, false, above);
        while bits != 0 {
            let n = bits.trailing_zeros() as usize;
            bits &= bits - 1;
            let step = &self.pattern.steps[n];
            if step.anywhere {
                mask |= 1 << n;
            }
            if step.name.is(name) && keeps(step, tag.attributes_raw()) {
                match n + 1 == self.pattern.steps.len() {
                    true => row = true,
                    false => mask |= 1 << (n + 1),
                }
            }
        }
        (mask, row)
    }

    /// Keeps what an element gives to itself and to the elements above it.
    fn enter(&mut self, tag: &BytesStart<'_>, line: u64, close: &str) -> Result<(), FormatError> {
        let own = self.depth - 1;
        let above = self.frames[own].mask != 0;
        if above && self.up_tags {
            self.tags += tag.attributes_raw().len();
            if self.tags > self.limits.row_bytes {
                let what = format!("the start tags of {} bytes around line {line}", self.tags);
                return Err(self.limit(what));
            }
            self.frames[own].tag.push_str(tag.attributes_raw());
        }
        let row = self.frames[own].row;
        if row || (above && (self.up_tags || !self.above.is_empty())) {
            self.frames[own].prepare(self.fields.len());
        }
        if row {
            self.open_rows.push(own);
            if self.own_attributes {
                self.frames[own].keep_attributes(tag, &self.fields);
            }
        }
        for level in &self.open_rows {
            let frame = &mut self.frames[*level];
            for part in ["<", tag, close] {
                frame.show(part);
            }
        }
        for down in 0..self.own.len().max(self.above.len()).min(self.depth) {
            let level = own - down;
            if self.frames[level].row {
                self.offer(level, down, tag, line, true)?;
            }
            if down > 0 && self.frames[level].mask != 0 {
                self.offer(level, down, tag, line, false)?;
            }
        }
        Ok(())
    }

    /// Keeps what an element gives to an element above it, or to itself.
    fn offer(
        &mut self,
        level: usize,
        down: usize,
        tag: &BytesStart<'_>,
        line: u64,
        row: bool,
    ) -> Result<(), FormatError> {
        let wants = if row { &self.own } else { &self.above };
        let n = wants.get(down).map_or(0, Vec::len);
        for n in 0..n {
            let want = if row { self.own[down][n] } else { self.above[down][n] };
            if !self.leads(level, want) {
                continue;
            }
            let mut active = self.spare.pop().unwrap_or_default();
            (active.level, active.want, active.depth, active.line) = (level, want, self.depth - 1, line);
            active.text.clear();
            active.suffix.clear();
            for below in level + 1..self.depth {
                active.suffix.push_str(if active.suffix.is_empty() { "" } else { "/" });
                active.suffix.push_str(name(&self.frames[..self.depth], &self.names, below));
            }
            match &self.fields[want].part {
                Part::Text => {
                    self.active.push(active);
                    continue;
                }
                Part::ElementName => active.text.push_str(tag.local_name().into_inner()),
                Part::Attribute(wanted) => match attribute(tag.attributes_raw(), wanted) {
                    Ok(Some((key, value))) => {
                        active.text.push_str(&value);
                        push_attribute(&mut active.suffix, key);
                    }
                    Ok(None) => {
                        self.spare.push(active);
                        continue;
                    }
                    Err(problem) => {
                        self.frames[level].problem = Some(problem);
                        self.spare.push(active);
                        continue;
                    }
                },
            }
            self.keep(active)?;
        }
        Ok(())
    }

    /// Returns whether the open elements below a level are the steps of a field.
    #[inline]
    fn leads(&self, level: usize, want: usize) -> bool {
        let frames = &self.frames[..self.depth];
        let steps = &self.fields[want].steps;
        steps.iter().enumerate().rev().all(|(n, step)| step.is(name(frames, &self.names, level + 1 + n)))
    }

    fn keep(&mut self, mut done: Active) -> Result<(), FormatError> {
        trim(&mut done.text);
        let up = self.fields[done.want].up > 0;
        let frame = &mut self.frames[done.level];
        let Some(slot) = frame.slots.get_mut(done.want) else { return Ok(()) };
        if !up {
            frame.weight += done.text.len() + if slot.what == What::Nothing { 0 } else { NODE };
        }
        if up || slot.what == What::Nothing {
            std::mem::swap(&mut slot.text, &mut done.text);
            std::mem::swap(&mut slot.suffix, &mut done.suffix);
            (slot.what, slot.line) = (What::One, done.line);
        } else {
            slot.add(&done.text);
        }
        let (weight, line) = (frame.weight, frame.line);
        self.spare.push(done);
        match weight > self.limits.row_bytes {
            true => Err(self.limit(format!("the row that begins at line {line}, with values of {weight} bytes"))),
            false => Ok(()),
        }
    }

    /// Takes a piece of text.
    #[inline]
    pub(super) fn text(&mut self, text: &str, begun: &mut Begun<'_, '_>) -> Result<(), FormatError> {
        if self.depth == 0 && !text.trim_ascii().is_empty() {
            let place = if self.rooted { "behind" } else { "before" };
            return Err(self.broken(format!("text stands {place} the root element"), begun.line()));
        }
        self.characters(text, begun)
    }

    /// Takes a piece of text that may stand inside an element only.
    #[inline]
    pub(super) fn characters(&mut self, text: &str, begun: &mut Begun<'_, '_>) -> Result<(), FormatError> {
        for level in &self.open_rows {
            self.frames[*level].show(text);
        }
        let mut long = false;
        for active in self.active.iter_mut().rev().take_while(|a| a.depth + 1 == self.depth) {
            long |= active.text.len() + text.len() > self.limits.row_bytes;
            if !long {
                push_text(&mut active.text, text);
            }
        }
        match long {
            true => Err(self.limit(format!("a text that goes on at line {}", begun.line()))),
            false => Ok(()),
        }
    }

    /// Takes an entity or a character reference.
    pub(super) fn reference(&mut self, name: &BytesRef<'_>, begun: &mut Begun<'_, '_>) -> Result<(), FormatError> {
        if self.depth == 0 {
            return Err(self.broken("a reference stands outside the root element".to_owned(), begun.line()));
        }
        let mut room = [0; 4];
        let text = match name.resolve_char_ref() {
            Ok(Some(c)) => Some(&*c.encode_utf8(&mut room)),
            Ok(None) => resolve_predefined_entity(name),
            Err(_) => None,
        };
        match text {
            Some(text) => self.characters(text, begun),
            None => {
                let problem = format!("`&{};` is an entity that the file does not explain", shorten::cut(name, 40));
                for active in self.active.iter().rev().take_while(|a| a.depth + 1 == self.depth) {
                    self.frames[active.level].problem = Some(problem.clone());
                }
                Ok(())
            }
        }
    }

    /// Leaves the innermost element; quick-xml has seen to it that the end tag is its own.
    #[inline]
    pub(super) fn end(&mut self, sink: &mut dyn FnMut(Event<'_>) -> Flow) -> Result<Flow, FormatError> {
        self.leave(sink, false)
    }

    #[inline]
    fn leave(&mut self, sink: &mut dyn FnMut(Event<'_>) -> Flow, empty: bool) -> Result<Flow, FormatError> {
        let Some(own) = self.depth.checked_sub(1) else { return Ok(Flow::Continue) };
        while self.active.last().is_some_and(|a| a.depth == own) {
            if let Some(done) = self.active.pop() {
                self.keep(done)?;
            }
        }
        if !self.open_rows.is_empty() && !empty {
            let name = &self.names[self.frames[own].name..];
            for level in &self.open_rows {
                for part in ["</", name, ">"] {
                    self.frames[*level].show(part);
                }
            }
        }
        let flow = if self.frames[own].row { self.give(sink)? } else { Flow::Continue };
        let frame = &self.frames[own];
        self.tags = self.tags.saturating_sub(frame.tag.len());
        self.names.truncate(frame.name);
        self.depth = own;
        Ok(flow)
    }

    /// Hands out the innermost element, which is a row.
    fn give(&mut self, sink: &mut dyn FnMut(Event<'_>) -> Flow) -> Result<Flow, FormatError> {
        self.rows += 1;
        if self.rows > self.limits.rows {
            let what = format!("row {}", self.rows);
            return Err(FormatError::Limit { what, name: "rows", limit: self.limits.rows });
        }
        let own = self.depth - 1;
        self.open_rows.pop();
        self.ask_above();
        let levels = self.fields.iter().filter_map(|f| own.checked_sub(f.up)).chain([own]);
        if let Some(problem) = levels.into_iter().find_map(|level| self.frames[level].problem.clone()) {
            let locator = Locator::Xml { line: self.frames[own].line, path: self.path_of(own) };
            return Ok(sink(Event::Unreadable { locator, line: shown(&self.frames[own]), problem }));
        }
        Ok(sink(Event::Row(&XmlRow { frames: &self.frames[..self.depth], names: &self.names, fields: &self.fields })))
    }

    /// Reads the attributes and names of the elements above that a row asks for, once for each of them.
    fn ask_above(&mut self) {
        if !self.up_tags {
            return;
        }
        for want in 0..self.fields.len() {
            let Some(level) = (self.depth - 1).checked_sub(self.fields[want].up) else { continue };
            if self.fields[want].up > 0 && !self.frames[level].asked {
                self.ask(level);
            }
        }
    }

    fn ask(&mut self, level: usize) {
        let local = name(&self.frames[..self.depth], &self.names, level).rsplit(':').next().unwrap_or_default();
        let Frame { tag, slots, line, problem, asked, .. } = &mut self.frames[level];
        *asked = true;
        for (field, slot) in self.fields.iter().zip(slots).filter(|(f, _)| f.up > 0 && f.steps.is_empty()) {
            match &field.part {
                Part::Attribute(wanted) => match attribute(tag, wanted) {
                    Ok(Some((key, value))) => {
                        slot.set(&value, *line);
                        push_attribute(&mut slot.suffix, key);
                    }
                    Ok(None) => {}
                    Err(found) => *problem = Some(found),
                },
                _ => slot.set(local, *line),
            }
        }
    }

    /// Says whether the document is whole.
    pub(super) fn finish(&self, line: u64) -> Result<(), FormatError> {
        match (self.depth.checked_sub(1), self.rooted) {
            (None, true) => Ok(()),
            (None, false) => Err(self.broken("there is no element in it".to_owned(), line)),
            (Some(level), _) => {
                let name = shorten::cut(name(&self.frames[..self.depth], &self.names, level), 60);
                let begun = self.frames[level].line;
                Err(self.broken(format!("the file breaks off: `<{name}>` of line {begun} is never closed"), line))
            }
        }
    }

    fn path_of(&self, level: usize) -> String {
        path(&self.frames[..self.depth], &self.names, level, "")
    }

    fn limit(&self, what: String) -> FormatError {
        FormatError::Limit { what, name: "row_bytes", limit: self.limits.row_bytes as u64 }
    }

    fn broken(&self, problem: String, line: u64) -> FormatError {
        let path = self.depth.checked_sub(1).map_or_else(|| ".".to_owned(), |level| self.path_of(level));
        FormatError::Broken { problem, locator: Locator::Xml { line, path } }
    }
}

/// Returns whether an element meets the conditions of a step.
#[inline]
fn keeps(step: &Step, raw: &str) -> bool {
    step.keep.iter().all(|(name, value)| {
        // Where the value does not stand in the tag at all, and nothing in it could be a reference to a
        // character, its attributes need not be read.
        if !raw.contains(value.as_str()) && count(raw.as_bytes(), b'&') == 0 {
            return false;
        }
        let found = Attributes::new(raw).flatten().find(|(key, _)| name.is(key));
        found.is_some_and(|(key, raw)| super::attributes::value(key, raw).is_ok_and(|v| v == value.as_str()))
    })
}

/// Adds text with the line ends that XML gives it: every one is a line feed.
fn push_text(out: &mut String, text: &str) {
    match text.contains('\r') {
        true => out.push_str(&text.replace("\r\n", "\n").replace('\r', "\n")),
        false => out.push_str(text),
    }
}

fn trim(text: &mut String) {
    text.truncate(text.trim_end().len());
    let blanks = text.len() - text.trim_start().len();
    if blanks > 0 {
        text.drain(..blanks);
    }
}
