//! What rows give for a claim, and how far apart the two may be.

use counterpane_model::grid::Stretch;
use counterpane_model::{Claim, EPOCH_MS, Quantity, Stage};

const MINUTE_MS: i64 = 60_000;
/// Binary fractions such as 0.1 min must not make a difference of their own.
const TINY: f64 = 1e-9;
/// Standard deviations of what the reading of the changes can move a total. Our own choice, no source: so that of
/// readings without a slip at most 1 in 100 are told, with all their totals together (docs/sheets.md has the measure).
const DEVIATIONS: f64 = 2.8;

/// How the times of rows were known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Times {
    /// A program wrote them, in epochs.
    Written,
    /// A person typed them off a screen, as finely as this, in milliseconds either way.
    Typed(i64),
}

impl Times {
    /// Says whether a claim and what the rows give are too far apart to be the same.
    pub(crate) fn differ(self, claim: &Claim, rows: f64, stretches: &[Stretch]) -> bool {
        let apart = (claim.value - rows).abs();
        let (rounding, unit_ms) = (claim.rounding.abs(), unit_ms(claim.quantity));
        match self {
            Times::Written => apart > EPOCH_MS as f64 / unit_ms + rounding + TINY,
            // Rounding moves a value by less than its step; where it was cut off, by nearly as much.
            Times::Typed(precision) => {
                let read = spread(claim.quantity, stretches, precision) / unit_ms;
                let slack = if rounding > 0.0 && read < TINY { -TINY } else { TINY };
                apart > read + rounding + slack
            }
        }
    }
}

/// Returns how many milliseconds the unit of a claim has.
fn unit_ms(quantity: Quantity) -> f64 {
    if quantity.unit() == "ms" { 1.0 } else { MINUTE_MS as f64 }
}

/// Returns by how many milliseconds reading changes within their precision can move a total, but for very few readings.
///
/// Each change that bounds the total moves it by itself. It is never more than all of them at their worst, and with several
/// of them hardly ever more than a few standard deviations of their sum.
fn spread(quantity: Quantity, stretches: &[Stretch], precision_ms: i64) -> f64 {
    let changes = gradient(quantity, stretches).iter().filter(|g| **g != 0.0).count() as f64;
    let worst = changes * precision_ms as f64;
    worst.min(DEVIATIONS * (changes * variance(stretches, precision_ms)).sqrt())
}

/// Returns the variance of the error of one change that was read off, in square milliseconds.
///
/// Any time within the precision is as likely as another. Where all times were typed in whole minutes, the true time is
/// any within the precision of a whole minute, which is p (p + 1) / 3 for whole p, in minutes; else p² / 3.
pub(crate) fn variance(stretches: &[Stretch], precision_ms: i64) -> f64 {
    let whole = |s: &Stretch| s.start.0 % MINUTE_MS == 0 && s.end.0 % MINUTE_MS == 0;
    let step = if stretches.iter().all(whole) { MINUTE_MS } else { 0 };
    precision_ms as f64 * (precision_ms + step) as f64 / 3.0
}

/// Returns by how much a quantity grows when each edge moves later, edge by edge: 1, 0 or -1 for the start of each
/// stretch, and then the end of the last one.
pub(crate) fn gradient(quantity: Quantity, stretches: &[Stretch]) -> Vec<f64> {
    let within = |s: Option<&Stretch>| {
        let stage = match quantity {
            Quantity::Minutes(stage) => stage,
            Quantity::TotalSleep => Stage::Asleep,
            Quantity::TimeInBed => return if s.is_some() { 1.0 } else { 0.0 },
            _ => return 0.0,
        };
        let said = s.and_then(|s| s.cell.stage());
        if said.is_some_and(|said| parts(said) & parts(stage) == parts(said)) { 1.0 } else { 0.0 }
    };
    let n = stretches.len();
    let edge = |i: usize| match quantity {
        Quantity::Start => f64::from(u8::from(i == 0)),
        Quantity::End => f64::from(u8::from(i == n)),
        _ => within(i.checked_sub(1).and_then(|i| stretches.get(i))) - within(stretches.get(i)),
    };
    (0..=n).map(edge).collect()
}

/// Returns what the rows give for a quantity, in its unit, or `None` when they cannot say: rows
/// coarser than the claim, no rows, and quantities that sources define in several ways.
pub(crate) fn rows(stretches: &[Stretch], quantity: Quantity) -> Option<f64> {
    let (from, until) = (stretches.first()?.start, stretches.last()?.end);
    match quantity {
        Quantity::Minutes(stage) => minutes(stretches, stage),
        Quantity::TotalSleep => minutes(stretches, Stage::Asleep),
        Quantity::TimeInBed => Some(until.ms_since(from) as f64 / MINUTE_MS as f64),
        Quantity::Start => Some(from.0 as f64),
        Quantity::End => Some(until.0 as f64),
        Quantity::SleepLatency | Quantity::WakeAfterOnset | Quantity::Awakenings | Quantity::Efficiency => None,
    }
}

/// Returns the minutes of the stages that are part of `stage`, or `None` when a stretch is too coarse
/// to say whether it is part of it, as `NREM` is for a claim about `N3`.
fn minutes(stretches: &[Stretch], stage: Stage) -> Option<f64> {
    let mut ms = 0;
    for stretch in stretches {
        let Some(said) = stretch.cell.stage() else { continue };
        match parts(said) & parts(stage) {
            0 => {}
            common if common == parts(said) => ms += stretch.end.ms_since(stretch.start),
            _ => return None,
        }
    }
    Some(ms as f64 / MINUTE_MS as f64)
}

/// Returns the scored stages that a stage may stand for, one bit each.
fn parts(stage: Stage) -> u8 {
    match stage {
        Stage::W => 1,
        Stage::N1 => 2,
        Stage::N2 => 4,
        Stage::N3 => 8,
        Stage::R => 16,
        Stage::Light => 2 | 4,
        Stage::Nrem => 2 | 4 | 8,
        Stage::Asleep => 2 | 4 | 8 | 16,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{claim, spans};
    use counterpane_model::grid::flatten;

    const ROWS: &str = "22:00-22:20W 22:20-23:00Light 23:00-23:30N3 23:30-23:50R";

    fn differ(times: Times, claimed: f64) -> bool {
        let stretches = flatten(&spans(ROWS));
        let claim = Claim { rounding: 1.0, ..claim(Quantity::Minutes(Stage::Light), claimed) };
        times.differ(&claim, rows(&stretches, claim.quantity).unwrap(), &stretches)
    }

    #[test]
    fn printed_times_differ_by_less_than_the_step_of_rounding() {
        assert_eq!([40.0, 40.9, 41.0].map(|v| differ(Times::Typed(0), v)), [false, false, true]);
        assert_eq!([41.5, 41.6].map(|v| differ(Times::Written, v)), [false, true]);
    }

    #[test]
    fn a_coarse_reading_may_be_further_off() {
        // Two changes, 2 minutes at their worst; in whole minutes the deviations would be 3.2 minutes.
        assert_eq!([43.0, 43.1].map(|v| differ(Times::Typed(60_000), v)), [false, true]);
        // Two changes, 10 minutes at their worst; 2.8 deviations of 2 x 5 x 6 / 3 are 12.5 minutes.
        assert_eq!([51.0, 51.1].map(|v| differ(Times::Typed(300_000), v)), [false, true]);
    }

    #[test]
    fn an_edge_counts_where_the_total_ends_at_it() {
        let of = |quantity| gradient(quantity, &flatten(&spans(ROWS)));
        assert_eq!(of(Quantity::Minutes(Stage::Light)), [0.0, -1.0, 1.0, 0.0, 0.0]);
        assert_eq!(of(Quantity::TotalSleep), [0.0, -1.0, 0.0, 0.0, 1.0]);
        assert_eq!(of(Quantity::TimeInBed), [-1.0, 0.0, 0.0, 0.0, 1.0]);
        assert_eq!(of(Quantity::Start), [1.0, 0.0, 0.0, 0.0, 0.0]);
    }

    #[test]
    fn whole_minutes_are_a_little_coarser_than_the_precision_says() {
        let minutes = |text: &str, p: i64| variance(&flatten(&spans(text)), p * MINUTE_MS) / 3.6e9;
        assert!((minutes("22:00-22:20W", 1) - 2.0 / 3.0).abs() < 1e-12);
        assert!((minutes("22:00-22:20:30W", 1) - 1.0 / 3.0).abs() < 1e-12);
    }
}
