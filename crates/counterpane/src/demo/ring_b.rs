//! `ring-b`, an invented ring that is poor and four minutes late: one letter for every two minutes.

use super::devices::{self, Bout, Quality};
use super::lord_howe;
use super::night::TrueNight;
use counterpane_model::{Instant, Stage};

const EVERY_MS: i64 = 120_000;
/// How much its clock runs behind what happens: every time it shows is later by this.
pub(crate) const LATE_MS: i64 = 4 * 60_000;
/// The night in which it slips off the finger for an hour: participant and evening.
const SLIPPED: (&str, &str) = ("P02", "2026-04-05");
/// From this letter on, for so many letters.
const SLIPPED_LETTERS: (usize, usize) = (120, 30);

const QUALITY: Quality = Quality {
    stream: 2,
    wrong: [620, 360, 500, 500],
    instead: [[0, 7, 1, 2], [1, 0, 5, 4], [0, 9, 0, 1], [1, 8, 1, 0]],
    bout: (8, 40),
    shortest: 4,
    jitter: 2,
};

/// Returns the file of a participant's nights.
pub(crate) fn file(seed: u64, nights: &[&TrueNight]) -> String {
    let rests: Vec<String> = nights.iter().map(|night| rest(seed, night)).collect();
    format!("{{\"maker\": \"ring-b (invented)\", \"rests\": [\n{}\n]}}\n", rests.join(",\n"))
}

fn rest(seed: u64, night: &TrueNight) -> String {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let bouts = devices::bouts(&mut dice, night, &QUALITY, EVERY_MS);
    let (from, until) = (bouts.first().map_or(night.start, |b| b.start), bouts.last().map_or(night.start, |b| b.end));
    let mut letters: Vec<char> = (0..until.ms_since(from) / EVERY_MS)
        .map(|i| letter(&bouts, Instant(from.0 + i * EVERY_MS + EVERY_MS / 2)))
        .collect();
    if (night.participant, night.evening) == SLIPPED {
        let (first, n) = SLIPPED_LETTERS;
        letters.iter_mut().skip(first).take(n).for_each(|l| *l = '-');
    }
    let shown = Instant(from.0 + LATE_MS);
    format!(
        "  {{\"begins\": \"{} {}\", \"tz\": \"{}\", \"every_s\": {}, \"letters\": \"{}\"}}",
        lord_howe::date(shown),
        lord_howe::clock(shown),
        lord_howe::ZONE,
        EVERY_MS / 1000,
        letters.iter().collect::<String>()
    )
}

/// Returns the letter of what the ring says in the middle of its two minutes.
fn letter(bouts: &[Bout], at: Instant) -> char {
    match bouts.iter().find(|b| b.start <= at && at < b.end).map(|b| b.class) {
        None => '-',
        Some(Stage::W) => 'a',
        Some(Stage::N3) => 'd',
        Some(Stage::R) => 'r',
        Some(_) => 'l',
    }
}
