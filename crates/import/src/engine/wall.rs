//! Wall times and times of day, settled by night, order and policy.

use super::faults::Fault;
use super::nights::Home;
use crate::grammar::FoldRule;
use crate::kinds;
use counterpane_model::zone::WallError;
use counterpane_model::{Fold, Instant, Locator, Wall, Zone};
use jiff::civil::Time;

/// What the rows above say about order.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Above {
    /// Where the row above begins.
    pub(super) start: Option<Instant>,
    /// From when on this time may be; for an end, the start of the same row.
    pub(super) from: Option<Instant>,
}

/// An instant, and whether a policy had to choose between two.
pub(super) struct Settled {
    pub(super) at: Instant,
    pub(super) chosen: bool,
}

/// Returns the instant of a wall time.
pub(super) fn of_wall(zone: &Zone, wall: Wall, rule: FoldRule, above: Above) -> Result<Settled, WallError> {
    let fold = match rule {
        FoldRule::First => Fold::First,
        FoldRule::Second => Fold::Second,
        FoldRule::Error => Fold::Error,
        // Without a row above, order says nothing.
        FoldRule::Order => above.from.map_or(Fold::Error, Fold::After),
    };
    let at = zone.instant_of(wall, fold)?;
    let chosen = fold != Fold::Error && zone.instant_of(wall, Fold::Error).is_err();
    Ok(Settled { at, chosen })
}

/// Returns the fault of a wall time that is not one instant.
pub(super) fn fault(error: &WallError, locator: Locator, zone: &Zone) -> Fault {
    match error {
        WallError::Repeated { wall, .. } => {
            let near = zone.instant_of(*wall, Fold::First).ok();
            Fault { near, ..Fault::new(&kinds::time_repeated::KIND, error.to_string(), locator) }
        }
        WallError::Skipped { wall, .. } => {
            let hour_before = wall.checked_sub(jiff::Span::new().hours(1)).ok();
            let near = hour_before.and_then(|w| zone.instant_of(w, Fold::First).ok());
            Fault { near, ..Fault::new(&kinds::time_skipped::KIND, error.to_string(), locator) }
        }
        WallError::OutOfRange { .. } => Fault::new(&kinds::time_unreadable::KIND, error.to_string(), locator),
    }
}

/// Returns the instant of a time of day in a night.
///
/// `ordered` says that rows stand in the order of time: then it is the first such time that is not before
/// the row above. Otherwise exactly one must lie in the night.
pub(super) fn of_clock(
    home: &Home,
    zone: &Zone,
    time: Time,
    rule: FoldRule,
    above: Above,
    ordered: bool,
    locator: &Locator,
) -> Result<Settled, Fault> {
    let near = above.start.unwrap_or(home.window.0);
    let mut fits = Vec::new();
    for settled in candidates(home, zone, time, rule, above) {
        fits.push(settled.map_err(|e| Fault { near: Some(near), ..fault(&e, locator.clone(), zone) })?);
    }
    let later = |from: Option<Instant>| fits.iter().position(|s| from.is_none_or(|from| s.at >= from));
    let pick = match fits.len() {
        0 => return Err(outside(home, zone, time, locator).near(near)),
        _ if ordered => later(above.from).or_else(|| later(above.start)),
        1 => Some(0),
        _ => return Err(twice(home, time, locator).near(near)),
    };
    match pick {
        Some(index) => Ok(fits.swap_remove(index)),
        None => Err(backwards(zone, time, above, locator).near(near)),
    }
}

/// Returns each instant at which the clock shows `time` in the night, or why it is not one instant.
fn candidates(home: &Home, zone: &Zone, time: Time, rule: FoldRule, above: Above) -> Vec<Result<Settled, WallError>> {
    let (from, until) = home.window;
    let (first, last) = (zone.wall_of(from), zone.wall_of(until));
    let days = first.date().series(jiff::Span::new().days(1)).take_while(|day| *day <= last.date());
    days.filter_map(|day| {
        let wall = day.to_datetime(time);
        match of_wall(zone, wall, rule, above) {
            Ok(settled) => (from..=until).contains(&settled.at).then_some(Ok(settled)),
            // A time that is not one instant matters only if it lies in the night.
            Err(e) => (first..=last).contains(&wall).then_some(Err(e)),
        }
    })
    .collect()
}

fn outside(home: &Home, zone: &Zone, time: Time, locator: &Locator) -> Fault {
    let (from, until) = (zone.text_of(home.window.0), zone.text_of(home.window.1));
    let message = format!("`{time}` does not fall into the night {}, which runs from {from} to {until}", home.label());
    Fault::new(&kinds::clock_outside_night::KIND, message, locator.clone())
}

fn twice(home: &Home, time: Time, locator: &Locator) -> Fault {
    let message = format!("`{time}` falls into the night {} more than once", home.label());
    Fault::new(&kinds::time_unreadable::KIND, message, locator.clone()).help(
        "set `order` to `file` in the definition if rows stand in the order of time, or narrow the night's window",
    )
}

fn backwards(zone: &Zone, time: Time, above: Above, locator: &Locator) -> Fault {
    let above = above.start.map(|at| format!(", which begins at {}", zone.wall_of(at).time())).unwrap_or_default();
    Fault::new(&kinds::order_backwards::KIND, format!("`{time}` is before the row above{above}"), locator.clone())
}
