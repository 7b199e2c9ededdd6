//! Rows that are one span, one change point or one note: shapes `interval`, `length`, `change`, `notes`.

use super::change::{self, Point};
use crate::engine::blocks::{Last, Meaning, Worker};
use crate::engine::edges;
use crate::engine::faults::Fault;
use crate::engine::lengths::words;
use crate::engine::moment::Moment;
use crate::engine::nights::Home;
use crate::engine::sink::Sink;
use crate::engine::view::{Found, View};
use crate::grammar::{NoteWord, Order, Shape, StageWord};
use crate::kinds;
use counterpane_model::{Instant, Mark, Note, Span};
use std::rc::Rc;

/// Takes a row, or an item of a row.
pub(in crate::engine) fn row(w: &mut Worker<'_>, view: &View<'_>, named: Option<&Rc<Home>>, sink: &mut Sink<'_>) {
    sink.tally.rows += 1;
    if let Err(refused) = take(w, view, named, sink) {
        let (fault, home) = *refused;
        change::broken(w);
        sink.faulty(fault, home.as_ref().or(named), || view.row.line());
    }
}

/// Why a row becomes nothing, and the night that it belongs to, if that is known.
type Refused = Box<(Fault, Option<Rc<Home>>)>;

fn take(w: &mut Worker<'_>, view: &View<'_>, named: Option<&Rc<Home>>, sink: &mut Sink<'_>) -> Result<(), Refused> {
    let loose = |fault| Box::new((fault, None));
    let source = if w.block.shape == Shape::Notes { &w.block.note } else { &w.block.stage };
    let label = match source {
        Some(source) => {
            view.need(source, if w.block.shape == Shape::Notes { "note" } else { "stage" }).map_err(loose)?
        }
        None => return Err(loose(view.lacks("stage"))),
    };
    let meaning = w.meaning(&label.text);
    if let Meaning::Stage(StageWord::Ignored) | Meaning::Note(NoteWord::Ignored) = meaning {
        sink.ignored(&format!("`{}` is ignored", label.text));
        return Ok(());
    }
    let start = edges::start(w, view, named);
    let (start, home) = match start.and_then(|start| w.home(&start, named).map(|home| (start, home))) {
        Ok(both) => both,
        // Two things are wrong with the row; the word is told, because it speaks of every such row.
        Err(_) if matches!(meaning, Meaning::Unknown) => {
            w.unmapped(&label, named, view.row, sink);
            change::broken(w);
            return Ok(());
        }
        Err(fault) => return Err(loose(fault)),
    };
    let row = Row { view, home: &home, label, start };
    let done = match meaning {
        Meaning::Unknown => {
            w.unmapped(&row.label, Some(&home), view.row, sink);
            change::hole(w, &home, &row.start);
            Ok(())
        }
        Meaning::Note(word) => row.note(w, word, sink),
        Meaning::Stage(_) if w.block.shape == Shape::Notes => {
            w.unmapped(&row.label, Some(&home), view.row, sink);
            Ok(())
        }
        Meaning::Stage(word) => row.stage(w, word, sink),
    };
    done.map_err(|fault| Box::new((fault, Some(home.clone()))))
}

/// A row whose word and start are known.
struct Row<'a, 'r> {
    view: &'a View<'r>,
    home: &'a Rc<Home>,
    label: Found<'r>,
    start: Moment,
}

impl Row<'_, '_> {
    fn stage(self, w: &mut Worker<'_>, word: StageWord, sink: &mut Sink<'_>) -> Result<(), Fault> {
        self.in_order(w)?;
        let end = self.end(w)?;
        let Some(mark) = word.mark().filter(|_| !w.is_change()) else {
            return self.point(w, word, end, sink);
        };
        let end = end.unwrap_or(self.start.at);
        self.check_length(end)?;
        self.remember(w, end);
        self.span(w, mark, end, sink);
        Ok(())
    }

    fn span(self, w: &Worker<'_>, mark: Mark, end: Instant, sink: &mut Sink<'_>) {
        sink.remark(self.home, &self.start, self.view.row);
        let span =
            Span { start: self.start.at, end, mark, label: self.label.text.into_owned(), locator: self.label.locator };
        sink.short(self.home, &span, || self.view.row.line());
        match w.block.shape {
            Shape::Arrays => sink.code(self.home, w.block.layer, span, self.start.basis),
            _ => sink.span(self.home, w.block.layer, span, self.start.basis),
        }
    }

    /// A change point waits until the next one is known.
    fn point(
        self,
        w: &mut Worker<'_>,
        word: StageWord,
        end: Option<Instant>,
        sink: &mut Sink<'_>,
    ) -> Result<(), Fault> {
        if let Some(end) = end {
            self.check_length(end)?;
        }
        self.remember(w, self.start.at);
        sink.remark(self.home, &self.start, self.view.row);
        if word == StageWord::End {
            sink.ignored(&format!("`{}` ends the recording", self.label.text));
        }
        let point = Point {
            at: self.start.at,
            end,
            mark: word.mark(),
            label: self.label.text.into_owned(),
            locator: self.label.locator,
            line: self.view.row.line(),
            basis: self.start.basis,
            open: false,
        };
        change::wait(w, self.home, point);
        Ok(())
    }

    fn note(self, w: &mut Worker<'_>, word: NoteWord, sink: &mut Sink<'_>) -> Result<(), Fault> {
        let until = if w.is_change() { None } else { self.end_of_note(w)? };
        if let Some(until) = until.filter(|until| *until < self.start.at) {
            self.check_length(until)?;
        }
        sink.remark(self.home, &self.start, self.view.row);
        let Some(kind) = word.kind() else { return Ok(()) };
        let note = Note {
            at: self.start.at,
            until: until.filter(|u| *u > self.start.at),
            precision_ms: w.grammar.step.map_or(0, |s| s.0),
            kind,
            text: self.label.text.into_owned(),
            locator: Some(self.label.locator),
        };
        sink.note(self.home, note);
        Ok(())
    }

    /// An event need not say how long it lasted, even where stages do.
    fn end_of_note(&self, w: &Worker<'_>) -> Result<Option<Instant>, Fault> {
        let given = match (&w.block.end, &w.block.length) {
            (Some(end), _) => self.view.find(&end.source, "end")?.map(|f| f.text),
            (None, Some(length)) => self.view.find(&length.source, "length")?.map(|f| f.text),
            (None, None) => None,
        };
        match given.as_deref() {
            None | Some("" | "null" | "n/a") => Ok(None),
            Some(_) => self.end(w),
        }
    }

    fn end(&self, w: &Worker<'_>) -> Result<Option<Instant>, Fault> {
        edges::end(w, self.view, self.home, &self.start)
    }

    fn in_order(&self, w: &Worker<'_>) -> Result<(), Fault> {
        let Some(last) = w.last.get(&self.home.key).filter(|_| w.block.order == Order::File) else { return Ok(()) };
        if self.start.at >= last.start {
            return Ok(());
        }
        let text = |at| self.home.zone.text_of(at);
        let message = format!("{} is before the row above, which begins at {}", text(self.start.at), text(last.start));
        Err(Fault::new(&kinds::order_backwards::KIND, message, self.start.locator.clone()))
    }

    fn check_length(&self, end: Instant) -> Result<(), Fault> {
        let ms = end.ms_since(self.start.at);
        if ms > 0 {
            return Ok(());
        }
        let text = |at| self.home.zone.text_of(at);
        let message = format!("from {} to {} is {}", text(self.start.at), text(end), words(ms));
        Err(Fault::new(&kinds::length_not_positive::KIND, message, self.start.locator.clone()))
    }

    fn remember(&self, w: &mut Worker<'_>, end: Instant) {
        w.last.insert(self.home.key.clone(), Last { start: self.start.at, end });
    }
}
