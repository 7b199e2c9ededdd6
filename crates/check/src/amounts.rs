//! How long a recording says what.

use counterpane_model::grid::flatten;
use counterpane_model::{Recording, Stage};

/// Time in each stage, in milliseconds, overlaps counted once.
pub(crate) struct Amounts(Vec<(Stage, i64)>);

impl Amounts {
    pub(crate) fn of(recording: &Recording) -> Amounts {
        let stretches = flatten(&recording.spans);
        let of = |stage: Stage| {
            let said = stretches.iter().filter(|s| s.cell.stage() == Some(stage));
            said.map(|s| s.end.ms_since(s.start)).sum()
        };
        Amounts(Stage::ALL.into_iter().map(|stage| (stage, of(stage))).collect())
    }

    /// Returns the time in a stage.
    pub(crate) fn stage(&self, stage: Stage) -> i64 {
        self.0.iter().filter(|(s, _)| *s == stage).map(|(_, ms)| ms).sum()
    }

    /// Returns the time asleep.
    pub(crate) fn asleep(&self) -> i64 {
        self.0.iter().filter(|(s, _)| s.is_sleep()).map(|(_, ms)| ms).sum()
    }
}

/// Milliseconds of an hour.
pub(crate) const HOUR_MS: i64 = 3_600_000;
