//! A point in time.

use serde::{Deserialize, Serialize};

/// A point in time: milliseconds since 1970-01-01T00:00:00Z, without leap seconds.
///
/// The field is public because the number is the meaning: it is what the store holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Instant(pub i64);

impl Instant {
    /// The first instant that the store takes: 1900-01-01T00:00:00Z.
    pub const MIN: Instant = Instant(-2_208_988_800_000);
    /// The end of the instants that the store takes: 2200-01-01T00:00:00Z.
    pub const MAX: Instant = Instant(7_258_118_400_000);

    /// Returns the instant that lies `ms` milliseconds later (earlier when negative), or `None`
    /// outside [`Instant::MIN`]`..=`[`Instant::MAX`].
    #[must_use]
    pub fn plus_ms(self, ms: i64) -> Option<Instant> {
        self.0.checked_add(ms).map(Instant).filter(|t| (Self::MIN..=Self::MAX).contains(t))
    }

    /// Returns the milliseconds from `earlier` to this instant; negative if `earlier` is later.
    #[must_use]
    pub fn ms_since(self, earlier: Instant) -> i64 {
        self.0.saturating_sub(earlier.0)
    }

    /// Returns the instant nearest to `seconds` after `anchor`, rounded to the millisecond (half
    /// away from zero), or `None` when it is not finite or out of range.
    #[must_use]
    pub fn after_seconds(anchor: Instant, seconds: f64) -> Option<Instant> {
        let ms = (seconds * 1000.0).round();
        #[expect(clippy::cast_possible_truncation, reason = "checked against a bound that i64 holds exactly")]
        (ms.abs() < 1e15).then(|| anchor.plus_ms(ms as i64)).flatten()
    }

    /// Reads RFC 3339 text with an offset, as [`Instant::utc_text`] writes it; `None` for anything else.
    #[must_use]
    pub fn from_utc_text(text: &str) -> Option<Instant> {
        let at: jiff::Timestamp = text.parse().ok()?;
        Instant(at.as_millisecond()).plus_ms(0)
    }

    /// Returns RFC 3339 text in UTC, such as `2026-04-04T11:31:00Z`; milliseconds only when there are any.
    #[must_use]
    pub fn utc_text(self) -> String {
        jiff::Timestamp::from_millisecond(self.0).map_or_else(|_| format!("{} ms", self.0), |t| t.to_string())
    }

    /// Returns RFC 3339 text at an offset from UTC in seconds, such as `2026-04-04T22:31:00+11:00`.
    #[must_use]
    pub fn text_at(self, offset_seconds: i32) -> String {
        match (jiff::Timestamp::from_millisecond(self.0), jiff::tz::Offset::from_seconds(offset_seconds)) {
            (Ok(t), Ok(offset)) => t.display_with_offset(offset).to_string(),
            _ => self.utc_text(),
        }
    }
}

impl std::fmt::Display for Instant {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.utc_text())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bounds_are_the_years_1900_and_2200() {
        assert_eq!(Instant::MIN.utc_text(), "1900-01-01T00:00:00Z");
        assert_eq!(Instant::MAX.utc_text(), "2200-01-01T00:00:00Z");
        assert_eq!(Instant::MAX.plus_ms(1), None);
    }

    #[test]
    fn seconds_after_an_anchor_are_rounded_once() {
        let at = |s| Instant::after_seconds(Instant(0), s);
        assert_eq!(at(3.000_003_844_499_59), Some(Instant(3000)));
        assert_eq!(at(-0.0005), Some(Instant(-1)));
        assert_eq!(at(f64::NAN), None);
        assert_eq!(at(1e300), None);
    }

    #[test]
    fn text_carries_the_offset_it_was_asked_for() {
        assert_eq!(Instant(1_775_302_260_000).text_at(39_600), "2026-04-04T22:31:00+11:00");
        assert_eq!(Instant(1_775_302_260_500).utc_text(), "2026-04-04T11:31:00.5Z");
        assert_eq!(Instant::from_utc_text("2026-04-04T11:31:00.5Z"), Some(Instant(1_775_302_260_500)));
        assert_eq!(Instant::from_utc_text("2026-04-04 11:31"), None);
    }
}
