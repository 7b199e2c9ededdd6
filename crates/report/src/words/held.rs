//! How often intervals held the truth where it is known, alike on the terminal and on the page.

use counterpane_compare::{CoverageRange, measured_coverage};

/// Below this share an interval promises more than it keeps: the reader is told why.
const KEPT: f64 = 0.9;

/// Returns how often intervals within one night held the truth in simulated nights.
#[must_use]
pub fn within_night() -> Option<String> {
    let of = measured_coverage("night", None, 1)?;
    Some(format!("In simulated nights whose truth is known, 95 % intervals made so held it in {} of 100.", times(of)))
}

/// Returns how often intervals over that many people held the truth in simulated studies.
#[must_use]
pub fn over_people(people: usize) -> Option<String> {
    let of = measured_coverage("participants", None, u32::try_from(people).ok()?)?;
    Some(format!(
        "In simulated studies of {} people, 95 % intervals made so held the truth in {} of 100.",
        of.n,
        times(of)
    ))
}

/// Returns how often the intervals of limits of agreement held the truth; `repeated` when people have several nights.
#[must_use]
pub fn limits(people: usize, repeated: bool) -> Option<String> {
    let kind = if repeated { "limits-repeated" } else { "limits-exact" };
    let of = measured_coverage(kind, None, u32::try_from(people).ok()?)?;
    let why = if of.least < KEPT { ", least where a few people differ far more than the others" } else { "" };
    Some(format!(
        "In simulated studies of {} people, the interval of a limit held the truth in {} of 100{why}.",
        of.n,
        times(of)
    ))
}

fn times(of: CoverageRange) -> String {
    let (least, largest) = (of.least * 100.0, of.largest * 100.0);
    format!("{least:.0} to {largest:.0}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_measured_is_said_in_times_of_a_hundred() {
        assert_eq!(
            within_night().unwrap(),
            "In simulated nights whose truth is known, 95 % intervals made so held it in 90 to 95 of 100."
        );
        assert!(over_people(3).unwrap().starts_with("In simulated studies of 4 people"));
    }

    #[test]
    fn limits_that_hold_less_than_they_say_come_with_the_reason() {
        assert!(
            limits(14, false)
                .unwrap()
                .ends_with("88 to 94 of 100, least where a few people differ far more than the others.")
        );
        assert!(limits(4, true).unwrap().ends_with("96 to 99 of 100."));
    }
}
