//! A cell of a sheet: what it holds, its address, and dates that are stored as numbers.

use crate::Value;
use counterpane_model::Wall;
use std::borrow::Cow;

/// Milliseconds of a day.
const DAY: i64 = 86_400_000;

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Cell {
    Bool(bool),
    /// Milliseconds since midnight.
    Clock(u32),
    Moment(Wall),
    Number(f64),
    /// Milliseconds.
    Span(i64),
    Text(String),
}

/// How a number is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Shown {
    #[default]
    Plain,
    /// As a date, a time of day, or both.
    Date,
    /// As a length of time that does not begin anew at 24 hours.
    Elapsed,
}

/// Equal cells that stand side by side.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Run {
    /// First column, from 0.
    pub(super) from: u32,
    pub(super) count: u32,
    pub(super) cell: Cell,
}

impl Cell {
    /// Returns the cell of a number as it is shown, in a workbook whose days count from 1904 or else from 1900.
    ///
    /// A number below 1 that is shown as a date is a time of day. What no calendar has (below 0, beyond the
    /// year 9999, and 29 February 1900, which the 1900 system counts) stays a number.
    pub(super) fn of_number(number: f64, shown: Shown, from_1904: bool) -> Cell {
        let ms = (number * DAY as f64).round();
        match shown {
            Shown::Plain => Cell::Number(number),
            Shown::Elapsed if ms.abs() < 1e15 => Cell::Span(ms as i64),
            Shown::Date if (0.0..1.0).contains(&number) => Cell::Clock((ms as i64 % DAY) as u32),
            Shown::Date => wall(ms, from_1904).map_or(Cell::Number(number), Cell::Moment),
            Shown::Elapsed => Cell::Number(number),
        }
    }

    /// Returns the cell of a date or a time as ISO 8601 writes it; one with an offset stays a text, because the
    /// offset must not be lost.
    pub(super) fn of_iso(text: &str) -> Cell {
        let wall = text.parse::<jiff::civil::DateTime>().ok().filter(|_| !text.ends_with(['Z', 'z']));
        if let Some(wall) = wall {
            return Cell::Moment(rounded(wall));
        }
        match text.parse::<jiff::civil::Time>() {
            Ok(time) if !text.ends_with(['Z', 'z']) => {
                let wall = rounded(time.on(2000, 1, 1));
                let seconds = i64::from(wall.hour()) * 3600 + i64::from(wall.minute()) * 60 + i64::from(wall.second());
                Cell::Clock((seconds * 1000 + i64::from(wall.millisecond())) as u32)
            }
            _ => Cell::Text(text.to_owned()),
        }
    }

    pub(super) fn value(&self) -> Value<'_> {
        match self {
            Cell::Bool(truth) => Value::Bool(*truth),
            Cell::Clock(ms) => Value::Clock { ms: *ms },
            Cell::Moment(wall) => Value::Moment { wall: *wall },
            Cell::Number(number) => Value::Number(Cow::Owned(number.to_string())),
            Cell::Span(ms) => Value::Span { ms: *ms },
            Cell::Text(text) => Value::Text(Cow::Borrowed(text)),
        }
    }

    /// Returns the cell as a person would read it.
    pub(super) fn shown(&self) -> Cow<'_, str> {
        Cow::Owned(match self {
            Cell::Text(text) => return Cow::Borrowed(text),
            Cell::Bool(truth) => truth.to_string(),
            Cell::Clock(ms) => time(i64::from(*ms)),
            Cell::Moment(wall) => wall.to_string().replace('T', " "),
            Cell::Number(number) => number.to_string(),
            Cell::Span(ms) => format!("{}{}", if *ms < 0 { "-" } else { "" }, time(ms.saturating_abs())),
        })
    }
}

fn time(ms: i64) -> String {
    let seconds = ms / 1000;
    let fraction = if ms % 1000 == 0 { String::new() } else { format!(".{:03}", ms % 1000) };
    format!("{:02}:{:02}:{:02}{fraction}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// Returns date and time of a number of milliseconds since the first day of the workbook's calendar.
fn wall(ms: f64, from_1904: bool) -> Option<Wall> {
    // 2,958,466 days lead to the year 10000.
    if !(0.0..2_958_466.0 * DAY as f64).contains(&ms) {
        return None;
    }
    let (days, rest) = (ms as i64 / DAY, ms as i64 % DAY);
    let first = match (from_1904, days) {
        (true, _) => jiff::civil::date(1904, 1, 1),
        (false, 60) => return None,
        (false, 0..60) => jiff::civil::date(1899, 12, 31),
        (false, _) => jiff::civil::date(1899, 12, 30),
    };
    let date = first.checked_add(jiff::Span::new().try_days(days).ok()?).ok()?;
    date.to_datetime(jiff::civil::Time::midnight()).checked_add(jiff::Span::new().try_milliseconds(rest).ok()?).ok()
}

fn rounded(wall: Wall) -> Wall {
    wall.round(jiff::Unit::Millisecond).unwrap_or(wall)
}

/// Returns the milliseconds of a length of time as ISO 8601 writes it, such as `PT25H03M00.5S`; `None` when it has
/// years or months, which have no length of their own.
pub(super) fn iso_span(text: &str) -> Option<i64> {
    let (sign, text) = text.strip_prefix('-').map_or((1.0, text), |rest| (-1.0, rest));
    let (mut ms, mut in_time, mut digits) = (0.0, false, String::new());
    for c in text.strip_prefix('P')?.chars() {
        let unit = match (c, in_time) {
            ('T', false) if digits.is_empty() => {
                in_time = true;
                continue;
            }
            ('0'..='9' | '.', _) if digits.len() < 20 => {
                digits.push(c);
                continue;
            }
            ('D', false) => DAY as f64,
            ('H', true) => 3_600_000.0,
            ('M', true) => 60_000.0,
            ('S', true) => 1000.0,
            _ => return None,
        };
        ms += digits.parse::<f64>().ok()? * unit;
        digits.clear();
    }
    (digits.is_empty() && ms < 1e15).then_some((sign * ms).round() as i64)
}

/// Returns the address of a cell, such as `B7`; row and column count from 0.
pub(super) fn address(row: u32, column: u32) -> String {
    format!("{}{}", letters(column), u64::from(row) + 1)
}

/// Returns the letters of a column.
fn letters(column: u32) -> String {
    let (mut out, mut n) = (Vec::new(), u64::from(column) + 1);
    while n > 0 {
        out.push(char::from(b'A' + ((n - 1) % 26) as u8));
        n = (n - 1) / 26;
    }
    out.iter().rev().collect()
}

/// Returns the column of up to three letters, from 0, and how many letters they are.
pub(super) fn column_of(text: &str) -> Option<(u32, usize)> {
    let n = text.bytes().take(4).take_while(u8::is_ascii_uppercase).count();
    let number = text[..n].bytes().fold(0, |n, b| n * 26 + u32::from(b - b'A') + 1);
    (1..=3).contains(&n).then(|| (number - 1, n))
}

/// Returns row and column, from 0, of an address such as `B7`.
pub(super) fn place_of(text: &str) -> Option<(u32, u32)> {
    let (column, n) = column_of(text)?;
    let row: u32 = text[n..].parse().ok()?;
    Some((row.checked_sub(1)?, column))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(number: f64, from_1904: bool) -> String {
        Cell::of_number(number, Shown::Date, from_1904).shown().into_owned()
    }

    /// The same instants as ECMA-376 part 1, 18.17.4.1, gives for both systems.
    #[test]
    fn days_count_from_1900_or_1904() {
        assert_eq!(date(38749.0, false), "2006-02-01 00:00:00");
        assert_eq!(date(37287.0, true), "2006-02-01 00:00:00");
        assert_eq!(date(1.0, false), "1900-01-01 00:00:00");
        assert_eq!(date(59.0, false), "1900-02-28 00:00:00");
        assert_eq!(date(61.0, false), "1900-03-01 00:00:00");
        assert_eq!(date(2_958_465.0, false), "9999-12-31 00:00:00");
    }

    #[test]
    fn times_are_rounded_to_the_millisecond() {
        // 22:47:30.250 on 4 April 2026, as a sheet stores it.
        assert_eq!(date(46_116.949_655_671_3, false), "2026-04-04 22:47:30.25");
        assert_eq!(date(0.25 + 1.0 / 86_400_000.0 / 3.0, false), "06:00:00");
        assert_eq!(date(0.999_999_999_99, false), "00:00:00");
    }

    #[test]
    fn what_no_calendar_has_stays_a_number() {
        assert_eq!(date(60.5, false), "60.5");
        assert_eq!(date(-1.0, false), "-1");
        assert_eq!(date(2_958_466.0, false), "2958466");
        assert_eq!(date(f64::MAX, false).len(), 309);
    }

    #[test]
    fn lengths_do_not_begin_anew_at_a_day() {
        assert_eq!(Cell::of_number(1.5, Shown::Elapsed, false), Cell::Span(129_600_000));
        assert_eq!(Cell::of_number(-0.5, Shown::Elapsed, false).shown(), "-12:00:00");
        assert_eq!(iso_span("PT25H03M00.5S"), Some(90_180_500));
        assert_eq!(iso_span("-P1DT1S"), Some(-86_401_000));
        for wrong in ["P1M", "PT", "1H", "PT1", "PT1HT1M", "PT..S"] {
            assert_eq!(iso_span(wrong), if wrong == "PT" { Some(0) } else { None }, "{wrong}");
        }
    }

    #[test]
    fn iso_texts_keep_their_offset() {
        assert_eq!(Cell::of_iso("2026-04-04T22:47:30.2504").shown(), "2026-04-04 22:47:30.25");
        assert_eq!(Cell::of_iso("2026-04-04").shown(), "2026-04-04 00:00:00");
        assert_eq!(Cell::of_iso("22:47:30"), Cell::Clock(82_050_000));
        assert_eq!(Cell::of_iso("2026-04-04T22:47:30Z"), Cell::Text("2026-04-04T22:47:30Z".into()));
    }

    #[test]
    fn addresses_read_back() {
        for (row, column, text) in [(0, 0, "A1"), (6, 25, "Z7"), (9, 26, "AA10"), (1_048_575, 16_383, "XFD1048576")] {
            assert_eq!(address(row, column), text);
            assert_eq!(place_of(text), Some((row, column)));
        }
        for wrong in ["", "A", "1", "A0", "ABCD1", "a1", "A99999999999"] {
            assert_eq!(place_of(wrong), None, "{wrong}");
        }
    }
}
