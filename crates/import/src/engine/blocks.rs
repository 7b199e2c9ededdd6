//! One block at work: each of its rows goes to its shape.

use super::compile::{Block, Keep, Source, Test};
use super::edges::is_there;
use super::faults::Fault;
use super::half;
use super::items;
use super::layered::{Given, InCell};
use super::moment::{Around, Frame, Moment};
use super::nights::{Home, PartKey};
use super::shapes::{change, claims, codes, one};
use super::sink::Sink;
use super::view::{Found, Item, View, json_of, node_of, text_of};
use super::wall::Above;
use crate::filter::{Filtered, Runner};
use crate::grammar::origin::Bound;
use crate::grammar::{Grammar, NoteWord, Order, Shape, StageWord};
use crate::kinds;
use crate::parse::near;
use counterpane_formats::{Event, Flow, Format, Node, Request, Row, Want};
use counterpane_model::Instant;
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

/// The last row of a night.
#[derive(Clone, Copy)]
pub(super) struct Last {
    pub(super) start: Instant,
    pub(super) end: Instant,
}

/// A block at work.
pub(super) struct Worker<'a> {
    pub(super) block: &'a Block,
    pub(super) frame: &'a Frame<'a>,
    pub(super) grammar: &'a Grammar,
    /// The last row of each night.
    pub(super) last: HashMap<PartKey, Last>,
    /// Change points that wait for their end.
    pub(super) points: BTreeMap<PartKey, change::Points>,
    /// The night of the last change point.
    pub(super) latest: Option<PartKey>,
    /// Codes that go on from row to row.
    pub(super) run: Option<codes::Run>,
    /// How often codes have changed so far.
    pub(super) changes: u64,
    /// Number of the block in the definition.
    pub(super) number: usize,
    /// Number of the row in the block.
    ordinal: u64,
    /// The child process that runs the filter.
    runner: Option<Runner>,
    /// Why no child process could be started.
    pub(super) trouble: Option<std::io::Error>,
}

/// What a word of the source means.
pub(super) enum Meaning {
    Stage(StageWord),
    Note(NoteWord),
    Unknown,
}

impl<'a> Worker<'a> {
    pub(super) fn new(number: usize, block: &'a Block, frame: &'a Frame<'a>, grammar: &'a Grammar) -> Worker<'a> {
        Worker {
            block,
            frame,
            grammar,
            last: HashMap::new(),
            points: BTreeMap::new(),
            latest: None,
            run: None,
            changes: 0,
            number,
            ordinal: 0,
            runner: block.filter.as_ref().map(|f| Runner::new(&f.text)),
            trouble: None,
        }
    }

    /// Takes a row of the file.
    pub(super) fn take(&mut self, row: &dyn Row, sink: &mut Sink<'_>) {
        let block = self.block;
        match &block.cell {
            None => self.kept(row, sink),
            Some(cell) => self.in_cell(cell, row, sink),
        }
    }

    /// Takes the rows of the JSON in a cell.
    fn in_cell(&mut self, cell: &super::compile::Cell, row: &dyn Row, sink: &mut Sink<'_>) {
        let text = match row.value(cell.want).map(text_of) {
            Some(Ok(text)) if !text.trim().is_empty() => text,
            _ => {
                sink.tally.rows += 1;
                return sink.ignored("the cell has no JSON");
            }
        };
        let (place, rows) = (row.locate(cell.want), sink.tally.rows);
        let mut number = 0;
        let read = counterpane_formats::read(Format::Json, &mut text.as_bytes(), &cell.request, &mut |event| {
            match event {
                Event::Head(_) => {}
                Event::Row(inner) => {
                    number += 1;
                    self.kept(&InCell { inner, outer: row, slots: &cell.slots, cell: place.clone(), number }, sink);
                }
                Event::Unreadable { line, problem, .. } => {
                    sink.tally.rows += 1;
                    self.unreadable();
                    sink.faulty(Fault::new(&kinds::row_unreadable::KIND, problem, place.clone()), None, || line);
                }
            }
            Flow::Continue
        });
        if let Err(error) = read {
            sink.tally.rows += 1;
            self.unreadable();
            let message = format!("the JSON in the cell cannot be read: {error}");
            sink.faulty(Fault::new(&kinds::row_unreadable::KIND, message, place), None, || row.line());
        } else if sink.tally.rows == rows && !self.frame.half.borrow().surveying {
            sink.tally.rows += 1;
            sink.ignored("the JSON in the cell has no rows");
        }
    }

    /// Takes a row if it passes the conditions of the block.
    fn kept(&mut self, row: &dyn Row, sink: &mut Sink<'_>) {
        let block = self.block;
        let view = View { row, item: Item::Whole, known: self.frame.known };
        if let Some(keep) = block.keep.iter().find(|k| !kept(k, &view)) {
            sink.tally.rows += 1;
            if !keep.error {
                return sink.ignored(&keep.rule);
            }
            change::broken(self);
            let message = format!("a row that must not be there: {}", keep.rule.trim_start_matches("keep: "));
            return sink
                .faulty(Fault::new(&kinds::value_unreadable::KIND, message, row.locator()), None, || row.line());
        }
        match &block.filter {
            None => self.row(row, sink),
            Some(filter) => self.filtered(filter, row, sink),
        }
    }

    /// Takes what the filter makes of a row.
    fn filtered(&mut self, filter: &super::compile::Filter, row: &dyn Row, sink: &mut Sink<'_>) {
        let Some(runner) = &mut self.runner else { return };
        let value = |want: usize| row.value(want).map_or_else(|| "null".to_owned(), json_of);
        let seen = match filter.sees.as_slice() {
            [(None, want)] => value(*want),
            fields => {
                let field = |(name, want): &(Option<String>, usize)| {
                    let name = serde_json::Value::String(name.clone().unwrap_or_default());
                    format!("{name}:{}", value(*want))
                };
                format!("{{{}}}", fields.iter().map(field).collect::<Vec<_>>().join(","))
            }
        };
        let given = match runner.run(&seen) {
            Ok(Filtered::Values(values)) => values.iter().map(|v| parsed(v)).collect::<Result<Vec<Node>, String>>(),
            Ok(Filtered::Failed(why)) => Err(why),
            Err(error) => return self.trouble = Some(error),
        };
        match given {
            Ok(nodes) if nodes.is_empty() => {
                sink.tally.rows += 1;
                sink.ignored("the filter gives nothing for it");
            }
            Ok(nodes) => {
                let many = nodes.len() > 1;
                for (n, node) in nodes.into_iter().enumerate() {
                    let number = many.then_some(n as u64 + 1);
                    self.row(&Given { node, outer: row, slots: &filter.slots, number }, sink);
                }
            }
            Err(why) => {
                sink.tally.rows += 1;
                change::broken(self);
                let message = format!("{why}, in `{}`", short(&filter.text));
                sink.faulty(Fault::new(&kinds::filter_failed::KIND, message, row.locator()), None, || row.line());
            }
        }
    }

    /// Takes a row in the form that the shapes see.
    fn row(&mut self, row: &dyn Row, sink: &mut Sink<'_>) {
        self.ordinal += 1;
        self.frame.half.borrow_mut().row = self.row_number();
        let view = View { row, item: Item::Whole, known: self.frame.known };
        let named = match self.named(&view) {
            Ok(named) => named,
            Err(fault) => {
                sink.tally.rows += 1;
                change::broken(self);
                return sink.faulty(fault, None, || row.line());
            }
        };
        if self.frame.half.borrow().surveying && self.block.shape != Shape::Claims {
            if half::is_surveyed(self.block.shape) {
                half::survey(self, &view, named.as_ref());
            }
            return;
        }
        match self.block.shape {
            Shape::Codes | Shape::Columns => codes::row(self, &view, named.as_ref(), sink),
            Shape::Claims => claims::row(self, &view, named.as_ref(), sink),
            Shape::Arrays => items::arrays(self, row, named.as_ref(), sink),
            Shape::Keyed => items::keyed(self, row, named.as_ref(), sink),
            Shape::Interval | Shape::Length | Shape::Change | Shape::Notes => {
                one::row(self, &view, named.as_ref(), sink)
            }
        }
    }

    /// Takes what should have been a row and could not be read.
    pub(super) fn unreadable(&mut self) {
        change::broken(self);
    }

    /// Returns the number of the block, and of the row in it.
    pub(super) fn row_number(&self) -> (usize, u64) {
        (self.number, self.ordinal)
    }

    /// Says whether a row lasts to the next one.
    pub(super) fn is_change(&self) -> bool {
        match self.block.shape {
            Shape::Change => true,
            Shape::Arrays | Shape::Keyed => self.block.end.is_none() && self.block.length.is_none(),
            Shape::Interval | Shape::Length | Shape::Codes | Shape::Columns | Shape::Claims | Shape::Notes => false,
        }
    }

    /// Ends the block: what waited for an end gets it.
    pub(super) fn finish(&mut self, sink: &mut Sink<'_>) {
        change::finish(self, sink);
    }

    /// Returns the night that a row names, if the definition says that it names one.
    fn named(&self, view: &View<'_>) -> Result<Option<Rc<Home>>, Fault> {
        let Some(night) = &self.block.night else { return Ok(None) };
        if let Source::Bound(Bound::Night) = night.source {
            return Ok(self.frame.nights.bound().cloned());
        }
        let found = view.need(&night.source, "night")?;
        let named = self.frame.nights.named(&found.text, night.means, &night.pattern, None);
        named.map(Some).map_err(|why| Fault::new(&kinds::value_unreadable::KIND, why, found.locator))
    }

    /// Reads a time of the row.
    pub(super) fn time(
        &self,
        time: &super::compile::Time,
        view: &View<'_>,
        named: Option<&Rc<Home>>,
    ) -> Result<Moment, Fault> {
        let above = |key: &PartKey| self.above(key);
        let around = Around { named, ordered: self.block.order == Order::File, end: false, above: &above };
        self.frame.moment(time, view, &around)
    }

    /// Reads a time that ends what began at `start`.
    pub(super) fn time_after(
        &self,
        time: &super::compile::Time,
        view: &View<'_>,
        named: Option<&Rc<Home>>,
        start: Instant,
    ) -> Result<Moment, Fault> {
        let above = |_: &PartKey| Above { start: Some(start), from: Some(start) };
        let around = Around { named, ordered: true, end: true, above: &above };
        self.frame.moment(time, view, &around).map_err(|fault| {
            if fault.kind.code == kinds::order_backwards::KIND.code {
                let message = fault.message.replace("is before the row above, which", "ends a row that");
                return Fault { kind: &kinds::length_not_positive::KIND, message, ..fault };
            }
            fault
        })
    }

    fn above(&self, key: &PartKey) -> Above {
        let Some(last) = self.last.get(key) else { return Above::default() };
        // Rows may overlap by as much as the source rounds its times.
        let step = self.grammar.step.map_or(0, |s| s.0);
        let from = last.end.plus_ms(-step).map_or(last.start, |end| end.max(last.start));
        Above { start: Some(last.start), from: Some(from) }
    }

    /// Returns the night that a time belongs to.
    pub(super) fn home(&self, moment: &Moment, named: Option<&Rc<Home>>) -> Result<Rc<Home>, Fault> {
        let home = named.cloned().or_else(|| self.frame.nights.holding(moment.at, moment.zone.as_ref()));
        home.ok_or_else(|| {
            let message =
                format!("{} lies in no declared night, and no zone says which evening it belongs to", moment.at);
            Fault::new(&kinds::no_zone::KIND, message, moment.locator.clone())
        })
    }

    /// Returns what a word of the source means.
    pub(super) fn meaning(&self, text: &str) -> Meaning {
        match (self.grammar.stages.get(text), self.grammar.notes.get(text)) {
            (Some(word), _) => Meaning::Stage(*word),
            (None, Some(word)) => Meaning::Note(*word),
            (None, None) if text.is_ascii() => Meaning::Unknown,
            (None, None) => self.composed(text),
        }
    }

    /// Returns what a word means whose accents are written in another way than in the definition.
    fn composed(&self, text: &str) -> Meaning {
        let stage = self.grammar.stages.iter().find(|(known, _)| same_text(known, text));
        let note = || self.grammar.notes.iter().find(|(known, _)| same_text(known, text));
        match stage {
            Some((_, word)) => Meaning::Stage(*word),
            None => note().map_or(Meaning::Unknown, |(_, word)| Meaning::Note(*word)),
        }
    }

    /// Counts a row whose word is mapped to nothing.
    pub(super) fn unmapped(&self, label: &Found<'_>, home: Option<&Rc<Home>>, row: &dyn Row, sink: &mut Sink<'_>) {
        let known = self.grammar.stages.keys().chain(self.grammar.notes.keys()).map(String::as_str);
        sink.unmapped(&label.text, near(&label.text, known), label.locator.clone(), home, row);
    }
}

fn kept(keep: &Keep, view: &View<'_>) -> bool {
    match &keep.test {
        Test::There(there) => is_there(view, &keep.source) == *there,
        Test::In(texts) => {
            view.text(&keep.source).is_some_and(|found| texts.iter().any(|t| *t == found || same_text(t, &found)))
        }
    }
}

/// Says whether two texts are the same letter by letter, however their accents are written (Unicode's form NFC).
fn same_text(a: &str, b: &str) -> bool {
    use unicode_normalization::UnicodeNormalization as _;
    !(a.is_ascii() && b.is_ascii()) && a.nfc().eq(b.nfc())
}

/// Returns a value that a filter gave.
fn parsed(text: &str) -> Result<Node, String> {
    let want = Want { up: 0, path: "@".into() };
    let request = Request { each: "$".into(), wants: vec![want], ..Request::default() };
    let mut node = None;
    let read = counterpane_formats::read(Format::Json, &mut text.as_bytes(), &request, &mut |event| {
        if let Event::Row(row) = event {
            node = row.value(0).map(node_of);
        }
        Flow::Continue
    });
    read.map_err(|e| format!("the filter gives what is not JSON: {e}"))?;
    node.ok_or_else(|| "the filter gives what is not JSON".to_owned())
}

/// Returns a filter's text on one line, cut when long.
fn short(text: &str) -> String {
    let line: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() > 80 { line.chars().take(79).chain(['…']).collect() } else { line }
}
