//! Which epochs count: the grid of (night, reference), cut to the window.

use crate::{NothingToCompare, Window};
use counterpane_model::{EPOCH_MS, Grid, Instant, Night, Recording, grid};

/// No sleep period is longer; a window that is was mistyped, and would fill the memory.
pub(crate) const LONGEST_DAYS: i64 = 7;

/// The epochs of the window.
pub(crate) struct Frame {
    /// The epochs, counted from the reference's first one.
    pub(crate) grid: Grid,
    /// `lights`, `scored` or `span`.
    pub(crate) name: &'static str,
    /// Lights off and on, where known.
    pub(crate) lights: (Option<Instant>, Option<Instant>),
}

/// Returns the epochs that count.
///
/// What the reviewer declared of the lights goes before what the reference says of them.
pub(crate) fn frame(night: &Night, reference: &Recording, window: Window) -> Result<Frame, NothingToCompare> {
    let Some(bounds) = reference.bounds() else {
        return Err(NothingToCompare::NoSpans { key: reference.key.clone() });
    };
    let own = reference.lights();
    let lights = (night.lights.off.or(own.off), night.lights.on.or(own.on));
    let (name, span) = match (window, lights) {
        (Window::Between(from, until), _) => ("span", Some((from, until))),
        (Window::Lights, (Some(off), Some(on))) => ("lights", Some((off, on))),
        (Window::Lights | Window::Scored, _) => ("scored", None),
    };
    let (from, until) = span.unwrap_or(bounds);
    let label = || format!("{}/{}", night.participant, night.label);
    if until.ms_since(from) > LONGEST_DAYS * 86_400_000 {
        return Err(NothingToCompare::LongWindow { night: label(), from, until });
    }
    let whole = Grid::covering(bounds.0, from, until);
    let range = if span.is_some() { whole.within(from, until) } else { scored(reference, whole)? };
    if range.is_empty() {
        return Err(NothingToCompare::EmptyWindow { night: label(), from, until });
    }
    Ok(Frame { grid: Grid { start: whole.at(range.start), n: range.len() }, name, lights })
}

/// From the first to the last epoch to which the reference gives a stage.
fn scored(reference: &Recording, whole: Grid) -> Result<std::ops::Range<usize>, NothingToCompare> {
    let cells = grid::project(&reference.spans, whole);
    let staged = |c: &counterpane_model::Cell| c.stage().is_some();
    match (cells.iter().position(staged), cells.iter().rposition(staged)) {
        (Some(first), Some(last)) => Ok(first..last + 1),
        _ => Err(NothingToCompare::NothingScored {
            key: reference.key.clone(),
            from: whole.start,
            until: Instant(whole.start.0 + whole.n as i64 * EPOCH_MS),
        }),
    }
}
