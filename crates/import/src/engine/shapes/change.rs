//! Change points: each lasts to the next of its night, the last to the recording's end.
//!
//! A row that cannot be used still ends the stage above it. Where its time is known, nothing is said from there
//! to the next row; where it is not, the stage above has no known end and is left out. Otherwise a stage
//! would be drawn over the row that contradicts it.

use crate::engine::blocks::Worker;
use crate::engine::faults::Fault;
use crate::engine::moment::Moment;
use crate::engine::nights::Home;
use crate::engine::sink::Sink;
use crate::grammar::Order;
use crate::kinds;
use counterpane_model::{Instant, Locator, Mark, Span, TimeBasis};
use std::rc::Rc;

/// The change points of one night.
pub(in crate::engine) struct Points {
    home: Rc<Home>,
    points: Vec<Point>,
}

/// A change point.
pub(in crate::engine) struct Point {
    pub(in crate::engine) at: Instant,
    /// The end of the recording that the row itself gives.
    pub(in crate::engine) end: Option<Instant>,
    /// What begins here; `None` where the recording ends.
    pub(in crate::engine) mark: Option<Mark>,
    pub(in crate::engine) label: String,
    pub(in crate::engine) locator: Locator,
    /// The user's own line, for a fault that is found only when the next point is known.
    pub(in crate::engine) line: String,
    pub(in crate::engine) basis: TimeBasis,
    /// The row below could not be placed in time, so the end is not known.
    pub(in crate::engine) open: bool,
}

/// Keeps a point until the next one is known.
pub(in crate::engine) fn wait(w: &mut Worker<'_>, home: &Rc<Home>, point: Point) {
    let points = w.points.entry(home.key.clone()).or_insert_with(|| Points { home: home.clone(), points: Vec::new() });
    points.points.push(point);
    w.latest = Some(home.key.clone());
}

/// Ends the stage above where a row begins that cannot be used.
pub(in crate::engine) fn hole(w: &mut Worker<'_>, home: &Rc<Home>, start: &Moment) {
    if !w.is_change() {
        return;
    }
    let (at, locator, basis) = (start.at, start.locator.clone(), start.basis);
    wait(
        w,
        home,
        Point { at, end: None, mark: None, label: String::new(), locator, line: String::new(), basis, open: false },
    );
}

/// Leaves the stage above without an end, because a row cannot be placed in time.
pub(in crate::engine) fn broken(w: &mut Worker<'_>) {
    // Without time order nobody knows which stage the row would have ended.
    if !w.is_change() || w.block.order != Order::File {
        return;
    }
    let above = w.latest.as_ref().and_then(|key| w.points.get_mut(key)?.points.last_mut());
    above.into_iter().for_each(|point| point.open = true);
}

/// Gives every waiting point its end.
pub(in crate::engine) fn finish(w: &mut Worker<'_>, sink: &mut Sink<'_>) {
    for (_, Points { home, mut points }) in std::mem::take(&mut w.points) {
        points.sort_by_key(|p| p.at);
        for dropped in drop_same(&mut points) {
            sink.doubled(&home, dropped.mark.is_some());
        }
        let nexts: Vec<Option<Instant>> = (1..=points.len()).map(|n| points.get(n).map(|p| p.at)).collect();
        for (point, next) in points.into_iter().zip(nexts) {
            close(w, &home, point, next, sink);
        }
    }
}

/// Drops changes that repeat an earlier one, and returns them: pages of an export often overlap.
fn drop_same(points: &mut Vec<Point>) -> Vec<Point> {
    let (mut kept, mut dropped): (Vec<Point>, Vec<Point>) = (Vec::with_capacity(points.len()), Vec::new());
    for point in points.drain(..) {
        // A fault has neither mark nor label, and is no repeat.
        let told = point.mark.is_some() || !point.label.is_empty();
        let same = |k: &Point| told && (k.mark, &k.label, k.end) == (point.mark, &point.label, point.end);
        if kept.iter().rev().take_while(|k| k.at == point.at).any(same) {
            dropped.push(point);
        } else {
            kept.push(point);
        }
    }
    *points = kept;
    dropped
}

fn close(w: &Worker<'_>, home: &Rc<Home>, point: Point, next: Option<Instant>, sink: &mut Sink<'_>) {
    let Some(mark) = point.mark else { return };
    let given = w.frame.bounds.end.filter(|end| *end > point.at && *end <= home.window.1);
    let end = match (next, point.end) {
        (Some(next), Some(end)) => Some(next.min(end)),
        (next, end) => next.or(end).or(given),
    };
    let fault = match end {
        _ if point.open => {
            let message = format!("`{}` has no known end, because the next row has no known time", point.label);
            Fault::new(&kinds::end_missing::KIND, message, point.locator.clone()).help("mend the row below it first")
        }
        None => Fault::new(
            &kinds::end_missing::KIND,
            format!("the last change, `{}`, has no end", point.label),
            point.locator.clone(),
        ),
        Some(end) if end <= point.at => {
            let message =
                format!("`{}` begins at {}, and so does the next change", point.label, home.zone.text_of(point.at));
            Fault::new(&kinds::length_not_positive::KIND, message, point.locator.clone())
        }
        Some(end) => {
            let span = Span { start: point.at, end, mark, label: point.label, locator: point.locator };
            sink.short(home, &span, || point.line);
            return sink.span(home, w.block.layer, span, point.basis);
        }
    };
    sink.faulty(fault, Some(home), || point.line);
}
