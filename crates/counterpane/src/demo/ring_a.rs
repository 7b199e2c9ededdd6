//! `ring-a`, an invented ring that is good: one JSON file of an account, each time with its offset.

use super::devices::{self, Bout, Quality};
use super::lord_howe;
use super::night::TrueNight;
use counterpane_model::{Instant, Stage};

const STEP_MS: i64 = 30_000;
/// The night in which one piece runs into the next one: participant and evening.
const OVERLAP: (&str, &str) = ("P01", "2026-04-05");
/// By how much.
const OVERLAP_MS: i64 = 6 * 60_000;

const QUALITY: Quality = Quality {
    stream: 1,
    wrong: [260, 90, 150, 110],
    instead: [[0, 8, 0, 2], [3, 0, 4, 3], [0, 10, 0, 0], [2, 8, 0, 0]],
    bout: (4, 14),
    shortest: 2,
    jitter: 1,
};

/// Returns the file of a participant's nights.
pub(crate) fn file(seed: u64, participant: &str, nights: &[&TrueNight]) -> String {
    let sleeps: Vec<String> = nights.iter().map(|night| sleep(night.evening, &pieces(seed, night))).collect();
    format!(
        "{{\"made_by\": \"ring-a (invented)\", \"account\": \"{participant}\", \"sleeps\": [\n{}\n]}}\n",
        sleeps.join(",\n")
    )
}

fn pieces(seed: u64, night: &TrueNight) -> Vec<Bout> {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let mut pieces = devices::bouts(&mut dice, night, &QUALITY, STEP_MS);
    if (night.participant, night.evening) == OVERLAP {
        overlap(&mut pieces);
    }
    pieces
}

/// Lets a piece in the middle of the night run on into the next one, which is longer than that.
fn overlap(pieces: &mut [Bout]) {
    let middle = pieces.len() / 2;
    let next_is_long = |i: &usize| pieces.get(i + 1).is_some_and(|next| next.ms() > 2 * OVERLAP_MS);
    if let Some(i) = (middle..pieces.len()).find(next_is_long) {
        pieces[i].end = Instant(pieces[i].end.0 + OVERLAP_MS);
    }
}

fn sleep(evening: &str, pieces: &[Bout]) -> String {
    let lines: Vec<String> = pieces
        .iter()
        .map(|piece| {
            let (from, to) = (lord_howe::text(piece.start), lord_howe::text(piece.end));
            format!("    {{\"from\": \"{from}\", \"to\": \"{to}\", \"depth\": \"{}\"}}", depth(piece.class))
        })
        .collect();
    format!("  {{\"evening\": \"{evening}\", \"pieces\": [\n{}\n  ]}}", lines.join(",\n"))
}

fn depth(class: Stage) -> &'static str {
    match class {
        Stage::W => "awake",
        Stage::N3 => "deep",
        Stage::R => "dream",
        _ => "shallow",
    }
}
