//! What a reviewer decided, in the words that page and terminal share.

use super::{fine_share, two};
use crate::draw::text::clean;
use counterpane_compare::comparison::Clocked;
use counterpane_compare::{Agreement, DeviceNight};
use counterpane_model::{ClockPoint, ClockSetting};

/// Returns n, agreement and kappa in one phrase: `n 948, agree 87.8 %, kappa 0.81`.
#[must_use]
pub fn figures(agreement: Option<&Agreement>) -> String {
    let Some(a) = agreement else { return "not compared".to_owned() };
    let accuracy = a.accuracy.map_or_else(|why| why.words().to_owned(), fine_share);
    let kappa = a.kappa.map_or_else(|why| why.words().to_owned(), two);
    format!("n {}, agree {accuracy}, kappa {kappa}", a.n)
}

/// Returns what is said of a device on a corrected clock, as the sentence after its name, or `None` where its clock is
/// its own: what is set, who said why, and the result on either clock.
#[must_use]
pub fn clock(device: &DeviceNight) -> Option<String> {
    let Clocked { setting, as_exported } = device.clock.as_ref()?;
    Some(format!(
        "its clock is corrected by {} (decision {}: {}): {}; on its own clock: {}",
        shifts(setting),
        setting.decision,
        clean(&setting.reason),
        figures(device.agreement.as_ref()),
        figures(as_exported.agreement.as_ref())
    ))
}

/// Returns what is said of a reference on a corrected clock.
#[must_use]
pub fn reference_clock(setting: &ClockSetting) -> String {
    let (shifts, reason) = (shifts(setting), clean(&setting.reason));
    format!("the reference's clock is corrected by {shifts} (decision {}: {reason})", setting.decision)
}

/// Returns `-3:00 min`, or the first and last of several shifts as `-3:00 to -2:40 min`.
#[must_use]
pub fn shifts(setting: &ClockSetting) -> String {
    let one = |p: &ClockPoint| {
        let seconds = p.shift_ms.unsigned_abs() / 1000;
        format!("{}{}:{:02}", if p.shift_ms < 0 { '-' } else { '+' }, seconds / 60, seconds % 60)
    };
    match setting.points.as_slice() {
        [first, .., last] => format!("{} to {} min", one(first), one(last)),
        [only] => format!("{} min", one(only)),
        [] => "nothing".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::Instant;

    fn check(shifts_ms: &[i64], said: &str) {
        let point = |shift_ms: &i64| ClockPoint { at: Instant(0), shift_ms: *shift_ms };
        let setting = ClockSetting {
            decision: 7,
            source: "patch-a-1".into(),
            points: shifts_ms.iter().map(point).collect(),
            reason: "seen\u{202e}".into(),
            by: "me".into(),
            decided_at: "2026-04-06T08:00:00Z".into(),
        };
        assert_eq!(shifts(&setting), said);
        let whole = format!("the reference's clock is corrected by {said} (decision 7: seen\u{fffd})");
        assert_eq!(reference_clock(&setting), whole);
    }

    #[test]
    fn a_shift_is_told_in_minutes_and_seconds_with_its_sign() {
        check(&[180_000], "+3:00 min");
        check(&[-180_000, -170_000, -160_000], "-3:00 to -2:40 min");
        check(&[], "nothing");
    }
}
