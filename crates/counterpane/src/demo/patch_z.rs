//! `patch-z`, an invented patch that tells sleep from wake and no more: JSON Lines, one change a line.

use super::devices::{self, Quality};
use super::night::TrueNight;
use counterpane_model::Stage;

const STEP_MS: i64 = 30_000;

const QUALITY: Quality = Quality {
    stream: 6,
    wrong: [380, 40, 10, 30],
    instead: [[0, 1, 0, 0], [1, 0, 0, 0], [1, 0, 0, 0], [1, 0, 0, 0]],
    bout: (4, 16),
    shortest: 3,
    jitter: 1,
};

/// Returns the file of a night.
pub(crate) fn file(seed: u64, night: &TrueNight) -> String {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let bouts = devices::bouts(&mut dice, night, &QUALITY, STEP_MS);
    let changes = bouts.chunk_by(|a, b| (a.class == Stage::W) == (b.class == Stage::W)).map(|same| same[0]);
    let lines = changes.map(|b| format!("{{\"t\":{},\"asleep\":{}}}\n", b.start.0, b.class != Stage::W));
    let end = bouts.last().map(|b| format!("{{\"t\":{},\"asleep\":null}}\n", b.end.0));
    lines.chain(end).collect()
}
