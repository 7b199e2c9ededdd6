//! Claims that no night can hold.

use super::faults::Fault;
use super::nights::Home;
use super::shapes::claims::Value;
use crate::kinds;
use counterpane_model::{Instant, Quantity};

/// Minutes of a day: nobody lies longer in one night, unless the night was declared so.
const DAY_MIN: f64 = 1440.0;

/// Milliseconds of a day.
const DAY_MS: i64 = 86_400_000;

/// Passes a value that a night can hold, and refuses any other.
pub(super) fn possible(quantity: Quantity, value: Value, home: &Home) -> Result<Value, Fault> {
    let wrong = match quantity {
        Quantity::Start | Quantity::End => time(value.0, home),
        Quantity::Efficiency => share(value.0, value.1),
        Quantity::Awakenings => count(value.0),
        Quantity::Minutes(_)
        | Quantity::TotalSleep
        | Quantity::TimeInBed
        | Quantity::SleepLatency
        | Quantity::WakeAfterOnset => minutes(value.0, home),
    };
    match wrong {
        None => Ok(value),
        Some(message) => Err(Fault::new(&kinds::claim_impossible::KIND, message, value.2)),
    }
}

fn minutes(value: f64, home: &Home) -> Option<String> {
    #[expect(clippy::cast_precision_loss, reason = "a window has far fewer than 2^52 milliseconds")]
    let window = home.window.1.ms_since(home.window.0) as f64 / 60_000.0;
    if value.is_nan() || value < 0.0 {
        return Some(format!("{value} min are less than nothing"));
    }
    (value > DAY_MIN.max(window)).then(|| format!("{value} min are more than a day, the most that a night can hold"))
}

fn share(value: f64, rounding: f64) -> Option<String> {
    let fits = (0.0..=100.0 + rounding).contains(&value);
    (!fits).then(|| format!("{value} % are not between 0 and 100 per cent"))
}

fn count(value: f64) -> Option<String> {
    let fits = value >= 0.0 && value.fract() == 0.0 && value <= DAY_MIN * 60.0;
    (!fits).then(|| format!("{value} is not a number of awakenings in one night"))
}

#[expect(clippy::cast_possible_truncation, reason = "a claimed time is a whole number of milliseconds of our years")]
fn time(value: f64, home: &Home) -> Option<String> {
    let (at, (from, until)) = (Instant(value as i64), home.window);
    let away = from.ms_since(at).max(at.ms_since(until));
    let text = |at| home.zone.text_of(at);
    (away > DAY_MS)
        .then(|| format!("{} is more than a day away from the night, {} to {}", text(at), text(from), text(until)))
}
