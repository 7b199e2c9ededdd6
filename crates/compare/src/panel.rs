//! Several scorers of one night on one row of epochs.

use crate::NothingToCompare;
use crate::device_night::without;
use crate::majority::named;
use crate::night::same_night;
use crate::window::LONGEST_DAYS;
use counterpane_model::{Cell, ClockSetting, Decided, EPOCH_MS, Grid, Instant, Lights, Night, Recording, Scheme, grid};

/// Scorers of a night, each laid on the epochs of the first.
pub(crate) struct Panel {
    /// The epochs of the first scorer, as far as any of them reaches.
    pub(crate) grid: Grid,
    /// The scorers, in the order given.
    pub(crate) seats: Vec<Seat>,
}

/// One scorer of a panel.
pub(crate) struct Seat {
    /// What it says, on its corrected clock.
    pub(crate) recording: Recording,
    /// What it says of each epoch of the grid, without the stretches of it that are left out.
    pub(crate) cells: Vec<Cell>,
    /// How much later its own epochs begin than those of the grid, in milliseconds, at most half an epoch either way.
    pub(crate) phase_ms: i64,
    /// The correction of its clock, where one was set.
    pub(crate) clock: Option<ClockSetting>,
}

impl Panel {
    /// Returns the panel of some recordings, the first of which gives the epochs.
    ///
    /// # Errors
    /// When one is of another night or without spans, or they reach farther than any night.
    pub(crate) fn of(night: &Night, scorers: &[&Recording], decided: &Decided) -> Result<Panel, NothingToCompare> {
        let recordings: Vec<Recording> = scorers.iter().map(|r| decided.clocked(r)).collect();
        recordings.iter().try_for_each(|r| same_night(night, r))?;
        let bounds = recordings.iter().map(bounds).collect::<Result<Vec<_>, _>>()?;
        let anchor = bounds.first().map_or(night.window.0, |b| b.0);
        let from = bounds.iter().map(|b| b.0).min().unwrap_or(anchor);
        let until = bounds.iter().map(|b| b.1).max().unwrap_or(anchor);
        if until.ms_since(from) > LONGEST_DAYS * 86_400_000 {
            return Err(NothingToCompare::LongWindow {
                night: format!("{}/{}", night.participant, night.label),
                from,
                until,
            });
        }
        let grid = Grid::covering(anchor, from, until);
        let seat = |(recording, bounds): (Recording, (Instant, Instant))| Seat {
            cells: without(&grid::project(&recording.spans, grid), grid, &decided.stretches_of(&recording.source)),
            phase_ms: phase(bounds.0.ms_since(anchor)),
            clock: decided.clock_of(&recording.source).cloned(),
            recording,
        };
        Ok(Panel { grid, seats: recordings.into_iter().zip(bounds).map(seat).collect() })
    }

    /// Returns lights off and on as the scorers agree on them.
    pub(crate) fn lights(&self) -> Lights {
        Lights { off: named(&self.seats, |l| l.off).agreed, on: named(&self.seats, |l| l.on).agreed }
    }

    /// Returns the finest scheme that every scorer of the panel can express.
    pub(crate) fn scheme(&self) -> Option<Scheme> {
        Scheme::ALL.into_iter().rev().find(|s| self.seats.iter().all(|seat| seat.recording.expresses(*s)))
    }
}

fn bounds(recording: &Recording) -> Result<(Instant, Instant), NothingToCompare> {
    recording.bounds().ok_or_else(|| NothingToCompare::NoSpans { key: recording.key.clone() })
}

/// Returns a distance between two starts as the nearest shift between their rows of epochs.
fn phase(ms: i64) -> i64 {
    let later = ms.rem_euclid(EPOCH_MS);
    if later > EPOCH_MS / 2 { later - EPOCH_MS } else { later }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_epochs_differ_by_at_most_half_an_epoch() {
        assert_eq!([0, 30_000, 10_000, 40_000, 20_000, -10_000].map(phase), [0, 0, 10_000, 10_000, -10_000, -10_000]);
    }
}
