//! The way through the elements: which of them are rows, and which of their fields are kept.

use super::frame::{At, Frame, Slot, XmlRow, attribute, shown};
use super::path::{Field, Part, Pattern, Step};
use crate::{Event, Flow, FormatError, Limits, shorten};
use counterpane_model::Locator;
use quick_xml::XmlVersion;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart};

/// Bytes that one value of a list costs beside its text.
const NODE: usize = 32;

/// A text that is being put together.
struct Active {
    /// Level of the element whose field it is, and the field.
    level: usize,
    want: usize,
    /// Level of the element whose text it is.
    depth: usize,
    text: String,
    at: At,
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
    /// Levels of the rows that are open.
    open_rows: Vec<usize>,
    rows: u64,
    rooted: bool,
    /// Steps down of the deepest field of a row, and of one of an element above.
    own_reach: usize,
    up_reach: usize,
    up_tags: bool,
}

impl Walk {
    pub(super) fn new(pattern: Pattern, fields: Vec<Field>, limits: Limits) -> Walk {
        let reach = |up: bool| fields.iter().filter(|f| (f.up > 0) == up).map(|f| f.steps.len()).max().unwrap_or(0);
        let (own_reach, up_reach) = (reach(false), reach(true));
        let up_tags = fields.iter().any(|f| f.up > 0 && f.steps.is_empty());
        Walk {
            pattern,
            fields,
            limits,
            frames: Vec::new(),
            depth: 0,
            names: String::new(),
            tags: 0,
            active: Vec::new(),
            open_rows: Vec::new(),
            rows: 0,
            rooted: false,
            own_reach,
            up_reach,
            up_tags,
        }
    }

    /// Enters an element.
    #[inline]
    pub(super) fn start(&mut self, tag: &BytesStart<'_>, line: u64) -> Result<(), FormatError> {
        let name = tag.name().into_inner();
        let (mask, row) = self.state(name, tag, line)?;
        let at = self.names.len();
        self.names.push_str(name);
        if self.depth == self.frames.len() {
            self.frames.push(Frame::default());
        }
        self.frames[self.depth].open(at, line, mask, row);
        self.depth += 1;
        if mask != 0 || row || !self.open_rows.is_empty() || self.up_reach > 0 {
            self.enter(tag, line)?;
        }
        Ok(())
    }

    /// Enters an element and leaves it.
    #[inline]
    pub(super) fn empty(
        &mut self,
        tag: &BytesStart<'_>,
        line: u64,
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        let unrelated = self.depth > 0 && self.open_rows.is_empty() && self.up_reach == 0;
        if unrelated && !self.state(tag.name().into_inner(), tag, line)?.1 {
            return Ok(Flow::Continue);
        }
        self.start(tag, line)?;
        self.end(sink)
    }

    /// Returns the state of a new element: its mask, and whether it is a row.
    #[inline]
    fn state(&mut self, name: &str, tag: &BytesStart<'_>, line: u64) -> Result<(u64, bool), FormatError> {
        let above = match self.depth {
            0 if self.rooted => {
                let problem = format!("a second root element, `{}`, follows the first", shorten::cut(name, 60));
                return Err(self.broken(problem, line));
            }
            0 => return Ok(self.root_state(name, tag)),
            n => self.frames[n - 1].mask,
        };
        if above == 0 {
            return Ok((0, false));
        }
        Ok(self.below(above, name, tag))
    }

    fn root_state(&mut self, name: &str, tag: &BytesStart<'_>) -> (u64, bool) {
        self.rooted = true;
        let first = &self.pattern.steps[0];
        let names_it = first.name != super::path::Name::Any && first.name.is(name);
        match self.pattern.rooted || first.anywhere || names_it {
            true => self.below(1, name, tag),
            false => (1, false),
        }
    }

    #[inline]
    fn below(&self, above: u64, name: &str, tag: &BytesStart<'_>) -> (u64, bool) {
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
    fn enter(&mut self, tag: &BytesStart<'_>, line: u64) -> Result<(), FormatError> {
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
        if self.frames[own].row || (above && self.up_reach + usize::from(self.up_tags) > 0) {
            let fields = self.fields.len();
            self.frames[own].slots.resize_with(fields, Slot::default);
        }
        for level in &self.open_rows {
            self.frames[*level].show(&["<", tag, ">"]);
        }
        if self.frames[own].row {
            self.open_rows.push(own);
            self.frames[own].show(&["<", tag, ">"]);
        }
        for down in 0..=self.own_reach.max(self.up_reach).min(own) {
            let level = own - down;
            let (is_row, is_above) = (self.frames[level].row, self.frames[level].mask != 0 && down > 0);
            if is_row && down <= self.own_reach || is_above && down <= self.up_reach {
                self.offer(level, down, tag, line, (is_row, is_above))?;
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
        (row, above): (bool, bool),
    ) -> Result<(), FormatError> {
        for want in 0..self.fields.len() {
            let field = &self.fields[want];
            let asked = if field.up == 0 { row } else { above };
            if !asked || field.steps.len() != down || !self.leads(level, want) {
                continue;
            }
            match &field.part {
                Part::Text => {
                    let at = At { line, path: self.path_of(self.depth) };
                    let depth = self.depth - 1;
                    self.active.push(Active { level, want, depth, text: String::new(), at });
                }
                Part::ElementName => {
                    let at = At { line, path: self.path_of(self.depth) };
                    self.keep(level, want, tag.local_name().into_inner().to_owned(), at)?;
                }
                Part::Attribute(_) => match attribute(tag.attributes_raw(), field) {
                    Ok(Some((name, value))) => {
                        let at = At { line, path: join(&self.path_of(self.depth), &name) };
                        self.keep(level, want, value, at)?;
                    }
                    Ok(None) => {}
                    Err(problem) => self.frames[level].problem = Some(problem),
                },
            }
        }
        Ok(())
    }

    /// Returns whether the open elements below a level are the steps of a field.
    fn leads(&self, level: usize, want: usize) -> bool {
        let steps = &self.fields[want].steps;
        steps.iter().enumerate().rev().all(|(n, step)| step.is(self.name(level + 1 + n)))
    }

    fn keep(&mut self, level: usize, want: usize, text: String, at: At) -> Result<(), FormatError> {
        let frame = &mut self.frames[level];
        let Some(slot) = frame.slots.get_mut(want) else { return Ok(()) };
        if self.fields[want].up > 0 {
            *slot = Slot::One(text, at);
            return Ok(());
        }
        frame.weight += text.len() + NODE;
        let (weight, line) = (frame.weight, frame.line);
        slot.add(text, at);
        match weight.saturating_sub(NODE * self.fields.len()) > self.limits.row_bytes {
            true => Err(self.limit(format!("the row that begins at line {line}, with values of {weight} bytes"))),
            false => Ok(()),
        }
    }

    /// Takes a piece of text.
    #[inline]
    pub(super) fn text(&mut self, text: &str, line: u64) -> Result<(), FormatError> {
        if self.depth == 0 && !text.trim_ascii().is_empty() {
            let place = if self.rooted { "behind" } else { "before" };
            return Err(self.broken(format!("text stands {place} the root element"), line));
        }
        self.characters(text, line)
    }

    /// Takes a piece of text that may stand inside an element only.
    #[inline]
    pub(super) fn characters(&mut self, text: &str, line: u64) -> Result<(), FormatError> {
        for level in &self.open_rows {
            self.frames[*level].show(&[text]);
        }
        let mut long = false;
        for active in self.active.iter_mut().rev().take_while(|a| a.depth + 1 == self.depth) {
            long |= active.text.len() + text.len() > self.limits.row_bytes;
            if !long {
                push_text(&mut active.text, text);
            }
        }
        match long {
            true => Err(self.limit(format!("a text that goes on at line {line}"))),
            false => Ok(()),
        }
    }

    /// Takes an entity or a character reference.
    pub(super) fn reference(&mut self, name: &BytesRef<'_>, line: u64) -> Result<(), FormatError> {
        if self.depth == 0 {
            return Err(self.broken("a reference stands outside the root element".to_owned(), line));
        }
        let mut room = [0; 4];
        let text = match name.resolve_char_ref() {
            Ok(Some(c)) => Some(&*c.encode_utf8(&mut room)),
            Ok(None) => resolve_predefined_entity(name),
            Err(_) => None,
        };
        match text {
            Some(text) => self.characters(text, line),
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
        let Some(own) = self.depth.checked_sub(1) else { return Ok(Flow::Continue) };
        while self.active.last().is_some_and(|a| a.depth == own) {
            if let Some(done) = self.active.pop() {
                self.keep(done.level, done.want, trimmed(done.text), done.at)?;
            }
        }
        let flow = match self.frames[own].row {
            true => self.give(sink)?,
            false => Flow::Continue,
        };
        if !self.open_rows.is_empty() {
            let name = self.names[self.frames[own].name..].to_owned();
            for level in &self.open_rows {
                self.frames[*level].show(&["</", &name, ">"]);
            }
        }
        let frame = &self.frames[own];
        if !frame.tag.is_empty() {
            self.tags = self.tags.saturating_sub(frame.tag.len());
        }
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
        let path = self.path_of(self.depth);
        self.ask_above();
        let above = self.fields.iter().filter_map(|f| own.checked_sub(f.up));
        if let Some(problem) = above.chain([own]).find_map(|level| self.frames[level].problem.clone()) {
            let locator = Locator::Xml { line: self.frames[own].line, path };
            return Ok(sink(Event::Unreadable { locator, line: shown(&self.frames[own]), problem }));
        }
        Ok(sink(Event::Row(&XmlRow { frames: &self.frames[..self.depth], fields: &self.fields, path: &path })))
    }

    /// Reads the attributes and names of the elements above that a row asks for, once for each of them.
    fn ask_above(&mut self) {
        if !self.up_tags {
            return;
        }
        for want in 0..self.fields.len() {
            let Some(level) = (self.depth - 1).checked_sub(self.fields[want].up) else { continue };
            if self.fields[want].up == 0 || self.frames[level].asked {
                continue;
            }
            self.ask(level);
        }
    }

    fn ask(&mut self, level: usize) {
        let path = self.path_of(level + 1);
        let local = self.name(level).rsplit(':').next().unwrap_or_default().to_owned();
        let frame = &mut self.frames[level];
        frame.asked = true;
        for (want, field) in self.fields.iter().enumerate().filter(|(_, f)| f.up > 0 && f.steps.is_empty()) {
            let found = match field.part {
                Part::ElementName => Ok(Some((path.clone(), local.clone()))),
                _ => attribute(&frame.tag, field).map(|a| a.map(|(name, value)| (join(&path, &name), value))),
            };
            match (found, frame.slots.get_mut(want)) {
                (Ok(Some((path, value))), Some(slot)) => *slot = Slot::One(value, At { line: frame.line, path }),
                (Err(problem), _) => frame.problem = Some(problem),
                _ => {}
            }
        }
    }

    /// Says whether the document is whole.
    pub(super) fn finish(&self, line: u64) -> Result<(), FormatError> {
        match (self.depth, self.rooted) {
            (0, true) => Ok(()),
            (0, false) => Err(self.broken("there is no element in it".to_owned(), line)),
            (n, _) => {
                let (name, begun) = (shorten::cut(self.name(n - 1), 60), self.frames[n - 1].line);
                Err(self.broken(format!("the file breaks off: `<{name}>` of line {begun} is never closed"), line))
            }
        }
    }

    fn name(&self, level: usize) -> &str {
        let end = if level + 1 < self.depth { self.frames[level + 1].name } else { self.names.len() };
        &self.names[self.frames[level].name..end]
    }

    /// Returns the path of the innermost of the first `depth` open elements, below the root; `.` is the root.
    fn path_of(&self, depth: usize) -> String {
        let names: Vec<&str> = (1..depth).map(|level| self.name(level)).collect();
        if names.is_empty() { ".".to_owned() } else { names.join("/") }
    }

    fn limit(&self, what: String) -> FormatError {
        FormatError::Limit { what, name: "row_bytes", limit: self.limits.row_bytes as u64 }
    }

    fn broken(&self, problem: String, line: u64) -> FormatError {
        FormatError::Broken { problem, locator: Locator::Xml { line, path: self.path_of(self.depth) } }
    }
}

/// Returns whether an element meets the conditions of a step.
#[inline]
fn keeps(step: &Step, raw: &str) -> bool {
    step.keep.iter().all(|(name, value)| {
        // Where the value does not stand in the tag at all, and nothing in it could be a reference to a
        // character, its attributes need not be read.
        if !raw.contains(value.as_str()) && !raw.contains('&') {
            return false;
        }
        let found = quick_xml::events::attributes::Attributes::new(raw, 0)
            .with_checks(false)
            .filter_map(Result::ok)
            .find(|a| name.is(a.key.into_inner()));
        found.and_then(|a| a.normalized_value(XmlVersion::Implicit1_0).ok()).is_some_and(|v| v == value.as_str())
    })
}

/// Adds text with the line ends that XML gives it: every one is a line feed.
fn push_text(out: &mut String, text: &str) {
    match text.contains('\r') {
        true => out.push_str(&text.replace("\r\n", "\n").replace('\r', "\n")),
        false => out.push_str(text),
    }
}

fn trimmed(text: String) -> String {
    let inner = text.trim();
    if inner.len() == text.len() { text } else { inner.to_owned() }
}

fn join(path: &str, attribute: &str) -> String {
    if path == "." { format!("@{attribute}") } else { format!("{path}/@{attribute}") }
}
