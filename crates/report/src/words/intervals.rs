//! Intervals in words, alike on the terminal and on the page.

use super::{share, two};
use counterpane_compare::{Interval, Limits};

/// What an interval of one night says, and what it does not.
pub const ONE_NIGHT: &str =
    "This says how well this night pins the number down. It says nothing about other nights or other people.";

/// Returns the ends of an interval of a share: `70-84 %`, `>99-100 %`.
#[must_use]
pub fn between_shares(limits: Limits) -> String {
    let short = |value: f64| share(value).replace("under ", "<").replace("over ", ">");
    let (low, high) = (short(limits.low), short(limits.high));
    format!("{}-{high}", low.trim_end_matches(" %"))
}

/// Returns the ends of an interval of a coefficient: `0.51 to 0.66`.
#[must_use]
pub fn between_two(limits: Limits) -> String {
    format!("{} to {}", two(limits.low), two(limits.high))
}

/// Returns an interval by a wording of its ends, or why there is none.
#[must_use]
pub fn interval(interval: &Interval, wording: fn(Limits) -> String) -> String {
    match interval {
        Ok(limits) => wording(*limits),
        Err(why) => why.words(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_never_hide_what_is_nearly_nothing_or_nearly_all() {
        let check = |low, high, said: &str| assert_eq!(between_shares(Limits { low, high }), said);
        check(0.704, 0.836, "70-84 %");
        check(0.0, 0.002, "0-<1 %");
        check(0.997, 1.0, ">99-100 %");
        assert_eq!(between_two(Limits { low: -0.051, high: 0.1 }), "\u{2212}0.05 to 0.10");
    }
}
