//! `band-b`, an invented band that is rather poor: an archive with one member for each day, and an index.

use super::devices::{self, Bout, Quality};
use super::lord_howe;
use super::night::TrueNight;
use counterpane_model::Stage;
use std::io::{Cursor, Write as _};
use zip::result::ZipError;
use zip::write::SimpleFileOptions;

const STEP_MS: i64 = 30_000;
/// The day that the index lists and that is not in the archive: participant and evening.
pub(crate) const ABSENT: (&str, &str) = ("P02", "2026-04-04");

const QUALITY: Quality = Quality {
    stream: 9,
    wrong: [630, 360, 500, 480],
    instead: [[0, 8, 0, 2], [1, 0, 5, 4], [0, 9, 0, 1], [1, 8, 1, 0]],
    bout: (8, 38),
    shortest: 5,
    jitter: 3,
};

/// Returns the archive of a participant's nights.
///
/// # Errors
/// The archive cannot be written: none that is known of.
pub(crate) fn file(seed: u64, participant: &str, nights: &[&TrueNight]) -> Result<Vec<u8>, ZipError> {
    let days: Vec<(String, &TrueNight, Vec<Bout>)> = nights
        .iter()
        .map(|night| {
            let mut dice = devices::dice(seed, night, &QUALITY);
            (format!("d-{}", 101 + night.number), *night, devices::bouts(&mut dice, night, &QUALITY, STEP_MS))
        })
        .collect();
    let lines: Vec<String> = days.iter().map(|(id, night, bouts)| line(id, night, bouts)).collect();
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let mut member = |name: &str, text: &str| -> Result<(), ZipError> {
        // Without a time of its own a member has the first one that an archive can bear, always the same.
        zip.start_file(name, SimpleFileOptions::default().last_modified_time(zip::DateTime::default()))?;
        Ok(zip.write_all(text.as_bytes())?)
    };
    member("notice.txt", "Invented: no such band exists, nobody wore it.\n")?;
    member(
        "index.json",
        &format!(
            "{{\"maker\": \"band-b (invented)\", \"account\": \"{participant}\", \"days\": [\n{}\n]}}\n",
            lines.join(",\n")
        ),
    )?;
    for (id, night, bouts) in days.iter().filter(|(_, n, _)| (n.participant, n.evening) != ABSENT) {
        member(&format!("days/{}.json", night.evening), &blocks(id, bouts))?;
    }
    Ok(zip.finish()?.into_inner())
}

/// What the index says of a day.
fn line(id: &str, night: &TrueNight, bouts: &[Bout]) -> String {
    let began = bouts.first().map_or(night.start, |b| b.start);
    format!(
        "  {{\"id\": \"{id}\", \"evening\": \"{}\", \"began\": \"{} {}\", \"tz\": \"{}\"}}",
        night.evening,
        lord_howe::date(began),
        lord_howe::clock(began),
        lord_howe::ZONE
    )
}

fn blocks(id: &str, bouts: &[Bout]) -> String {
    let began = bouts.first().map_or(0, |b| b.start.0);
    let block = |b: &Bout| {
        let (minute, minutes) = (minutes(b.start.0 - began), minutes(b.ms()));
        format!("  {{\"minute\": {minute}, \"minutes\": {minutes}, \"state\": \"{}\"}}", word(b.class))
    };
    let lines: Vec<String> = bouts.iter().map(block).collect();
    format!("{{\"day\": \"{id}\", \"blocks\": [\n{}\n]}}\n", lines.join(",\n"))
}

/// Whole and half minutes, such as `27.5`.
fn minutes(ms: i64) -> String {
    format!("{}{}", ms / 60_000, if ms % 60_000 == 0 { "" } else { ".5" })
}

fn word(class: Stage) -> &'static str {
    match class {
        Stage::W => "awake",
        Stage::N3 => "deep",
        Stage::R => "dreams",
        _ => "light",
    }
}
