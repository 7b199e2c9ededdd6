//! Times as a reviewer types them, on the command line and in `study.toml`.

use crate::zone::WallError;
use crate::{Fold, Instant, Wall, Zone};

/// Why a typed time is not an instant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TypedError {
    /// Not one of the three forms.
    #[error(
        "`{text}` is not a time; write `2026-04-04 22:30`, `2026-04-04 22:30:15`, `2026-04-04T22:30:00+11:00` or, where a night is known, `22:30`"
    )]
    Unreadable {
        /// What was typed.
        text: String,
    },
    /// A time of day, and no night that it could belong to.
    #[error("`{text}` has no date and no night says which day it is; write the date too, such as `2026-04-04 {text}`")]
    NoDate {
        /// What was typed.
        text: String,
    },
    /// A wall time and no zone.
    #[error("`{text}` has no offset and no zone is known; write the offset too, such as `2026-04-04T22:30:00+11:00`")]
    NoZone {
        /// What was typed.
        text: String,
    },
    /// A time of day that lies outside the night.
    #[error("`{text}` does not fall into the night, which runs from {from} to {until}; write the date too")]
    OutsideNight {
        /// What was typed.
        text: String,
        /// Start of the night's window, local.
        from: String,
        /// End of the night's window, local.
        until: String,
    },
    /// A wall time that happened twice or never.
    #[error("{0}; write the offset too, such as `2026-04-05T01:45:00+11:00`")]
    Wall(#[from] WallError),
}

/// Returns the instant of a typed time.
///
/// Three forms: RFC 3339 with an offset; a date and a time in `zone`; a time of day that is looked for
/// in `window`, where exactly one instant must fit.
///
/// # Errors
/// See [`TypedError`]; each message says which form would have done.
pub fn typed_instant(
    text: &str,
    zone: Option<&Zone>,
    window: Option<(Instant, Instant)>,
) -> Result<Instant, TypedError> {
    let text = text.trim();
    let unreadable = || TypedError::Unreadable { text: text.to_owned() };
    if let Ok(at) = text.parse::<jiff::Timestamp>() {
        return Instant(at.as_millisecond()).plus_ms(0).ok_or_else(unreadable);
    }
    let no_zone = || TypedError::NoZone { text: text.to_owned() };
    if let Some(wall) = typed_wall(text) {
        return Ok(zone.ok_or_else(no_zone)?.instant_of(wall, Fold::Error)?);
    }
    let time = typed_clock(text).ok_or_else(unreadable)?;
    let (from, until) = window.ok_or_else(|| TypedError::NoDate { text: text.to_owned() })?;
    let zone = zone.ok_or_else(no_zone)?;
    let (first, last) = (zone.wall_of(from).date(), zone.wall_of(until).date());
    for day in first.series(jiff::Span::new().days(1)).take_while(|day| *day <= last) {
        match zone.instant_of(day.to_datetime(time), Fold::Error) {
            Ok(at) if (from..=until).contains(&at) => return Ok(at),
            Err(e) if day != first || time > zone.wall_of(from).time() => return Err(e.into()),
            Ok(_) | Err(_) => {}
        }
    }
    let outside =
        TypedError::OutsideNight { text: text.to_owned(), from: zone.text_of(from), until: zone.text_of(until) };
    Err(outside)
}

/// Returns the wall time of `2026-04-04 22:30[:15[.5]]`, with a blank or a `T` between.
#[must_use]
pub fn typed_wall(text: &str) -> Option<Wall> {
    let (date, time) = text.split_once(['T', ' '])?;
    Some(date.parse::<jiff::civil::Date>().ok()?.to_datetime(typed_clock(time.trim())?))
}

/// Returns the time of day of `22:30[:15[.5]]`.
#[must_use]
pub fn typed_clock(text: &str) -> Option<jiff::civil::Time> {
    let looks_right = text.contains(':') && text.chars().all(|c| c.is_ascii_digit() || matches!(c, ':' | '.'));
    looks_right.then(|| text.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str) -> String {
        let zone = Zone::named("Australia/Lord_Howe").unwrap();
        let noon = |day: &str| zone.instant_of(format!("{day} 12:00:00").parse().unwrap(), Fold::Error).unwrap();
        match typed_instant(text, Some(&zone), Some((noon("2026-04-04"), noon("2026-04-05")))) {
            Ok(at) => zone.text_of(at),
            Err(e) => e.to_string(),
        }
    }

    #[test]
    fn the_three_forms_are_read() {
        assert_eq!(check("2026-04-04T22:30:00+11:00"), "2026-04-04T22:30:00+11:00");
        assert_eq!(check("2026-04-04 22:30"), "2026-04-04T22:30:00+11:00");
        assert_eq!(check("22:30:15"), "2026-04-04T22:30:15+11:00");
        assert_eq!(check("06:30"), "2026-04-05T06:30:00+10:30");
    }

    #[test]
    fn a_repeated_time_asks_for_its_offset() {
        assert!(check("01:45").contains("happened twice"));
        assert!(check("01:45").ends_with("write the offset too, such as `2026-04-05T01:45:00+11:00`"));
        assert_eq!(check("2026-04-05T01:45:00+10:30"), "2026-04-05T01:45:00+10:30");
    }

    #[test]
    fn nothing_is_guessed() {
        assert!(check("half past ten").starts_with("`half past ten` is not a time"));
        assert!(check("2230").starts_with("`2230` is not a time"));
        assert!(typed_instant("22:30", None, None).is_err_and(|e| e.to_string().contains("has no date")));
        assert!(typed_instant("2026-04-04 22:30", None, None).is_err_and(|e| e.to_string().contains("no zone")));
    }
}
