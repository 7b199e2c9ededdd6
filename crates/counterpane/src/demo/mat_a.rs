//! `mat-a`, an invented mattress sensor that gives totals of the night and nothing else.

use super::devices::{self, Quality, minutes};
use super::lord_howe;
use super::night::TrueNight;
use counterpane_model::Stage;

const STEP_MS: i64 = 60_000;

/// It lies still under somebody who lies still, and calls that sleep.
const QUALITY: Quality = Quality {
    stream: 5,
    wrong: [550, 200, 300, 300],
    instead: [[0, 9, 0, 1], [0, 0, 5, 5], [0, 10, 0, 0], [0, 10, 0, 0]],
    bout: (8, 30),
    shortest: 8,
    jitter: 4,
};

/// Returns the file of a participant's nights.
pub(crate) fn file(seed: u64, nights: &[&TrueNight]) -> String {
    let nights: Vec<String> = nights.iter().map(|night| totals(seed, night)).collect();
    format!("{{\"kind\": \"mat-a nightly totals (invented)\", \"nights\": [\n{}\n]}}\n", nights.join(",\n"))
}

fn totals(seed: u64, night: &TrueNight) -> String {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let bouts = devices::bouts(&mut dice, night, &QUALITY, STEP_MS);
    let [awake, light, deep, rem] = [Stage::W, Stage::Light, Stage::N3, Stage::R].map(|class| minutes(&bouts, class));
    let (from, until) = (bouts.first().map_or(night.start, |b| b.start), bouts.last().map_or(night.start, |b| b.end));
    format!(
        "  {{\"evening\": \"{}\", \"in_bed\": \"{}\", \"out_of_bed\": \"{}\",\n   \"minutes\": {{\"awake\": {awake}, \
         \"light\": {light}, \"deep\": {deep}, \"rem\": {rem}}}, \"asleep_total\": {}}}",
        night.evening,
        lord_howe::short_clock(from),
        lord_howe::short_clock(until),
        light + deep + rem
    )
}
