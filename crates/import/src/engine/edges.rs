//! When a row begins and ends, where it gives any two of start, end and length.

use super::blocks::Worker;
use super::compile::Source;
use super::faults::Fault;
use super::lengths::{self, words};
use super::moment::Moment;
use super::nights::Home;
use super::view::View;
use crate::kinds;
use counterpane_model::Instant;
use std::rc::Rc;

/// How far start, end and length may contradict each other, at least: values are often rounded to the second.
const TOLERANCE_MS: i64 = 1000;

/// Returns when a row begins.
pub(super) fn start(w: &Worker<'_>, view: &View<'_>, named: Option<&Rc<Home>>) -> Result<Moment, Fault> {
    let Some(start) = &w.block.start else { return Err(view.lacks("start")) };
    if !w.block.any_two || is_there(view, &start.source) {
        return w.time(start, view, named);
    }
    let (end, length) = (&w.block.end, &w.block.length);
    match (end, length) {
        (Some(end), Some(length)) if is_there(view, &end.source) && is_there(view, &length.source) => {
            let end = w.time(end, view, named)?;
            let seconds = self::length(w, view)?;
            let at = end.plus_seconds(-seconds).ok_or_else(|| view.lacks("start"))?;
            Ok(Moment { at, elapsed: None, ..end })
        }
        _ => Err(too_few(view)),
    }
}

/// Returns when a row that begins at `start` ends, where its block says so.
pub(super) fn end(w: &Worker<'_>, view: &View<'_>, home: &Rc<Home>, start: &Moment) -> Result<Option<Instant>, Fault> {
    let (end, length) = match (&w.block.end, &w.block.length) {
        (Some(end), length) if !w.block.any_two || is_there(view, &end.source) => (Some(end), length.as_ref()),
        (_, length) => (None, length.as_ref()),
    };
    let Some(end) = end else {
        let Some(length) = length else { return Ok(None) };
        if w.block.any_two && !is_there(view, &length.source) {
            return Err(too_few(view));
        }
        let seconds = self::length(w, view)?;
        return start
            .plus_seconds(seconds)
            .map(Some)
            .ok_or_else(|| view.lacks("end that lies in the years 1900 to 2199"));
    };
    let named = Some(home).filter(|_| end.read.iter().any(|r| r.is_clock()));
    let at = w.time_after(end, view, named, start.at)?.at;
    if let Some(length) = length
        .filter(|l| is_there(view, &l.source) && w.block.start.as_ref().is_some_and(|s| is_there(view, &s.source)))
    {
        let found = view.need(&length.source, "length")?;
        let stated = start.plus_seconds(self::length(w, view)?).map_or(0, |end| end.ms_since(start.at));
        let (is, most) = (at.ms_since(start.at), w.grammar.step.map_or(0, |s| s.0).max(TOLERANCE_MS));
        if (is - stated).abs() > most {
            let message = format!("from start to end are {}, but the length is {}", words(is), words(stated));
            return Err(Fault::new(&kinds::value_unreadable::KIND, message, found.locator));
        }
    }
    Ok(Some(at))
}

/// Returns the length of a row in seconds.
pub(super) fn length(w: &Worker<'_>, view: &View<'_>) -> Result<f64, Fault> {
    let Some(length) = &w.block.length else { return Err(view.lacks("length")) };
    let found = view.need(&length.source, "length")?;
    lengths::of(length, &found.text, view, w.frame)?.ok_or_else(|| {
        Fault::new(
            &kinds::value_unreadable::KIND,
            format!("`{}` is not a length in the declared unit", found.text),
            found.locator,
        )
    })
}

/// Says whether a row has a value there; nothing, `null` and an empty text are none.
pub(super) fn is_there(view: &View<'_>, source: &Source) -> bool {
    match source {
        Source::Fields(fields) => fields.iter().all(|field| {
            use counterpane_formats::Value;
            match view.value(field) {
                None | Some(Value::Null) => false,
                Some(Value::Text(text)) => !text.trim().is_empty(),
                Some(_) => true,
            }
        }),
        _ => view.find(source, "").ok().flatten().is_some_and(|f| !matches!(f.text.as_ref(), "" | "null")),
    }
}

fn too_few(view: &View<'_>) -> Fault {
    let message = "of `start`, `end` and `length` the row gives fewer than two";
    Fault::new(&kinds::value_unreadable::KIND, message, view.place())
}
