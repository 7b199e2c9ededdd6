//! Instants as the clocks of the night showed them.

use counterpane_model::zone::WallError;
use counterpane_model::{Fold, Instant, Night, Zone};

/// The clock of a night: local time of its zone.
///
/// A night whose zone is not in the database cannot be declared; should one come all the same, its
/// times are shown in UTC and say so, and nothing is guessed.
pub(crate) struct Clock(Option<Zone>);

impl Clock {
    /// Returns the clock of a night.
    pub(crate) fn of(night: &Night) -> Clock {
        Clock::named(&night.zone)
    }

    /// Returns the clock of a zone.
    pub(crate) fn named(zone: &str) -> Clock {
        Clock(Zone::named(zone).ok())
    }

    /// Returns the time of day, such as `23:10`; seconds only when there are any; the offset only
    /// when that time of day came twice, such as `01:45+10:30`.
    pub(crate) fn time(&self, at: Instant) -> String {
        self.told(at, false)
    }

    /// Returns date and time of day, such as `2026-04-04 23:10`.
    pub(crate) fn dated(&self, at: Instant) -> String {
        format!("{} {}", self.date(at), self.time(at))
    }

    /// Returns a stretch, such as `23:10 - 23:40`; with both offsets where the clock changes between
    /// its ends, such as `01:50+01:00 - 03:50+02:00`, which is one hour and not two.
    pub(crate) fn stretch(&self, from: Instant, until: Instant) -> String {
        let offsets = self.changes(from, until);
        format!("{} - {}", self.told(from, offsets), self.told(until, offsets))
    }

    /// Returns a stretch with its date, such as `2026-04-04 23:10 - 23:40`. The end has a date of its
    /// own when it lies before the start or a day or more after it. Offsets as in [`Clock::stretch`].
    pub(crate) fn dated_stretch(&self, from: Instant, until: Instant) -> String {
        let close = (0..86_400_000).contains(&until.ms_since(from));
        let offsets = self.changes(from, until);
        let end = self.told(until, offsets);
        let end = if close { end } else { format!("{} {end}", self.date(until)) };
        format!("{} {} - {end}", self.date(from), self.told(from, offsets))
    }

    /// Says whether the clock shows another offset at the end than at the start.
    fn changes(&self, from: Instant, until: Instant) -> bool {
        self.0.as_ref().is_some_and(|zone| zone.offset_at(from) != zone.offset_at(until))
    }

    /// Returns the time of day; with its offset where it is asked for or where the time came twice.
    fn told(&self, at: Instant, with_offset: bool) -> String {
        let Some(zone) = &self.0 else { return format!("{}Z", &at.utc_text()[11..16]) };
        let wall = zone.wall_of(at);
        let form = if wall.second() == 0 { "%H:%M" } else { "%H:%M:%S" };
        let time = wall.strftime(form).to_string();
        match zone.instant_of(wall, Fold::Error) {
            Err(WallError::Repeated { .. }) => time + &offset_words(zone.offset_at(at)),
            _ if with_offset => time + &offset_words(zone.offset_at(at)),
            _ => time,
        }
    }

    fn date(&self, at: Instant) -> String {
        match &self.0 {
            Some(zone) => zone.wall_of(at).date().to_string(),
            None => at.utc_text()[..10].to_owned(),
        }
    }
}

/// Returns an offset from UTC as people write it, such as `+10:30`; `seconds` east of Greenwich.
pub(crate) fn offset_words(seconds: i32) -> String {
    let sign = if seconds < 0 { '-' } else { '+' };
    let minutes = seconds.abs() / 60;
    format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::night;

    const HALF_PAST_ELEVEN_UTC: Instant = Instant(1_775_302_200_000); // 2026-04-04T11:30:00Z

    fn clock(zone: &str) -> Clock {
        Clock::of(&Night { zone: zone.into(), ..night() })
    }

    #[test]
    fn times_are_local_and_short() {
        let clock = clock("Australia/Lord_Howe");
        assert_eq!(clock.time(HALF_PAST_ELEVEN_UTC), "22:30");
        assert_eq!(clock.time(Instant(HALF_PAST_ELEVEN_UTC.0 + 30_000)), "22:30:30");
        let hour_later = Instant(HALF_PAST_ELEVEN_UTC.0 + 3_600_000);
        assert_eq!(clock.dated_stretch(HALF_PAST_ELEVEN_UTC, hour_later), "2026-04-04 22:30 - 23:30");
        assert_eq!(clock.dated_stretch(hour_later, HALF_PAST_ELEVEN_UTC), "2026-04-04 23:30 - 2026-04-04 22:30");
    }

    #[test]
    fn a_time_that_came_twice_says_which_one_is_meant() {
        let clock = clock("Australia/Lord_Howe");
        let first = Instant(1_775_313_900_000); // 2026-04-04T14:45:00Z
        let second = Instant(first.0 + 1_800_000);
        assert_eq!(clock.stretch(first, second), "01:45+11:00 - 01:45+10:30");
    }

    #[test]
    fn over_a_change_of_the_clock_both_ends_have_their_offset() {
        let clock = clock("Europe/Berlin");
        let before = Instant(1_774_745_400_000); // 2026-03-29T00:50:00Z
        let after = Instant(before.0 + 3_600_000);
        assert_eq!(clock.stretch(before, after), "01:50+01:00 - 03:50+02:00");
        assert_eq!(clock.dated_stretch(before, after), "2026-03-29 01:50+01:00 - 03:50+02:00");
        assert_eq!(clock.dated_stretch(after, before), "2026-03-29 03:50+02:00 - 2026-03-29 01:50+01:00");
        let in_winter = Instant(before.0 - 3_600_000);
        assert_eq!(clock.stretch(in_winter, before), "00:50 - 01:50");
    }

    #[test]
    fn without_a_known_zone_the_time_says_that_it_is_utc() {
        assert_eq!(clock("Nowhere").dated(HALF_PAST_ELEVEN_UTC), "2026-04-04 11:30Z");
    }

    #[test]
    fn offsets_are_written_in_hours_and_minutes() {
        assert_eq!(offset_words(37_800), "+10:30");
        assert_eq!(offset_words(-28_800), "-08:00");
    }
}
