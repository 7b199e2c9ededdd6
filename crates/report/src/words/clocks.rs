//! What a shift of a clock would change: what the terminal and the page say alike.

use super::{count, fine_share};
use counterpane_compare::{Chance, ClockDevice, Drift, Figure, Shifted};
use counterpane_model::EPOCH_MS;

/// What stands above the numbers.
pub const MEANING: &str = "Agreement as the clocks stand is the one that counts. Beside it stands what it would be with the offset that the \
    other nights of the same unit suggest, and with the best of all shifts up to 5 min: the last is optimistic and exploratory, \
    for the best of many shifts cannot agree less than none. All three are counted over the same epochs. No shifted number enters any other \
    table, and no clock is corrected unless you say so.";

/// Returns an offset in seconds, `+90 s` for a device that is late.
#[must_use]
pub fn offset(epochs: i64) -> String {
    format!("{:+} s", epochs * EPOCH_MS / 1000).replace("+0 s", "0 s")
}

/// Returns two offsets with one unit: `-30 to +60 s`.
#[must_use]
pub fn between((low, high): (i64, i64)) -> String {
    if low == high {
        return offset(low);
    }
    format!("{} to {}", offset(low).trim_end_matches(" s"), offset(high))
}

/// Returns an agreement at a shift: `88.1 % at +90 s`.
#[must_use]
pub fn shifted(of: &Shifted) -> String {
    format!("{} at {}", share(of.accuracy), offset(of.epochs))
}

/// Returns what the best shift gains, and what it gains by chance.
#[must_use]
pub fn chance(of: &Chance) -> String {
    let points = |v: f64| format!("{:.1}", 100.0 * v + 0.0);
    format!(
        "gains {} points; beside {} that do not belong to it {} on average and {} at most",
        points(of.gain),
        count(of.nights, "night"),
        points(of.mean),
        points(of.most)
    )
}

/// Says that a clock drifts.
#[must_use]
pub fn drift(of: &Drift) -> String {
    format!(
        "drifts by {} over the night (95 % interval {}): samples were dropped or resampled wrongly; nothing is corrected",
        offset(of.epochs),
        between(of.interval)
    )
}

/// Returns the three means of a device, and the range of its offsets.
#[must_use]
pub fn cells(of: &ClockDevice) -> [String; 4] {
    let offsets = of.offsets.map_or_else(|| "none found".to_owned(), between);
    [share(of.unshifted), share(of.elsewhere), share(of.in_sample), offsets]
}

fn share(figure: Figure) -> String {
    figure.map_or_else(|_| "-".to_owned(), fine_share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_offset_has_its_sign() {
        assert_eq!([offset(3), offset(0), offset(-1)], ["+90 s", "0 s", "-30 s"]);
        assert_eq!([between((-1, 2)), between((3, 3)), between((0, 2))], ["-30 to +60 s", "+90 s", "0 to +60 s"]);
    }
}
