//! The ways in which the texts of a column can be times.

use super::tables::Cell;
use crate::engine::{clock, plain};
use jiff::civil::DateTime;
use jiff::fmt::strtime;

/// What a reading gives.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Says {
    /// An instant, by a number that counts from 1970.
    Epoch,
    /// An instant, by the offset in its text; `zulu` says that every offset is zero.
    Offset { zulu: bool },
    /// A wall time.
    Wall,
    /// A time of day.
    Clock,
    /// A length from an anchor, in units of so many seconds.
    Elapsed,
    /// A date alone.
    Date,
}

/// One way to read a column of times.
#[derive(Clone, Debug)]
pub(super) struct Reading {
    /// As a definition writes it; several are tried in order.
    pub(super) read: Vec<String>,
    pub(super) says: Says,
    /// Seconds on the reading's own line of time, one for each row.
    pub(super) seconds: Vec<Option<f64>>,
    /// Rows that hold something, and rows that were read so.
    pub(super) present: usize,
    pub(super) count: usize,
}

impl Reading {
    /// Says whether nearly every text was read: a damaged row is no reason to doubt the rest.
    pub(super) fn is_good(&self) -> bool {
        nearly_all(&self.seconds, self.present)
    }
}

/// Says whether nearly every value was read; the first one may be the unit of its column, whatever the number of rows.
pub(super) fn nearly_all(values: &[Option<f64>], present: usize) -> bool {
    let count = values.iter().flatten().count();
    let only_first = count >= 5 && count + 1 == present && values.first() == Some(&None);
    count >= 1 && (count * 20 >= present * 19 || only_first)
}

/// The way to read a clock of twelve hours.
pub(super) const HALF: &str = "clock 12h";

/// How dates are written; those of one group can be mistaken for each other.
const DATES: [&str; 14] = [
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%d.%m.%Y",
    "%d/%m/%Y",
    "%m/%d/%Y",
    "%d-%m-%Y",
    "%m-%d-%Y",
    "%d.%m.%y",
    "%d/%m/%y",
    "%m/%d/%y",
    "%d %b %Y",
    "%b %d, %Y",
    "%b %d %Y",
];
/// A blank in a pattern stands for any number of them.
const BETWEEN: [&str; 3] = [" ", "T", ", "];
const CLOCKS: [&str; 7] = ["%H:%M", "%H:%M:%S", "%H:%M:%S%.f", "%I:%M %p", "%I:%M:%S %p", "%H.%M", "%H.%M.%S"];
const OFFSETS: [&str; 5] = ["", " %z", "%z", " %:z", "%:z"];

/// Returns every good way to read a column as times of day with a date, as instants, or as times of day.
pub(super) fn readings(cells: &[Cell], comma: bool) -> Vec<Reading> {
    let texts: Vec<Option<&str>> = cells.iter().map(|c| c.text().map(str::trim)).collect();
    let all: Vec<Reading> = numbers(&texts, comma).into_iter().chain(written(&texts)).collect();
    let good: Vec<Reading> = all.into_iter().filter(Reading::is_good).collect();
    // Where day and month can be told by one row alone, the order that fails there is not a rival.
    let most = |r: &Reading| good.iter().filter(|o| o.says == r.says).map(|o| o.count).max();
    good.iter().filter(|r| !matches!(r.says, Says::Wall | Says::Date) || most(r) == Some(r.count)).cloned().collect()
}

fn reading(read: &str, says: Says, texts: &[Option<&str>], by: impl Fn(&str) -> Option<f64>) -> Reading {
    let seconds: Vec<Option<f64>> = texts.iter().map(|t| t.and_then(&by)).collect();
    let count = seconds.iter().flatten().count();
    Reading { read: vec![read.into()], says, present: texts.iter().flatten().count(), count, seconds }
}

/// Reads a number with the decimal mark of the file.
pub(super) fn number(text: &str, comma: bool) -> Option<f64> {
    let text = text.trim();
    let digits = text.chars().any(|c| c.is_ascii_digit());
    let plain = |t: &str| t.parse::<f64>().ok().filter(|x| x.is_finite() && digits);
    if comma { if text.contains('.') { None } else { plain(&text.replace(',', ".")) } } else { plain(text) }
}

/// Seconds of the years 2000 to 2099: what is read outside them is no time of a recording.
const PLAUSIBLE: std::ops::Range<f64> = 946_684_800.0..4_102_444_800.0;

fn numbers(texts: &[Option<&str>], comma: bool) -> Vec<Reading> {
    // A line of units below the header is no reason to doubt the rest.
    if texts.iter().flatten().take(3).all(|t| number(t, comma).is_none()) {
        return Vec::new();
    }
    let within = |seconds: f64| PLAUSIBLE.contains(&seconds).then_some(seconds);
    let epoch = |unit: f64| move |t: &str| within(number(t, comma)? / unit);
    let serial = |first: f64| {
        move |t: &str| {
            let days = number(t, comma)?;
            // A whole day is a date, and no time of the night.
            within((days * 86_400_000.0).round() / 1000.0 + first).filter(|_| days < 120_000.0)
        }
    };
    let fractions = texts.iter().flatten().filter(|t| number(t, comma).is_some_and(|n| n.fract() != 0.0)).count();
    let mut out = vec![
        reading("epoch s", Says::Epoch, texts, epoch(1.0)),
        reading("epoch ms", Says::Epoch, texts, epoch(1e3)),
        reading("epoch us", Says::Epoch, texts, epoch(1e6)),
    ];
    if fractions * 2 >= texts.iter().flatten().count() {
        out.push(reading("serial 1900", Says::Wall, texts, serial(-2_209_161_600.0)));
        out.push(reading("serial 1904", Says::Wall, texts, serial(-2_082_844_800.0)));
    }
    let known = out.iter().any(Reading::is_good);
    let counted = |unit: f64| move |t: &str| number(t, comma).map(|n| n * unit);
    if !known {
        for (word, unit) in [("offset s", 1.0), ("offset ms", 0.001), ("offset min", 60.0), ("offset h", 3600.0)] {
            out.push(reading(word, Says::Elapsed, texts, counted(unit)));
        }
    }
    out
}

fn written(texts: &[Option<&str>]) -> Vec<Reading> {
    // As an import reads them: every blank is a plain one, and `a. m.` is `AM`.
    let plain: Vec<Option<String>> = texts.iter().map(|t| t.map(|t| plain(t, true))).collect();
    let texts: &[Option<&str>] = &plain.iter().map(Option::as_deref).collect::<Vec<_>>();
    let digits = |t: &str| t.chars().filter(char::is_ascii_digit).count();
    let like_time = |t: &&&str| digits(t) >= 3 && t.len() <= 45 && !t.chars().all(|c| c.is_ascii_digit());
    if texts.iter().flatten().take(3).find(like_time).is_none() {
        let day = |t: &&str| t.len() == 8 && t.starts_with("20");
        let days = texts.iter().flatten().all(day).then(|| reading("%Y%m%d", Says::Date, texts, |t| wall("%Y%m%d", t)));
        return days.into_iter().filter(|r| r.count > 0).collect();
    }
    let rfc3339 = reading("rfc3339", offsets(texts), texts, rfc3339);
    if rfc3339.is_good() {
        return vec![rfc3339];
    }
    let clock = reading("clock", Says::Clock, texts, |t| clock(t, 23).map(of_day));
    if clock.is_good() {
        // Hours from one to twelve may be those of a clock that does not say whether it is before noon.
        let half = clock.seconds.iter().flatten().all(|s| (3600.0..46_800.0).contains(s));
        let twelve = Reading { read: vec![HALF.into()], ..clock.clone() };
        return if half { vec![clock, twelve] } else { vec![clock] };
    }
    let mut out: Vec<Reading> = Vec::new();
    for compact in ["%Y%m%dT%H%M%S", "%Y%m%d %H%M%S", "%Y%m%dT%H%M"] {
        let found = reading(compact, Says::Wall, texts, |t| wall(compact, t));
        if out.is_empty() && found.is_good() {
            out.push(found);
        }
    }
    for date in DATES {
        for between in BETWEEN {
            out.extend(OFFSETS.iter().filter_map(|offset| family(&format!("{date}{between}"), offset, texts)));
        }
    }
    if out.is_empty() {
        out.extend(family("", "", texts).map(|r| Reading { says: Says::Clock, ..r }));
    }
    if out.is_empty() {
        out.extend(DATES.iter().map(|date| reading(date, Says::Date, texts, |t| wall(date, t))));
    }
    out
}

/// Tries the clocks behind one way to write the date: a file may leave out seconds that are zero.
fn family(before: &str, offset: &'static str, texts: &[Option<&str>]) -> Option<Reading> {
    let patterns = CLOCKS.map(|clock| format!("{before}{clock}{offset}"));
    let mut used: Vec<usize> = Vec::new();
    let mut seconds = Vec::with_capacity(texts.len());
    let mut missed = 0;
    for text in texts {
        let Some(text) = text else {
            seconds.push(None);
            continue;
        };
        let known = used.iter().find_map(|n| wall(&patterns[*n], text));
        let found = known.or_else(|| {
            let (n, seconds) = patterns.iter().enumerate().find_map(|(n, p)| Some((n, wall(p, text)?)))?;
            used.push(n);
            Some(seconds)
        });
        missed += usize::from(found.is_none());
        seconds.push(found);
        // Most families fail at once, and the rest of the column need not be tried.
        if missed > 2 && missed * 10 > seconds.len() {
            return None;
        }
    }
    used.sort_unstable();
    let count = seconds.iter().flatten().count();
    let says = match (offset, texts.iter().flatten().any(|t| !is_zulu(t))) {
        ("", _) => Says::Wall,
        (_, other) => Says::Offset { zulu: !other },
    };
    // A pattern with seconds that may have a fraction reads those without one, too.
    if used.contains(&2) {
        used.retain(|n| *n != 1);
    }
    let read = used.iter().map(|n| patterns[*n].clone()).collect();
    let all = Reading { read, says, seconds, present: texts.iter().flatten().count(), count };
    Some(all).filter(|r| r.is_good())
}

/// Returns the seconds of a text on a line of wall time, or of instants where the pattern reads an offset.
fn wall(pattern: &str, text: &str) -> Option<f64> {
    let parts = strtime::parse(pattern, text).ok()?;
    if !pattern.contains("%Y") && !pattern.contains("%y") {
        return parts.to_time().ok().map(of_day);
    }
    let date = parts.to_date().ok().filter(|d| (2000..2100).contains(&d.year()))?;
    let time = parts.to_time().unwrap_or_default();
    Some(of_wall(date.to_datetime(time)) - parts.offset().map_or(0.0, |o| f64::from(o.seconds())))
}

fn rfc3339(text: &str) -> Option<f64> {
    let pieces = jiff::fmt::temporal::Pieces::parse(text).ok()?;
    let offset = pieces.to_numeric_offset()?;
    let date = Some(pieces.date()).filter(|d| (2000..2100).contains(&d.year()))?;
    Some(of_wall(date.to_datetime(pieces.time()?)) - f64::from(offset.seconds()))
}

fn offsets(texts: &[Option<&str>]) -> Says {
    Says::Offset { zulu: texts.iter().flatten().all(|t| is_zulu(t)) }
}

fn is_zulu(text: &str) -> bool {
    text.ends_with(['Z', 'z']) || ["+00:00", "+0000", "-00:00"].iter().any(|o| text.ends_with(o))
}

/// Returns a wall time as seconds on a line that has no zone.
pub(super) fn of_wall(wall: DateTime) -> f64 {
    let date = wall.date();
    let days = date.duration_since(jiff::civil::date(1970, 1, 1)).as_secs_f64();
    days + of_day(wall.time())
}

fn of_day(time: jiff::civil::Time) -> f64 {
    f64::from(time.hour()) * 3600.0
        + f64::from(time.minute()) * 60.0
        + f64::from(time.second())
        + f64::from(time.subsec_nanosecond()) / 1e9
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reads texts and returns each way with how many were read so.
    fn check(texts: &[&str]) -> String {
        let cells: Vec<Cell> = texts
            .iter()
            .map(|t| match t.parse::<f64>() {
                Ok(_) => Cell::Number((*t).to_owned()),
                Err(_) => Cell::Text((*t).to_owned()),
            })
            .collect();
        let name = |r: &Reading| format!("{} {}/{} {:?}", r.read.join(" or "), r.count, r.present, r.says);
        readings(&cells, false).iter().map(name).collect::<Vec<_>>().join("; ")
    }

    #[test]
    fn an_offset_is_seen_and_whether_it_is_always_zero() {
        assert_eq!(check(&["2026-04-04T22:31:00+11:00"]), "rfc3339 1/1 Offset { zulu: false }");
        assert_eq!(check(&["2026-04-04T22:31:00Z"]), "rfc3339 1/1 Offset { zulu: true }");
        assert_eq!(check(&["04.04.2026 22:31 +1100"]), "%d.%m.%Y %H:%M %z 1/1 Offset { zulu: false }");
    }

    #[test]
    fn day_and_month_are_rivals_until_a_day_is_above_twelve() {
        assert_eq!(check(&["04/05/2026 22:31"]), "%d/%m/%Y %H:%M 1/1 Wall; %m/%d/%Y %H:%M 1/1 Wall");
        assert_eq!(check(&["04/05/2026 22:31", "04/13/2026 22:31"]), "%m/%d/%Y %H:%M 2/2 Wall");
    }

    #[test]
    fn seconds_may_be_left_out_in_some_rows() {
        assert_eq!(check(&["04.04.2026 22:31", "04.04.2026 22:58:30"]), "%d.%m.%Y %H:%M or %d.%m.%Y %H:%M:%S 2/2 Wall");
    }

    #[test]
    fn numbers_since_1970_have_one_plausible_unit() {
        assert_eq!(check(&["1775302260"]), "epoch s 1/1 Epoch");
        assert_eq!(check(&["1775302260000"]), "epoch ms 1/1 Epoch");
    }

    #[test]
    fn day_numbers_have_two_systems() {
        assert_eq!(check(&["46116.9375"]), "serial 1900 1/1 Wall; serial 1904 1/1 Wall");
    }

    #[test]
    fn times_of_day_and_dates_are_told_apart() {
        assert_eq!(check(&["22:31", "22:31:15"]), "clock 2/2 Clock");
        assert_eq!(check(&["10:31 PM"]), "%I:%M %p 1/1 Clock");
        assert_eq!(check(&["2026-04-04"]), "%Y-%m-%d 1/1 Date");
        assert_eq!(check(&["light"]), "");
    }
}
