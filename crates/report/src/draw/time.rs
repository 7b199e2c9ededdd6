//! A time axis in local time.
//!
//! Ticks stand where the wall clock shows a whole hour, which is not every 60 minutes on a night
//! when the clocks change; the change itself is a tick of its own kind.

use counterpane_model::{Instant, Zone};

/// A place on a time axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tick {
    /// The wall clock shows a whole hour.
    Hour {
        /// When.
        at: Instant,
        /// Such as `23:00`.
        text: String,
    },
    /// The clock changes.
    Change {
        /// First instant of the new offset.
        at: Instant,
        /// Offset before it, such as `+11:00`.
        before: String,
        /// Offset from it on.
        after: String,
    },
}

/// Returns the ticks of `from..=until` in order of time, one for each `step` hours of the wall clock.
#[must_use]
pub fn ticks(zone: &Zone, from: Instant, until: Instant, step: i64) -> Vec<Tick> {
    let step_ms = step.clamp(1, 24) * 3_600_000;
    let stretches = zone.stretches(from, Instant(until.0.saturating_add(1)));
    let mut out = Vec::new();
    let mut before: Option<i32> = None;
    for stretch in &stretches {
        let offset = i64::from(stretch.offset_seconds) * 1000;
        let change = before.filter(|b| *b != stretch.offset_seconds);
        if let Some(earlier) = change {
            out.push(Tick::Change {
                at: stretch.from,
                before: offset_text(earlier),
                after: offset_text(stretch.offset_seconds),
            });
        }
        before = Some(stretch.offset_seconds);
        let mut local = (stretch.from.0 + offset).div_euclid(step_ms) * step_ms;
        while local - offset < stretch.until.0 {
            if local - offset >= stretch.from.0 {
                let at = Instant(local - offset);
                out.push(Tick::Hour { at, text: zone.clock_of(at) });
            }
            local += step_ms;
        }
    }
    out
}

/// Returns an offset from UTC as `+11:00`; seconds are shown only where there are any.
#[must_use]
pub fn offset_text(seconds: i32) -> String {
    let sign = if seconds < 0 { '\u{2212}' } else { '+' };
    let all = seconds.unsigned_abs();
    let (h, m, s) = (all / 3600, all / 60 % 60, all % 60);
    if s == 0 { format!("{sign}{h:02}:{m:02}") } else { format!("{sign}{h:02}:{m:02}:{s:02}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(zone: &str, from: i64, hours: i64, step: i64) -> String {
        let zone = Zone::named(zone).unwrap();
        let words = ticks(&zone, Instant(from), Instant(from + hours * 3_600_000), step).into_iter().map(|t| match t {
            Tick::Hour { text, .. } => text,
            Tick::Change { before, after, .. } => format!("[{before} {after}]"),
        });
        words.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn hours_of_the_wall_clock_are_ticked() {
        assert_eq!(check("Europe/Berlin", 1_775_246_400_000, 4, 1), "22:00 23:00 00:00 01:00 02:00");
        assert_eq!(check("Europe/Berlin", 1_775_246_400_000, 4, 2), "22:00 00:00 02:00");
    }

    #[test]
    fn a_clock_set_back_by_half_an_hour_shows_its_change() {
        // 2026-04-04T13:00Z to 18:00Z: the clock goes back from 02:00 to 01:30 at 15:00Z.
        assert_eq!(
            check("Australia/Lord_Howe", 1_775_307_600_000, 5, 1),
            "00:00 01:00 [+11:00 +10:30] 02:00 03:00 04:00"
        );
    }

    #[test]
    fn a_clock_set_forward_skips_its_hour() {
        // 2026-03-29T00:00Z: 02:00 does not exist in Berlin.
        assert_eq!(check("Europe/Berlin", 1_774_738_800_000, 3, 1), "00:00 01:00 [+01:00 +02:00] 03:00 04:00");
    }

    #[test]
    fn offsets_are_written_with_their_sign() {
        assert_eq!([offset_text(37_800), offset_text(-12_600), offset_text(0)], ["+10:30", "\u{2212}03:30", "+00:00"]);
    }
}
