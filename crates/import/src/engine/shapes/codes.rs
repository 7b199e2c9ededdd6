//! One code for each epoch: a text, a list, columns, or one code a row.

use crate::engine::blocks::{Meaning, Worker};
use crate::engine::compile::{CodesSource, Source};
use crate::engine::faults::Fault;
use crate::engine::lengths::{self, words};
use crate::engine::moment::Moment;
use crate::engine::nights::Home;
use crate::engine::sink::Sink;
use crate::engine::view::{Found, View, text_of, value_of};
use crate::grammar::StageWord;
use crate::kinds;
use counterpane_formats::{Node, Value};
use counterpane_model::{Instant, Locator, Span, TimeBasis};
use std::borrow::Cow;
use std::rc::Rc;

/// Codes that go on from row to row.
pub(in crate::engine) struct Run {
    anchor: Instant,
    count: u64,
}

/// Takes a row of codes.
pub(in crate::engine) fn row(w: &mut Worker<'_>, view: &View<'_>, named: Option<&Rc<Home>>, sink: &mut Sink<'_>) {
    let refused = match Codes::of(w, view).and_then(|codes| Ok((codes.count(view)?, codes))) {
        Err(fault) => (fault, 1),
        Ok((n, codes)) => match lay(w, view, named, &codes, n, sink) {
            Ok(()) => return,
            Err(fault) => (fault, n.all.max(1)),
        },
    };
    let (fault, lost) = refused;
    sink.tally.rows += lost;
    sink.tally.faulty += lost;
    let also = if lost > 1 { format!("; none of the {lost} codes of the row is taken") } else { String::new() };
    sink.fault(Fault { message: format!("{}{also}", fault.message), ..fault }, named, || view.row.line());
}

/// Changes of code that one block may hold: a person has some dozens in a night, and each takes memory.
const MOST_CHANGES: u64 = 500_000;

/// Lays the codes of a row on the line of time; an error means that none was laid.
fn lay(
    w: &mut Worker<'_>,
    view: &View<'_>,
    named: Option<&Rc<Home>>,
    codes: &Codes<'_>,
    n: Count,
    sink: &mut Sink<'_>,
) -> Result<(), Fault> {
    let start = w.block.start.as_ref().ok_or_else(|| view.lacks("start")).and_then(|t| w.time(t, view, named))?;
    let epoch = epoch(w, view)?;
    let first = first_index(w, start.at);
    w.changes += if by_row(w) { 0 } else { n.changes };
    if w.changes > MOST_CHANGES {
        let message = format!("the codes change more than {MOST_CHANGES} times, as no sleeper does");
        return Err(Fault::new(&kinds::value_unreadable::KIND, message, view.place()));
    }
    let laid = Laid { view, named, start: &start, epoch, first };
    let (mut home, mut at) = (None, 0);
    codes.each(view, &mut |text| {
        sink.tally.rows += 1;
        home = laid.code(w, at, Found { text, locator: codes.place(view, at) }, sink).or(home.take());
        at += 1;
        Ok(())
    })?;
    if let Some(home) = &home {
        sink.remark(home, &start, view.row);
    }
    let home = home.as_ref().or(named);
    if let Err(fault) = check_count(w, &laid, at, home, sink) {
        sink.fault(fault, home, || view.row.line());
    }
    Ok(())
}

/// Returns how many codes stand before those of this row: rows of one code go on from the same anchor.
fn first_index(w: &mut Worker<'_>, anchor: Instant) -> u64 {
    if !by_row(w) {
        return 0;
    }
    let count = w.run.as_ref().filter(|run| run.anchor == anchor).map_or(0, |run| run.count);
    w.run = Some(Run { anchor, count: count + 1 });
    count
}

fn by_row(w: &Worker<'_>) -> bool {
    w.block.codes.as_ref().is_some_and(|c| c.split.as_deref() == Some("row"))
}

/// Seconds that an epoch has at least: less is a unit misread, and would be lost in the rounding to milliseconds.
const SHORTEST: f64 = 1.0;

/// Seconds that an epoch has at most.
const LONGEST: f64 = 86_400.0;

fn epoch(w: &Worker<'_>, view: &View<'_>) -> Result<f64, Fault> {
    let Some(length) = &w.block.epoch else { return Err(view.lacks("epoch")) };
    let found = view.need(&length.source, "length of an epoch")?;
    let seconds = lengths::of(length, &found.text, view, w.frame)?.filter(|s| *s > 0.0);
    let wrong = match seconds {
        Some(s) if s < SHORTEST => " of sleep: in the unit of the definition it is shorter than a second",
        Some(s) if s > LONGEST => " of sleep: in the unit of the definition it is longer than a day",
        Some(s) => return Ok(s),
        None => "",
    };
    let message = format!("`{}` is not the length of an epoch{wrong}", found.text);
    Err(Fault::new(&kinds::value_unreadable::KIND, message, found.locator))
}

/// The codes of a row, which are handed out one by one: a row may hold millions.
enum Codes<'r> {
    /// One column each.
    Columns(&'r [usize]),
    /// Elements of a list, and where it stands.
    List(&'r [Node], Locator),
    /// Characters of a text.
    Letters(Found<'r>),
    /// What stands between separators.
    Words(Found<'r>, &'r str),
    /// The whole value is one code.
    One(Found<'r>),
}

/// How many codes a row has, and how often they change; the first one is a change, too.
#[derive(Clone, Copy, Default)]
struct Count {
    all: u64,
    changes: u64,
}

impl<'r> Codes<'r> {
    fn of(w: &Worker<'r>, view: &View<'r>) -> Result<Codes<'r>, Fault> {
        let block = w.block;
        let Some(codes) = &block.codes else { return Err(view.lacks("codes")) };
        let source = match &codes.source {
            CodesSource::Value(source) => source,
            CodesSource::Columns(wants) => return Ok(Codes::Columns(wants)),
        };
        if let Source::Fields(fields) = source
            && let [field] = fields.as_slice()
            && let Some(Value::List(items)) = view.value(field)
        {
            return Ok(Codes::List(items, view.locate(field)));
        }
        let found = view.need(source, "codes")?;
        match codes.split.as_deref() {
            Some("row") => Ok(Codes::One(found)),
            Some("letter") => Ok(Codes::Letters(found)),
            Some(between) => Ok(Codes::Words(found, between)),
            None => {
                let help = "say how the text is cut: add `split = \"letter\"` to `rows.codes`";
                let message = "the codes are a text, not a list";
                Err(Fault::new(&kinds::value_unreadable::KIND, message, found.locator).help(help))
            }
        }
    }

    /// Hands out the text of each code; the first error ends it.
    fn each<'s>(
        &'s self,
        view: &View<'s>,
        take: &mut dyn FnMut(Cow<'s, str>) -> Result<(), Fault>,
    ) -> Result<(), Fault> {
        match self {
            // A row without a column is refused as a whole: the codes after it would move to an earlier epoch.
            Codes::Columns(wants) => wants.iter().enumerate().try_for_each(|(n, want)| {
                let value = view.row.value(*want).ok_or_else(|| view.lacks("column for each epoch"))?;
                take(text_of(value).map_err(|kind| self.refused(view, n, kind))?)
            }),
            Codes::List(items, _) => items
                .iter()
                .enumerate()
                .try_for_each(|(n, node)| take(text_of(value_of(node)).map_err(|kind| self.refused(view, n, kind))?)),
            Codes::Letters(Found { text, .. }) => {
                text.char_indices().try_for_each(|(at, c)| take(Cow::Borrowed(&text[at..at + c.len_utf8()])))
            }
            Codes::Words(Found { text, .. }, between) => {
                text.split(*between).try_for_each(|word| take(Cow::Borrowed(word)))
            }
            Codes::One(Found { text, .. }) => take(Cow::Borrowed(text)),
        }
    }

    fn refused(&self, view: &View<'_>, n: usize, kind: &str) -> Fault {
        Fault::new(&kinds::value_unreadable::KIND, format!("a code is {kind}"), self.place(view, n as u64))
    }

    /// Returns where the n-th code stands, from 0.
    fn place(&self, view: &View<'_>, n: u64) -> Locator {
        match self {
            Codes::Columns(wants) => {
                usize::try_from(n).ok().and_then(|n| wants.get(n)).map_or_else(|| view.place(), |w| view.row.locate(*w))
            }
            Codes::List(_, at)
            | Codes::Letters(Found { locator: at, .. })
            | Codes::Words(Found { locator: at, .. }, _) => at.clone().item(n + 1),
            Codes::One(Found { locator, .. }) => locator.clone(),
        }
    }

    /// Counts the codes; an error means that one of them is no code.
    fn count(&self, view: &View<'_>) -> Result<Count, Fault> {
        let (mut count, mut last) = (Count::default(), None);
        self.each(view, &mut |text| {
            count.all += 1;
            if last.as_ref() != Some(&text) {
                count.changes += 1;
                last = Some(text);
            }
            Ok(())
        })?;
        Ok(count)
    }
}

/// The codes of a row on the line of time.
struct Laid<'a, 'r> {
    view: &'a View<'r>,
    named: Option<&'a Rc<Home>>,
    start: &'a Moment,
    epoch: f64,
    first: u64,
}

impl Laid<'_, '_> {
    #[expect(clippy::cast_precision_loss, reason = "a file has fewer than 2^52 codes")]
    fn instant(&self, n: u64) -> Option<Instant> {
        self.start.plus_seconds((self.first + n) as f64 * self.epoch)
    }

    /// Takes one code; returns its night, if it has one.
    fn code(&self, w: &Worker<'_>, n: u64, code: Found<'_>, sink: &mut Sink<'_>) -> Option<Rc<Home>> {
        let word = match w.meaning(&code.text) {
            Meaning::Stage(StageWord::Ignored) => {
                sink.ignored(&format!("`{}` is ignored", code.text));
                return None;
            }
            meaning => meaning,
        };
        match (self.times(w, n, &code.locator), word) {
            (Ok((_, _, home)), Meaning::Unknown | Meaning::Note(_)) => {
                w.unmapped(&code, Some(&home), self.view.row, sink);
                Some(home)
            }
            (Err(fault), _) => {
                sink.faulty(fault, self.named, || self.view.row.line());
                None
            }
            (Ok((start, end, home)), Meaning::Stage(word)) => {
                let Some(mark) = word.mark() else {
                    sink.ignored(&format!("`{}` ends the recording", code.text));
                    return Some(home);
                };
                let span = Span { start, end, mark, label: code.text.into_owned(), locator: code.locator };
                sink.code(&home, w.block.layer, span, TimeBasis::ElapsedFromAnchor);
                Some(home)
            }
        }
    }

    fn times(&self, w: &Worker<'_>, n: u64, locator: &Locator) -> Result<(Instant, Instant, Rc<Home>), Fault> {
        let range = self.instant(n).zip(self.instant(n + 1));
        let out = || {
            Fault::new(&kinds::time_unreadable::KIND, "the code lies outside the years 1900 to 2199", locator.clone())
        };
        let (start, end) = range.ok_or_else(out)?;
        let home = w.home(&Moment { at: start, ..self.start.clone() }, self.named)?;
        Ok((start, end, home))
    }
}

/// Says so when the codes do not fill the time that the source states.
fn check_count(
    w: &Worker<'_>,
    laid: &Laid<'_, '_>,
    n: u64,
    home: Option<&Rc<Home>>,
    sink: &mut Sink<'_>,
) -> Result<(), Fault> {
    let view = laid.view;
    let stated = match (&w.block.end, &w.block.length) {
        (Some(end), _) => w
            .time_after(end, view, laid.named.or(home), laid.start.at)
            .map(|m| (m.at.ms_since(laid.start.at), m.locator))?,
        (None, Some(length)) => {
            let found = view.need(&length.source, "length")?;
            let ms = lengths::of(length, &found.text, view, w.frame)?
                .and_then(|s| laid.start.plus_seconds(s))
                .map(|end| end.ms_since(laid.start.at));
            (
                ms.ok_or_else(|| {
                    Fault::new(
                        &kinds::value_unreadable::KIND,
                        format!("`{}` is not a length in the declared unit", found.text),
                        found.locator.clone(),
                    )
                })?,
                found.locator,
            )
        }
        (None, None) => return Ok(()),
    };
    let filled = laid.instant(n).map_or(0, |end| end.ms_since(laid.start.at));
    if filled != stated.0 {
        let epoch = laid.instant(1).map_or(0, |end| end.ms_since(laid.start.at));
        let message =
            format!("{n} codes of {} make {}, but the source states {}", words(epoch), words(filled), words(stated.0));
        sink.fault(Fault::new(&kinds::code_count::KIND, message, stated.1), home, || view.row.line());
    }
    Ok(())
}
