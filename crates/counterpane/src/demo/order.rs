//! Sheets that show only the time of day, in the night in which half an hour came twice.

use super::devices::Bout;
use super::lord_howe::{BACK_MS, CHANGE};
use counterpane_model::Instant;

/// Splits and moves bouts so that the order of rows alone says which half hour each start is in.
///
/// Whoever reads such a sheet in order takes for each row the first instant that shows its time of
/// day and is not before the row above. Where that would be the wrong one, the bout above is shown
/// as two rows, the second of which begins one step before the clock goes back; a start at the very
/// last step of the repeated half hour moves to its end. `step_ms` is the step of the sheet.
pub(crate) fn settled(bouts: Vec<Bout>, step_ms: i64) -> Vec<Bout> {
    let mark = Instant(CHANGE.0 - step_ms);
    let end_of_repeat = Instant(CHANGE.0 + BACK_MS);
    let mut out: Vec<Bout> = Vec::with_capacity(bouts.len() + 1);
    for bout in bouts {
        let Some(above) = out.last_mut().filter(|above| is_unsettled(above.start, bout.start)) else {
            out.push(bout);
            continue;
        };
        let start = if is_unsettled(mark, bout.start) { end_of_repeat.min(bout.end) } else { bout.start };
        let second = Bout { start: mark.max(above.start), end: start, ..*above };
        if mark > above.start && start < end_of_repeat {
            above.end = mark;
            out.push(second);
        } else {
            above.end = start;
        }
        if start < bout.end {
            out.push(Bout { start, ..bout });
        }
    }
    out
}

/// Says whether a start in the second half hour would be read as one in the first, after the row above.
fn is_unsettled(above: Instant, start: Instant) -> bool {
    let repeated = CHANGE.0..CHANGE.0 + BACK_MS;
    repeated.contains(&start.0) && start.0 - BACK_MS >= above.0
}

#[cfg(test)]
mod tests {
    use super::super::lord_howe;
    use super::*;
    use counterpane_model::{Fold, Stage, Zone};

    /// Bouts whose starts lie these minutes after the change; the last one ends at minute 90.
    fn check(starts: &[i64]) -> String {
        let at = |minute: i64| Instant(CHANGE.0 + minute * 60_000);
        let ends = starts.iter().skip(1).copied().chain([90]);
        let bouts = starts.iter().zip(ends).map(|(s, e)| Bout { start: at(*s), end: at(e), class: Stage::W });
        let rows = settled(bouts.collect(), 60_000);
        let zone = Zone::named(lord_howe::ZONE).unwrap();
        let mut above = at(starts[0]);
        for row in &rows {
            let wall = zone.wall_of(row.start);
            assert_eq!(zone.instant_of(wall, Fold::After(above)), Ok(row.start), "order settles {wall}");
            above = row.start;
        }
        assert!(rows.windows(2).all(|w| w[0].end == w[1].start && w[0].start < w[0].end));
        assert_eq!(rows.last().map(|r| r.end), Some(at(90)));
        rows.iter().map(|r| lord_howe::short_clock(r.start)).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn rows_that_order_settles_stay_as_they_are() {
        assert_eq!(check(&[-90, -10, 5, 12, 40]), "00:30 01:50 01:35 01:42 02:10");
    }

    #[test]
    fn a_row_is_shown_twice_where_order_would_mislead() {
        assert_eq!(check(&[-90, 5, 40]), "00:30 01:59 01:35 02:10");
        assert_eq!(check(&[-90, -28, 10]), "00:30 01:32 01:59 01:40");
    }

    #[test]
    fn a_start_in_the_last_minute_moves_to_the_end_of_the_half_hour() {
        assert_eq!(check(&[-90, 29, 40]), "00:30 02:00 02:10");
        assert_eq!(check(&[-90, -1, 29, 40]), "00:30 01:59 02:00 02:10");
        assert_eq!(check(&[-90, 29, 30]), "00:30 02:00");
    }
}
