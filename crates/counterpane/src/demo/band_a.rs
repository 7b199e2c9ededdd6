//! `band-a`, an invented band that is middling and only shows a picture: typed from the screen, one
//! row for each change.

use super::devices::{self, Quality};
use super::night::TrueNight;
use super::{lord_howe, order};
use counterpane_model::Stage;

/// The screen is read to the whole minute.
const STEP_MS: i64 = 60_000;

const QUALITY: Quality = Quality {
    stream: 4,
    wrong: [500, 240, 360, 330],
    instead: [[0, 8, 1, 1], [2, 0, 4, 4], [0, 9, 0, 1], [1, 8, 1, 0]],
    bout: (8, 28),
    shortest: 6,
    jitter: 3,
};

/// Returns the sheet that was typed of a night.
pub(crate) fn file(seed: u64, night: &TrueNight) -> String {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let bouts = order::settled(devices::bouts(&mut dice, night, &QUALITY, STEP_MS), STEP_MS);
    let rows = bouts.iter().map(|b| format!("{}\t{}\n", lord_howe::short_clock(b.start), word(b.class)));
    let end = bouts.last().map(|b| format!("{}\tend\n", lord_howe::short_clock(b.end)));
    std::iter::once("clock\tstage\n".to_owned()).chain(rows).chain(end).collect()
}

fn word(class: Stage) -> &'static str {
    match class {
        Stage::W => "wake",
        Stage::N3 => "deep",
        Stage::R => "rem",
        _ => "light",
    }
}
