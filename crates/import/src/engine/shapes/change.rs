//! Change points: each lasts to the next of its night, the last to the recording's end.

use crate::engine::blocks::Worker;
use crate::engine::faults::Fault;
use crate::engine::nights::Home;
use crate::engine::sink::Sink;
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
}

/// Keeps a point until the next one is known.
pub(in crate::engine) fn wait(w: &mut Worker<'_>, home: &Rc<Home>, point: Point) {
    let points = w.points.entry(home.key.clone()).or_insert_with(|| Points { home: home.clone(), points: Vec::new() });
    points.points.push(point);
}

/// Gives every waiting point its end.
pub(in crate::engine) fn finish(w: &mut Worker<'_>, sink: &mut Sink<'_>) {
    for (_, Points { home, mut points }) in std::mem::take(&mut w.points) {
        points.sort_by_key(|p| p.at);
        let nexts: Vec<Option<Instant>> = (1..=points.len()).map(|n| points.get(n).map(|p| p.at)).collect();
        for (point, next) in points.into_iter().zip(nexts) {
            close(w, &home, point, next, sink);
        }
    }
}

fn close(w: &Worker<'_>, home: &Rc<Home>, point: Point, next: Option<Instant>, sink: &mut Sink<'_>) {
    let Some(mark) = point.mark else { return };
    let given = w.frame.bounds.end.filter(|end| *end > point.at && *end <= home.window.1);
    let end = match (next, point.end) {
        (Some(next), Some(end)) => Some(next.min(end)),
        (next, end) => next.or(end).or(given),
    };
    let fault = match end {
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
            return sink.span(home, w.block.layer, span, point.basis);
        }
    };
    sink.faulty(fault, Some(home), || point.line);
}
