//! `ring-c`, an invented ring that is fairly good, and whose stages come only in a dump of a whole phone.
//!
//! The dump is XML of any size, and nearly none of it is about sleep: it is written as it is made, a line
//! at a time, and never stands in memory. Two tellers speak of rest: the ring, and the phone's own guess.

use super::devices::{self, Bout, Quality};
use super::dice::Dice;
use super::lord_howe::{self, EVENINGS};
use super::night::TrueNight;
use counterpane_model::{Instant, Stage};
use std::io::{self, Write};

const STEP_MS: i64 = 30_000;
/// The night in which it says nothing for an hour: participant and evening.
const MISSING: (&str, &str) = ("P01", "2026-04-03");
/// For how long, and how long after its first line.
pub(crate) const MISSING_MS: i64 = 3_600_000;
const MISSING_AFTER_MS: i64 = 250 * 60_000;

const DAY_MS: i64 = 24 * 3_600_000;
/// What the phone remembers of itself: one line in each three minutes.
const EVERY_MS: i64 = 180_000;
/// A line is at least as long as this, which says how many days a dump of some size goes back.
pub(crate) const SHORTEST_LINE: u64 = 100;
/// Random stream of what has nothing to do with sleep; those of nights lie below it, see [`devices::dice`].
const UNRELATED: u64 = 10_000;

const QUALITY: Quality = Quality {
    stream: 7,
    wrong: [360, 140, 230, 200],
    instead: [[0, 8, 0, 2], [3, 0, 4, 3], [0, 10, 0, 0], [1, 9, 0, 0]],
    bout: (5, 16),
    shortest: 2,
    jitter: 1,
};

/// Writes the dump of a participant's phone, at least `bytes` long.
///
/// # Errors
/// `out` cannot be written to.
pub(crate) fn write(
    out: &mut impl Write,
    seed: u64,
    participant: &str,
    nights: &[&TrueNight],
    bytes: u64,
) -> io::Result<()> {
    let mut dice = Dice::new(seed, UNRELATED + nights.first().map_or(0, |n| n.number));
    writeln!(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>")?;
    writeln!(out, "<pocket-dump maker=\"pocket (invented)\" of=\"{participant}\">")?;
    writeln!(out, " <!-- Invented: no such phone exists, nobody carried it. -->")?;
    let per_day = SHORTEST_LINE * (DAY_MS / EVERY_MS).unsigned_abs();
    let before = i64::try_from(bytes.div_ceil(per_day)).unwrap_or(0);
    // Days run from noon to noon, so that a night lies in one of them.
    let first_noon = EVENINGS[0].1.0 - 10 * 3_600_000;
    for day in -before..EVENINGS.len() as i64 {
        let noon = Instant(first_noon + day * DAY_MS);
        self::day(out, &mut dice, noon)?;
        guess(out, &mut dice, noon)?;
        // What the ring noted in the night comes over in one go when the day is done.
        if let Some(night) = nights.iter().find(|n| (0..DAY_MS).contains(&n.start.ms_since(noon))) {
            ring(out, &bouts(seed, night))?;
        }
    }
    writeln!(out, "</pocket-dump>")
}

/// What the ring says of a night.
fn bouts(seed: u64, night: &TrueNight) -> Vec<Bout> {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let bouts = devices::bouts(&mut dice, night, &QUALITY, STEP_MS);
    if (night.participant, night.evening) == MISSING {
        return devices::without_a_stretch(bouts, MISSING_AFTER_MS, MISSING_MS);
    }
    bouts
}

/// A day of lines that have nothing to do with sleep.
fn day(out: &mut impl Write, dice: &mut Dice, noon: Instant) -> io::Result<()> {
    for slot in 0..DAY_MS / EVERY_MS {
        let since = Instant(noon.0 + slot * EVERY_MS + i64::from(dice.below(60)) * 1000);
        let till = Instant(since.0 + i64::from(dice.between((20, 110))) * 1000);
        match dice.pick(&[30, 20, 20, 15, 15]) {
            0 => datum(out, "steps", since, till, format_args!("{}", dice.below(190)))?,
            1 => datum(out, "noise", since, till, format_args!("{}.{}", dice.between((28, 71)), dice.below(10)))?,
            2 => datum(out, "brightness", since, till, format_args!("{}", dice.below(4_000)))?,
            3 => datum(out, "battery", since, till, format_args!("{}%", dice.between((7, 100))))?,
            _ => walk(out, dice, since, till)?,
        }
    }
    Ok(())
}

/// The phone's times are in UTC, those of the ring local with their offset.
fn datum(
    out: &mut impl Write,
    topic: &str,
    since: Instant,
    till: Instant,
    tells: std::fmt::Arguments,
) -> io::Result<()> {
    let (since, till) = (since.utc_text(), till.utc_text());
    writeln!(out, " <datum topic=\"{topic}\" teller=\"phone\" since=\"{since}\" till=\"{till}\" tells=\"{tells}\"/>")
}

fn walk(out: &mut impl Write, dice: &mut Dice, since: Instant, till: Instant) -> io::Result<()> {
    write!(out, " <walk since=\"{}\" till=\"{}\">", since.utc_text(), till.utc_text())?;
    for _ in 0..dice.between((2, 4)) {
        write!(out, "<point east=\"{}\" north=\"-{}\"/>", dice.below(90), dice.below(90))?;
    }
    writeln!(out, "</walk>")
}

/// The phone's own guess: it lay still, so somebody rested.
fn guess(out: &mut impl Write, dice: &mut Dice, noon: Instant) -> io::Result<()> {
    let since = Instant(noon.0 + i64::from(dice.between((600, 680))) * 60_000);
    let till = Instant(since.0 + i64::from(dice.between((420, 520))) * 60_000);
    datum(out, "rest", since, till, format_args!("lying still"))
}

fn ring(out: &mut impl Write, bouts: &[Bout]) -> io::Result<()> {
    for bout in bouts {
        let (since, till) = (lord_howe::text(bout.start), lord_howe::text(bout.end));
        let tells = word(bout.class);
        writeln!(
            out,
            " <datum topic=\"rest\" teller=\"ring-c\" since=\"{since}\" till=\"{till}\" tells=\"{tells}\"/>"
        )?;
    }
    Ok(())
}

fn word(class: Stage) -> &'static str {
    match class {
        Stage::W => "up",
        Stage::N3 => "still",
        Stage::R => "vivid",
        _ => "calm",
    }
}
