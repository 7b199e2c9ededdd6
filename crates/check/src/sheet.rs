//! Recordings that a person typed off a screen.

use crate::checks::{claims_differ, slip_likely, stage_unchanged};
use crate::claims::Times;
use crate::{clock::Clock, order};
use counterpane_model::{Finding, Recording};

/// Definitions of sheets that people fill in, without their ending: a workbook has a definition of its own.
const TYPED: [&str; 2] = ["typed-changes", "typed-table"];

/// Returns how the times of a recording were known, by the id of the definition that read it.
pub(crate) fn times_of(recording: &Recording, definition: Option<&str>) -> Times {
    match definition {
        Some(id) if TYPED.iter().any(|t| id.starts_with(t)) => Times::Typed(recording.precision_ms),
        _ => Times::Written,
    }
}

/// Returns what can be said of one recording before it is stored: whether its own totals and its rows fit, and for a sheet that
/// a person typed, by the id of the definition that read it and by what import found in it, which slip would explain it. The
/// same as [`crate::check_night`] says of it later.
#[must_use]
pub fn check_recording(recording: &Recording, definition: &str, imported: &[Finding]) -> Vec<Finding> {
    let clock = Clock::named(&recording.zone);
    let times = times_of(recording, Some(definition));
    let mut found = Vec::new();
    claims_differ::of(recording, times, &clock, &mut found);
    slip_likely::of(recording, times, &imported.iter().collect::<Vec<_>>(), &clock, &mut found);
    stage_unchanged::of(recording, times, &clock, &mut found);
    order::sort(&mut found);
    found
}
