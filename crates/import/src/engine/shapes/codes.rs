//! One code for each epoch: a text, a list, columns, or one code a row.

use crate::engine::blocks::{Meaning, Worker};
use crate::engine::compile::CodesSource;
use crate::engine::faults::Fault;
use crate::engine::lengths::{self, words};
use crate::engine::moment::Moment;
use crate::engine::nights::Home;
use crate::engine::sink::Sink;
use crate::engine::view::{Found, View, text_of, value_of};
use crate::grammar::StageWord;
use crate::kinds;
use counterpane_formats::Value;
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
    if let Err(fault) = take(w, view, named, sink) {
        sink.tally.rows += 1;
        sink.faulty(fault, named, || view.row.line());
    }
}

fn take(w: &mut Worker<'_>, view: &View<'_>, named: Option<&Rc<Home>>, sink: &mut Sink<'_>) -> Result<(), Fault> {
    let codes = codes(w, view)?;
    let start = w.block.start.as_ref().ok_or_else(|| view.lacks("start")).and_then(|t| w.time(t, view, named))?;
    let epoch = epoch(w, view)?;
    let first = first_index(w, start.at);
    let laid = Laid { view, named, start: &start, epoch, first };
    let mut home = None;
    for (n, code) in codes.iter().enumerate() {
        sink.tally.rows += 1;
        home = laid.code(w, n as u64, code, sink).or(home);
    }
    if let Some(home) = &home {
        sink.remark(home, &start, view.row);
    }
    check_count(w, &laid, codes.len(), home.as_ref().or(named), sink)
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

fn epoch(w: &Worker<'_>, view: &View<'_>) -> Result<f64, Fault> {
    let Some(length) = &w.block.epoch else { return Err(view.lacks("epoch")) };
    let found = view.need(&length.source, "length of an epoch")?;
    lengths::of(length, &found.text, view, w.frame)?.filter(|s| *s > 0.0).ok_or_else(|| {
        Fault::new(
            &kinds::value_unreadable::KIND,
            format!("`{}` is not the length of an epoch", found.text),
            found.locator,
        )
    })
}

/// Returns the codes of a row, each with its place.
fn codes<'r>(w: &Worker<'_>, view: &View<'r>) -> Result<Vec<Found<'r>>, Fault> {
    let Some(codes) = &w.block.codes else { return Err(view.lacks("codes")) };
    let source = match &codes.source {
        CodesSource::Value(source) => source,
        CodesSource::Columns(wants) => return wants.iter().map(|want| column(view, *want)).collect(),
    };
    if let crate::engine::compile::Source::Fields(fields) = source
        && let [field] = fields.as_slice()
        && let Some(Value::List(items)) = view.value(field)
    {
        let at = view.locate(field);
        let item = |(n, node)| {
            let locator = at.clone().item(n as u64 + 1);
            let refused =
                |kind| Fault::new(&kinds::value_unreadable::KIND, format!("a code is {kind}"), locator.clone());
            Ok(Found { text: text_of(value_of(node)).map_err(refused)?, locator })
        };
        return items.iter().enumerate().map(item).collect();
    }
    cut(view.need(source, "codes")?, codes.split.as_deref())
}

/// A row without a column is refused as a whole: the codes after it would move to an earlier epoch.
fn column<'r>(view: &View<'r>, want: usize) -> Result<Found<'r>, Fault> {
    let locator = view.row.locate(want);
    let value = view.row.value(want).ok_or_else(|| view.lacks("column for each epoch"))?;
    match text_of(value) {
        Ok(text) => Ok(Found { text, locator }),
        Err(kind) => Err(Fault::new(&kinds::value_unreadable::KIND, format!("a code is {kind}"), locator)),
    }
}

/// Cuts a text into codes.
fn cut<'r>(found: Found<'r>, split: Option<&str>) -> Result<Vec<Found<'r>>, Fault> {
    let Found { text, locator } = found;
    let item =
        |(n, text): (usize, String)| Found { text: Cow::Owned(text), locator: locator.clone().item(n as u64 + 1) };
    match split {
        Some("row") => Ok(vec![Found { text, locator }]),
        Some("letter") => Ok(text.chars().map(String::from).enumerate().map(item).collect()),
        Some(between) => Ok(text.split(between).map(str::to_owned).enumerate().map(item).collect()),
        None => {
            let help = "say how the text is cut: add `split = \"letter\"` to `rows.codes`";
            Err(Fault::new(&kinds::value_unreadable::KIND, "the codes are a text, not a list", locator).help(help))
        }
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
    fn code(&self, w: &Worker<'_>, n: u64, code: &Found<'_>, sink: &mut Sink<'_>) -> Option<Rc<Home>> {
        let word = match w.meaning(&code.text) {
            Meaning::Stage(StageWord::Ignored) => {
                sink.ignored(&format!("`{}` is ignored", code.text));
                return None;
            }
            meaning => meaning,
        };
        match (self.times(w, n, &code.locator), word) {
            (Ok((_, _, home)), Meaning::Unknown | Meaning::Note(_)) => {
                w.unmapped(code, Some(&home), self.view.row, sink);
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
                let span =
                    Span { start, end, mark, label: code.text.clone().into_owned(), locator: code.locator.clone() };
                sink.span(&home, w.block.layer, span, TimeBasis::ElapsedFromAnchor);
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
    n: usize,
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
    let filled = laid.instant(n as u64).map_or(0, |end| end.ms_since(laid.start.at));
    if filled != stated.0 {
        let epoch = laid.instant(1).map_or(0, |end| end.ms_since(laid.start.at));
        let message =
            format!("{n} codes of {} make {}, but the source states {}", words(epoch), words(filled), words(stated.0));
        sink.fault(Fault::new(&kinds::code_count::KIND, message, stated.1), home, || view.row.line());
    }
    Ok(())
}
