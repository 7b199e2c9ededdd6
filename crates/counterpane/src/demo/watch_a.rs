//! `watch-a`, an invented watch that is fair: a sheet of the night with semicolons and times of day.

use super::devices::{self, Bout, Quality};
use super::night::TrueNight;
use super::{lord_howe, order};
use counterpane_model::Stage;

const STEP_MS: i64 = 30_000;
/// The night in which the watch says nothing for a while: participant and evening.
const GAP: (&str, &str) = ("P02", "2026-04-03");
/// For how long.
pub(crate) const GAP_MS: i64 = 25 * 60_000;
/// How long after its first row.
const GAP_AFTER_MS: i64 = 200 * 60_000;
/// The night in which the watch uses a word that it uses nowhere else: participant and evening.
const DROWSY: (&str, &str) = ("P02", "2026-04-05");
/// In how many rows, and how long those are at most.
const DROWSY_ROWS: (usize, i64) = (3, 15 * 60_000);

const QUALITY: Quality = Quality {
    stream: 3,
    wrong: [460, 210, 320, 290],
    instead: [[0, 8, 0, 2], [2, 0, 4, 4], [0, 10, 0, 0], [1, 9, 0, 0]],
    bout: (6, 20),
    shortest: 3,
    jitter: 2,
};

/// Returns the sheet of a night.
pub(crate) fn file(seed: u64, night: &TrueNight) -> String {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let mut bouts = order::settled(devices::bouts(&mut dice, night, &QUALITY, STEP_MS), STEP_MS);
    let this = (night.participant, night.evening);
    if this == GAP {
        bouts = devices::without_a_stretch(bouts, GAP_AFTER_MS, GAP_MS);
    }
    let drowsy = if this == DROWSY { drowsy(&bouts) } else { Vec::new() };
    let rows: String = bouts.iter().enumerate().map(|(i, b)| row(b, drowsy.contains(&i))).collect();
    let morning = lord_howe::date(night.at(night.lights_on));
    let exported = format!("{}.{}.{}", &morning[8..], &morning[5..7], &morning[..4]);
    format!("watch-a night sheet (invented)\nexported;{exported}\n\nclock;lasts;phase\n{rows}")
}

fn row(bout: &Bout, drowsy: bool) -> String {
    let phase = match bout.class {
        _ if drowsy => "Drowsy",
        Stage::W => "Awake",
        Stage::N3 => "Deep",
        Stage::R => "Dream",
        _ => "Light",
    };
    let seconds = bout.ms() / 1000;
    let lasts = format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60);
    format!("{};{lasts};{phase}\n", lord_howe::clock(bout.start))
}

/// Returns the rows that say so: the first short ones of light sleep.
fn drowsy(bouts: &[Bout]) -> Vec<usize> {
    let (n, longest) = DROWSY_ROWS;
    let fits = |b: &Bout| b.class == Stage::Light && b.ms() <= longest;
    bouts.iter().enumerate().filter(|(_, b)| fits(b)).map(|(i, _)| i).take(n).collect()
}
