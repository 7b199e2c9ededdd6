//! Intervals in words, alike on the terminal and on the page.

use super::{count, share, signed, two};
use counterpane_compare::{Across, Interval, IntervalBy, Limits, OverPeople};

/// What an interval of one night says, and what it does not.
pub const ONE_NIGHT: &str =
    "This says how well this night pins the number down. It says nothing about other nights or other people.";

/// Returns the ends of an interval of a share: `70-84 %`, `>99-100 %`.
#[must_use]
pub fn between_shares(limits: Limits) -> String {
    let short = |value: f64| share(value).replace("under ", "<").replace("over ", ">");
    let (low, high) = (short(limits.low), short(limits.high));
    // A hyphen before a sign would read as an arrow.
    let between = if high.starts_with(['<', '>']) { " to " } else { "-" };
    format!("{}{between}{high}", low.trim_end_matches(" %"))
}

/// Returns the ends of an interval of a coefficient: `0.51 to 0.66`.
#[must_use]
pub fn between_two(limits: Limits) -> String {
    format!("{} to {}", two(limits.low), two(limits.high))
}

/// Returns the ends of an interval of minutes: `\u{2212}3.5 to +12 min`.
#[must_use]
pub fn between_minutes(limits: Limits) -> String {
    format!("{} to {}", signed(limits.low).trim_end_matches(" min"), signed(limits.high))
}

/// Returns what an interval over people is spread over: `2 participants`, `3 nights of this one person`.
#[must_use]
pub fn over(of: &OverPeople) -> String {
    match of.across {
        Across::People => count(of.n(), "participant"),
        Across::Nights => format!("{} of this one person", count(of.n(), "night")),
    }
}

/// Returns how an interval over people was made; nothing without one.
#[must_use]
pub fn how(of: &OverPeople) -> String {
    let by = match of.by {
        None => return String::new(),
        Some(IntervalBy::T) => "Student's t",
        Some(IntervalBy::TOnScale) => "Student's t on a scale without ends",
        Some(IntervalBy::ClusterBootstrap) => "participants drawn anew",
    };
    match of.across {
        Across::People => by.to_owned(),
        Across::Nights => format!("{by}, {}", over(of)),
    }
}

/// Returns the warning of an interval that rests on few people or nights; nothing where there are enough.
#[must_use]
pub fn warning(of: &OverPeople) -> Option<String> {
    let each = match of.across {
        Across::People => "person",
        Across::Nights => "night",
    };
    let few = format!(
        "With only {} the spread is hardly known, and an interval no more than a hint: look at each {each}.",
        over(of)
    );
    of.needs_each().then_some(few)
}

/// Returns the value of each person: `P01 69 %, P02 72 %`.
#[must_use]
pub fn each(of: &OverPeople, wording: fn(f64) -> String) -> String {
    of.each.iter().map(|p| format!("{} {}", p.code, wording(p.mean))).collect::<Vec<_>>().join(", ")
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
        check(0.0, 0.002, "0 to <1 %");
        check(0.997, 1.0, ">99-100 %");
        assert_eq!(between_minutes(Limits { low: -3.5, high: 12.0 }), "\u{2212}3.5 to +12 min");
        assert_eq!(between_two(Limits { low: -0.051, high: 0.1 }), "\u{2212}0.05 to 0.10");
    }
}
