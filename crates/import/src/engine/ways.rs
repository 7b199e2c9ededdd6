//! The ways to read a time from its text.

use crate::grammar::{Clock, TimeRead};
use counterpane_model::{Instant, Wall};
use jiff::civil::{Date, Time};

/// What a text says of a time.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reading {
    /// An instant, with the offset from UTC in seconds where the text has one.
    Instant(Instant, Option<i32>),
    /// A date and a time of day.
    Wall(Wall),
    /// A time of day.
    Clock(Time),
    /// A time of day on a clock of twelve hours, from 0:00 to 11:59: before noon or after it.
    Half(Time),
    /// Seconds from the anchor.
    Elapsed(f64),
    /// A number from the anchor in a unit that stands elsewhere; true when it is counted back.
    Count(f64, bool),
}

/// Reads a text one way; `None` when it does not fit.
///
/// `trust` says whether an offset in the text is true; where it is not, the text is a wall time.
pub(super) fn read(text: &str, way: &TimeRead, trust: bool, comma: bool) -> Option<Reading> {
    let text = text.trim();
    match way {
        TimeRead::Rfc3339 => rfc3339(text, trust),
        TimeRead::Epoch(micros) => epoch(text, *micros, comma),
        TimeRead::Serial(late) => serial(number(text, comma)?, *late).map(Reading::Wall),
        TimeRead::Cell => cell(text),
        TimeRead::Clock(Clock::Day) => clock(text, 23).map(Reading::Clock),
        TimeRead::Clock(Clock::Typed) => typed(text).map(Reading::Clock),
        TimeRead::Clock(Clock::Long) => clock(text, 29).map(Reading::Clock),
        TimeRead::Clock(Clock::Half) => clock(text, 12).map(|face| Reading::Half(face_of(face))),
        TimeRead::Clock(Clock::Fraction) => fraction(number(text, comma)?).map(Reading::Clock),
        TimeRead::OffsetIn(back) => number(text, comma).map(|n| Reading::Count(n, *back)),
        #[expect(clippy::cast_precision_loss, reason = "a unit is at most an hour")]
        TimeRead::Offset(unit) => Some(Reading::Elapsed(number(text, comma)? * (*unit as f64) / 1000.0)),
        TimeRead::Scored(end) => scored(text, *end).map(Reading::Elapsed),
        TimeRead::Pattern { text: pattern, date, offset } => by_pattern(text, pattern, *date, *offset && trust),
    }
}

/// Reads a decimal number with the decimal mark of the file.
pub(super) fn number(text: &str, comma: bool) -> Option<f64> {
    let text = text.trim();
    let plain = |t: &str| t.parse::<f64>().ok().filter(|x| x.is_finite());
    // A text with the other mark is not a number of this file, and must not be read as one.
    if comma { if text.contains('.') { None } else { plain(&text.replace(',', ".")) } } else { plain(text) }
}

fn rfc3339(text: &str, trust: bool) -> Option<Reading> {
    let pieces = jiff::fmt::temporal::Pieces::parse(text).ok()?;
    let (wall, offset) = (pieces.date().to_datetime(pieces.time()?), pieces.to_numeric_offset()?);
    if trust { with_offset(wall, offset) } else { Some(Reading::Wall(wall)) }
}

fn with_offset(wall: Wall, offset: jiff::tz::Offset) -> Option<Reading> {
    let nanos = offset.to_timestamp(wall).ok()?.as_nanosecond();
    let ms = i64::try_from((nanos + 500_000).div_euclid(1_000_000)).ok()?;
    Some(Reading::Instant(Instant(0).plus_ms(ms)?, Some(offset.seconds())))
}

/// Numbers since 1970 below this, 1973-03-03, are in another unit: nobody recorded sleep in them then.
const EARLIEST_US: i64 = 100_000_000_000_000;

fn epoch(text: &str, micros: i64, comma: bool) -> Option<Reading> {
    let whole = text.parse::<i64>().ok().and_then(|n| n.checked_mul(micros));
    let ms = match whole {
        // Seconds read as milliseconds would lie in 1970, silently: a column has one unit.
        Some(us) if us < EARLIEST_US => return None,
        Some(us) => us.checked_add(500)?.div_euclid(1000),
        #[expect(clippy::cast_precision_loss, reason = "at most a million, and a bound far below 2^52 milliseconds")]
        None => {
            let number = number(text, comma).filter(|n| n * micros as f64 >= EARLIEST_US as f64)?;
            return Instant::after_seconds(Instant(0), number * micros as f64 / 1e6)
                .map(|at| Reading::Instant(at, None));
        }
    };
    Some(Reading::Instant(Instant(0).plus_ms(ms)?, None))
}

/// Reads a spreadsheet's day number, rounded to the millisecond.
///
/// The 1900 system counts a day that never was, 1900-02-29, as 60 (common knowledge of spreadsheets, no
/// source); numbers up to 60 are refused, because nobody slept then.
fn serial(days: f64, late: bool) -> Option<Wall> {
    let first = if late { Date::constant(1904, 1, 1) } else { Date::constant(1899, 12, 30) };
    if days < if late { 0.0 } else { 61.0 } || days > 120_000.0 {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, reason = "bounded just above")]
    let ms = (days * 86_400_000.0).round() as i64;
    first.at(0, 0, 0, 0).checked_add(jiff::SignedDuration::from_millis(ms)).ok()
}

/// Reads what a spreadsheet holds as a date, a time of day or both.
fn cell(text: &str) -> Option<Reading> {
    let wall = || counterpane_model::typed::typed_wall(text).map(Reading::Wall);
    let date = || text.parse::<Date>().ok().filter(|_| text.len() == 10).map(|d| Reading::Wall(d.at(0, 0, 0, 0)));
    wall().or_else(date).or_else(|| clock(text, 23).map(Reading::Clock))
}

/// Reads `0:05`, `22:31`, `22:31:15.5`; hours go up to `most`, and those beyond 23 are of the next day.
pub(crate) fn clock(text: &str, most: i8) -> Option<Time> {
    let (hour, rest) = text.split_once(':')?;
    let digits = |t: &str| (1..=2).contains(&t.len()) && t.bytes().all(|b| b.is_ascii_digit());
    let hour: i8 = Some(hour).filter(|h| digits(h))?.parse().ok().filter(|h| *h <= most)?;
    counterpane_model::typed::typed_clock(&format!("{:02}:{rest}", hour % 24))
}

/// Reads a time of day as people type it: `22:31`, `22.31`, `2231`, `10:31 pm`, `22:31:15`.
///
/// Minutes have two digits: `23.4` may be `23.40` without its last zero, and is not read.
#[must_use]
pub fn typed(text: &str) -> Option<Time> {
    let lower = plain(text, true).to_ascii_lowercase();
    let (time, half) = match lower.strip_suffix("am").or_else(|| lower.strip_suffix("pm")) {
        Some(time) => (time.trim_end(), Some(lower.ends_with("pm"))),
        None => (lower.as_str(), None),
    };
    let spaced = match time.len() {
        3 | 4 if time.bytes().all(|b| b.is_ascii_digit()) => {
            format!("{}:{}", &time[..time.len() - 2], &time[time.len() - 2..])
        }
        _ => time.replace('.', ":"),
    };
    let (_, rest) = spaced.split_once(':')?;
    let two = |part: &str| part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit());
    let clock = clock(&spaced, 23).filter(|_| rest.split(':').all(two))?;
    match half {
        None => Some(clock),
        Some(_) if !(1..=12).contains(&clock.hour()) => None,
        Some(late) => face_of(clock).with().hour(clock.hour() % 12 + if late { 12 } else { 0 }).build().ok(),
    }
}

/// Seconds of an epoch of scoring (AASM manual; common practice since Rechtschaffen and Kales 1968).
const EPOCH_SECONDS: f64 = 30.0;

/// Returns the seconds from the beginning of epoch 1 to where the epochs `44` or `1-43` begin, or end.
fn scored(text: &str, end: bool) -> Option<f64> {
    let (first, last) = epochs(text)?;
    Some(EPOCH_SECONDS * if end { f64::from(last) } else { f64::from(first) - 1.0 })
}

/// Reads a range of epochs as a person types it, `1-43`, or `44` for a single one: the first and the last, counted from 1.
/// `None` for anything else.
#[must_use]
pub fn epochs(text: &str) -> Option<(u32, u32)> {
    let number = |t: &str| t.trim().parse::<u32>().ok().filter(|n| (1..=100_000).contains(n));
    let (first, last) = match text.split_once(['-', '\u{2013}']) {
        Some((first, last)) => (number(first)?, number(last)?),
        None => (number(text)?, number(text)?),
    };
    (first <= last).then_some((first, last))
}

/// Returns a time of a clock of twelve hours as its face: twelve is where the hand stands at zero.
fn face_of(time: Time) -> Time {
    if time.hour() == 12 { time.with().hour(0).build().unwrap_or(time) } else { time }
}

/// Reads a fraction of a day, rounded to the millisecond; what rounds up to a whole day is midnight.
fn fraction(day: f64) -> Option<Time> {
    if !(0.0..1.0).contains(&day) {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, reason = "bounded just above")]
    let ms = (day * 86_400_000.0).round() as i64 % 86_400_000;
    Time::midnight().checked_add(jiff::SignedDuration::from_millis(ms)).ok()
}

/// Returns a text with plain blanks, and with `AM` or `PM` for `a. m.`, `p.m.` and the like.
///
/// Unicode's locale data write a narrow no-break space before AM and PM (CLDR 42).
pub(crate) fn plain(text: &str, halves: bool) -> String {
    let text: String = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c }).collect();
    if !halves {
        return text;
    }
    let lower = text.to_ascii_lowercase();
    for (mark, half) in [("a. m.", "AM"), ("p. m.", "PM"), ("a.m.", "AM"), ("p.m.", "PM"), ("a.m", "AM"), ("p.m", "PM")]
    {
        if let Some(at) = lower.find(mark) {
            return format!("{}{half}{}", &text[..at], &text[at + mark.len()..]);
        }
    }
    text
}

fn by_pattern(text: &str, pattern: &str, date: bool, offset: bool) -> Option<Reading> {
    let text = plain(text, pattern.contains("%p") || pattern.contains("%P"));
    let parts = jiff::fmt::strtime::parse(plain(pattern, false), text).ok()?;
    if !date {
        return parts.to_time().ok().map(Reading::Clock);
    }
    let wall = parts.to_datetime().ok()?;
    if offset { with_offset(wall, parts.offset()?) } else { Some(Reading::Wall(wall)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, way: &str, trust: bool) -> String {
        let named = TimeRead::NAMED.into_iter().find(|(word, _)| *word == way).map(|(_, w)| w);
        let pattern = || TimeRead::Pattern { text: way.into(), date: way.contains("%d"), offset: way.contains("%z") };
        match read(text, &named.unwrap_or_else(pattern), trust, false) {
            None => "-".into(),
            Some(Reading::Instant(at, offset)) => format!("{at} {offset:?}"),
            Some(Reading::Wall(wall)) => wall.to_string(),
            Some(Reading::Clock(time)) => time.to_string(),
            Some(Reading::Half(face)) => format!("{face} of twelve"),
            Some(Reading::Elapsed(s)) => format!("+{s}"),
            Some(Reading::Count(n, back)) => format!("{}{n} units", if back { "-" } else { "+" }),
        }
    }

    #[test]
    fn an_offset_is_trusted_or_left_out() {
        assert_eq!(check("2026-04-04T22:31:00+11:00", "rfc3339", true), "2026-04-04T11:31:00Z Some(39600)");
        assert_eq!(check("2026-04-04T22:31:00Z", "rfc3339", false), "2026-04-04T22:31:00");
        assert_eq!(check("2026-04-04T22:31:00", "rfc3339", true), "-");
        assert_eq!(check("04.04.2026 22:31 +1030", "%d.%m.%Y %H:%M %z", true), "2026-04-04T12:01:00Z Some(37800)");
    }

    #[test]
    fn numbers_have_the_declared_unit() {
        assert_eq!(check("1775302260", "epoch s", true), "2026-04-04T11:31:00Z None");
        assert_eq!(check("1775302260.5", "epoch s", true), "2026-04-04T11:31:00.5Z None");
        assert_eq!(check("1775302260000", "epoch ms", true), "2026-04-04T11:31:00Z None");
        assert_eq!(check("1775302260000600", "epoch us", true), "2026-04-04T11:31:00.001Z None");
        assert_eq!(check("1.5", "offset min", true), "+90");
        assert_eq!(check("soon", "offset s", true), "-");
    }

    #[test]
    fn day_numbers_follow_their_system() {
        assert_eq!(check("46116.9375", "serial 1900", true), "2026-04-04T22:30:00");
        assert_eq!(check("44654.9375", "serial 1904", true), "2026-04-04T22:30:00");
        assert_eq!(check("12", "serial 1900", true), "-");
    }

    #[test]
    fn patterns_read_dates_or_times_of_day() {
        assert_eq!(check("04.04.2026 22:31", "%d.%m.%Y %H:%M", true), "2026-04-04T22:31:00");
        assert_eq!(check("10:31 PM", "%I:%M %p", true), "22:31:00");
        assert_eq!(check("22:31", "clock", true), "22:31:00");
        assert_eq!(check("4.4.26", "%d.%m.%Y %H:%M", true), "-");
    }

    #[test]
    fn epochs_are_counted_from_the_first() {
        assert_eq!([check("1-43", "epochs begin", true), check("1-43", "epochs end", true)], ["+0", "+1290"]);
        assert_eq!([check(" 44 ", "epochs begin", true), check("44", "epochs end", true)], ["+1290", "+1320"]);
        assert_eq!(check("45 \u{2013} 46", "epochs end", true), "+1380");
        for text in ["", "0-3", "5-4", "1 to 3", "1-2-3", "-4", "1.5"] {
            assert_eq!(check(text, "epochs begin", true), "-", "{text}");
        }
    }

    #[test]
    fn a_typed_time_is_forgiving_in_form_and_strict_in_meaning() {
        for text in ["23:47", "23.47", "2347", "11:47 pm", "11.47PM", "11:47 p. m.", "23:47:00"] {
            assert_eq!(check(text, "clock typed", true), "23:47:00", "{text}");
        }
        for text in ["0:05", "005", "0005", "12:05 am", "1205am", "00.05"] {
            assert_eq!(check(text, "clock typed", true), "00:05:00", "{text}");
        }
        assert_eq!(check("12:30 pm", "clock typed", true), "12:30:00");
        for text in [
            "", "23.4", "23:4", "24:10", "13:05 pm", "0:05 am", "23,47", "47", "12345", "23:60", "-1:30", "0.99", "é12",
        ] {
            assert_eq!(check(text, "clock typed", true), "-", "{text}");
        }
    }

    #[test]
    fn the_decimal_mark_is_that_of_the_file() {
        assert_eq!(number("1,5", true), Some(1.5));
        assert_eq!([number("1.5", true), number("1,5", false), number("inf", false)], [None; 3]);
    }
}
