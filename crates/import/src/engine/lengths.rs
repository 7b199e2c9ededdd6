//! Lengths of time.

use super::compile::{Length, LengthUnit};
use super::faults::Fault;
use super::moment::{Frame, not_time};
use super::view::View;
use super::ways::number;
use crate::grammar::LengthRead;
use crate::grammar::claims::Unit;

/// Reads a length of a row as seconds; `None` when its text does not fit.
///
/// # Errors
/// The unit that the source names is not known.
pub(super) fn of(length: &Length, text: &str, view: &View<'_>, frame: &Frame<'_>) -> Result<Option<f64>, Fault> {
    match &length.read {
        LengthUnit::Is(read) => Ok(seconds(text, *read, frame.comma)),
        LengthUnit::Of(source) => {
            let (unit, found) = frame.unit(source, view)?;
            let Unit::Time(read) = unit else { return Err(not_time(&found)) };
            Ok(seconds(text, read, frame.comma))
        }
    }
}

/// Reads a length as seconds; `None` when the text does not fit.
pub(super) fn seconds(text: &str, read: LengthRead, comma: bool) -> Option<f64> {
    let text = text.trim();
    if let Some(ms) = read.ms() {
        return number(text, comma).map(|n| n * ms / 1000.0).filter(|s| s.is_finite());
    }
    match read {
        LengthRead::HoursMinutes => parts(text, &[3600.0, 60.0], comma),
        LengthRead::HoursMinutesSeconds | LengthRead::Cell => parts(text, &[3600.0, 60.0, 1.0], comma),
        LengthRead::MinutesSeconds => parts(text, &[60.0, 1.0], comma),
        LengthRead::Worded => worded(text, comma),
        LengthRead::Iso => text.parse::<jiff::SignedDuration>().ok().map(|d| d.as_secs_f64()),
        LengthRead::Milliseconds | LengthRead::Seconds | LengthRead::Minutes | LengthRead::Hours | LengthRead::Days => {
            None
        }
    }
}

/// Reads `7:05:30`: whole numbers, the last one perhaps with a fraction; all but the first below 60.
fn parts(text: &str, units: &[f64], comma: bool) -> Option<f64> {
    let texts: Vec<&str> = text.split(':').collect();
    if texts.len() != units.len() {
        return None;
    }
    let mut sum = 0.0;
    for (at, (text, unit)) in texts.iter().zip(units).enumerate() {
        let last = at + 1 == units.len();
        let digits = text.chars().all(|c| c.is_ascii_digit() || (last && matches!(c, '.' | ',')));
        let value = number(text, comma).filter(|v| digits && (at == 0 || *v < 60.0))?;
        sum += value * unit;
    }
    Some(sum).filter(|s| s.is_finite())
}

/// Reads `1h 05m` or `27 min 30 s`: numbers, each with its unit behind it, the larger first.
pub(crate) fn worded(text: &str, comma: bool) -> Option<f64> {
    let mut rest = text.trim();
    let (mut sum, mut above) = (0.0, f64::INFINITY);
    while !rest.is_empty() {
        let digits = rest.find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ','))?;
        let value = number(&rest[..digits], comma)?;
        rest = rest[digits..].trim_start();
        let letters = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
        let unit = match rest[..letters].to_lowercase().as_str() {
            "h" | "hr" | "hrs" | "hour" | "hours" => 3600.0,
            "m" | "min" | "mins" | "minute" | "minutes" => 60.0,
            "s" | "sec" | "secs" | "second" | "seconds" => 1.0,
            _ => return None,
        };
        // Below the largest unit, what is a whole of the next one would stand there.
        if unit >= above || (above.is_finite() && value >= 60.0) {
            return None;
        }
        (sum, above) = (sum + value * unit, unit);
        rest = rest[letters..].trim_start();
    }
    above.is_finite().then_some(sum)
}

/// Returns a length in words, such as `7 h 5 min 30 s` or `-5 min`.
pub(super) fn words(ms: i64) -> String {
    let sign = if ms < 0 { "-" } else { "" };
    let (total, rest) = (ms.unsigned_abs() / 1000, ms.unsigned_abs() % 1000);
    let (h, min, s) = (total / 3600, total / 60 % 60, total % 60);
    let mut out: Vec<String> =
        [(h, "h"), (min, "min")].iter().filter(|(n, _)| *n > 0).map(|(n, u)| format!("{n} {u}")).collect();
    match rest {
        0 if s > 0 || out.is_empty() => out.push(format!("{s} s")),
        0 => {}
        rest => out.push(format!("{s}.{rest:03} s")),
    }
    format!("{sign}{}", out.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_in_their_unit() {
        assert_eq!(seconds("00:27:30", LengthRead::HoursMinutesSeconds, false), Some(1650.0));
        assert_eq!(seconds("7:05", LengthRead::HoursMinutes, false), Some(25_500.0));
        assert_eq!(seconds("27:30", LengthRead::MinutesSeconds, false), Some(1650.0));
        assert_eq!(seconds("PT27M30S", LengthRead::Iso, false), Some(1650.0));
        assert_eq!(seconds("0,5", LengthRead::Minutes, true), Some(30.0));
        assert_eq!(seconds("1h 05m", LengthRead::Worded, false), Some(3900.0));
        assert_eq!(seconds("27 min 30 s", LengthRead::Worded, false), Some(1650.0));
        assert_eq!(seconds("5 m 1 h", LengthRead::Worded, false), None);
        assert_eq!(seconds("1h 75m", LengthRead::Worded, false), None);
        assert_eq!(seconds("27", LengthRead::Worded, false), None);
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        assert_eq!(seconds("7:65", LengthRead::HoursMinutes, false), None);
        assert_eq!(seconds("7:05:30", LengthRead::HoursMinutes, false), None);
        assert_eq!(seconds("-7:05", LengthRead::HoursMinutes, false), None);
        assert_eq!(seconds("half an hour", LengthRead::Iso, false), None);
        assert_eq!(seconds("1e305", LengthRead::Hours, false), None);
    }

    #[test]
    fn lengths_read_well() {
        assert_eq!(words(25_530_000), "7 h 5 min 30 s");
        assert_eq!(words(-300_000), "-5 min");
        assert_eq!(words(0), "0 s");
        assert_eq!(words(1_250), "1.250 s");
    }
}
