//! One block at work: each of its rows goes to its shape.

use super::compile::{Block, Keep, Source};
use super::faults::Fault;
use super::items;
use super::moment::{Around, Frame, Moment};
use super::nights::{Home, PartKey};
use super::shapes::{change, claims, codes, one};
use super::sink::Sink;
use super::view::{Found, Item, View};
use super::wall::Above;
use crate::grammar::origin::Bound;
use crate::grammar::{Grammar, NoteWord, Order, Shape, StageWord};
use crate::kinds;
use crate::parse::near;
use counterpane_formats::Row;
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
}

/// What a word of the source means.
pub(super) enum Meaning {
    Stage(StageWord),
    Note(NoteWord),
    Unknown,
}

impl<'a> Worker<'a> {
    pub(super) fn new(block: &'a Block, frame: &'a Frame<'a>, grammar: &'a Grammar) -> Worker<'a> {
        Worker { block, frame, grammar, last: HashMap::new(), points: BTreeMap::new(), latest: None, run: None }
    }

    /// Takes a row.
    pub(super) fn row(&mut self, row: &dyn Row, sink: &mut Sink<'_>) {
        let view = View { row, item: Item::Whole };
        if let Some(keep) = self.block.keep.iter().find(|k| !kept(k, &view)) {
            sink.tally.rows += 1;
            return sink.ignored(&keep.rule);
        }
        let named = match self.named(&view) {
            Ok(named) => named,
            Err(fault) => {
                sink.tally.rows += 1;
                change::broken(self);
                return sink.faulty(fault, None, || row.line());
            }
        };
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
        let around = Around { named, ordered: self.block.order == Order::File, above: &above };
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
        let around = Around { named, ordered: true, above: &above };
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
            (None, None) => Meaning::Unknown,
        }
    }

    /// Counts a row whose word is mapped to nothing.
    pub(super) fn unmapped(&self, label: &Found<'_>, home: Option<&Rc<Home>>, row: &dyn Row, sink: &mut Sink<'_>) {
        let known = self.grammar.stages.keys().chain(self.grammar.notes.keys()).map(String::as_str);
        sink.unmapped(&label.text, near(&label.text, known), label.locator.clone(), home, row);
    }
}

fn kept(keep: &Keep, view: &View<'_>) -> bool {
    view.find(&keep.source, "").ok().flatten().is_some_and(|found| keep.texts.iter().any(|t| *t == found.text))
}
