//! Local time of the demo's nights: Australia/Lord_Howe, April 2026.
//!
//! The zone is chosen because its clocks go back by half an hour, and because they do so inside the
//! second night: at 02:00 on 2026-04-05 it became 01:30 again. The generator writes two offsets and
//! one instant down, so that it needs no database and cannot fail; a test holds them against
//! the database.

use counterpane_model::Instant;

/// IANA name of the zone.
pub(crate) const ZONE: &str = "Australia/Lord_Howe";
/// The instant at which the clocks go back by half an hour: 2026-04-04T15:00:00Z.
pub(crate) const CHANGE: Instant = Instant(1_775_314_800_000);
/// By how much they go back, milliseconds.
pub(crate) const BACK_MS: i64 = 30 * 60_000;

const BEFORE_SECONDS: i32 = 11 * 3600;
const AFTER_SECONDS: i32 = 10 * 3600 + 1800;

/// Label of each evening, and the instant at which its clocks showed 22:00.
pub(crate) const EVENINGS: [(&str, Instant); 3] = [
    ("2026-04-03", Instant(1_775_214_000_000)),
    ("2026-04-04", Instant(1_775_300_400_000)),
    ("2026-04-05", Instant(1_775_388_600_000)),
];

/// Returns local time with its offset, such as `2026-04-04T22:31:00+11:00`.
pub(crate) fn text(at: Instant) -> String {
    at.text_at(offset_seconds(at))
}

fn offset_seconds(at: Instant) -> i32 {
    if at < CHANGE { BEFORE_SECONDS } else { AFTER_SECONDS }
}

/// Returns local time as a day number of the 1900 system of spreadsheets, such as 46116.93 in the evening of 2026-04-04.
pub(crate) fn serial(at: Instant) -> f64 {
    // 1970-01-01 is day 25569.
    (at.0 + i64::from(offset_seconds(at)) * 1000 + 25_569 * 86_400_000) as f64 / 86_400_000.0
}

/// Returns the local date, such as `2026-04-04`.
pub(crate) fn date(at: Instant) -> String {
    text(at).chars().take(10).collect()
}

/// Returns the local time of day, such as `22:31:00`. On whole seconds only.
pub(crate) fn clock(at: Instant) -> String {
    text(at).chars().skip(11).take(8).collect()
}

/// Returns the local time of day in hours and minutes, such as `22:31`.
pub(crate) fn short_clock(at: Instant) -> String {
    text(at).chars().skip(11).take(5).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::{Fold, Zone};

    #[test]
    fn the_two_offsets_are_those_of_the_database() {
        let zone = Zone::named(ZONE).unwrap();
        for minutes in -48 * 60..48 * 60 {
            let at = Instant(CHANGE.0 + minutes * 60_000);
            assert_eq!(text(at), zone.text_of(at));
        }
        for (label, at) in EVENINGS {
            assert_eq!(zone.instant_of(format!("{label} 22:00").parse().unwrap(), Fold::Error), Ok(at));
        }
    }

    #[test]
    fn a_day_number_is_that_of_a_spreadsheet() {
        // 2026-04-04 is day 46116 in any spreadsheet; noon is half a day.
        let noon = Instant("2026-04-04T12:00:00+11:00".parse::<jiff::Timestamp>().unwrap().as_millisecond());
        assert_eq!(serial(noon), 46_116.5);
    }

    #[test]
    fn parts_of_a_time_are_cut_out_of_it() {
        assert_eq!(
            [date(CHANGE), clock(CHANGE), short_clock(Instant(CHANGE.0 - 60_000))],
            ["2026-04-05", "01:30:00", "01:59"]
        );
    }
}
