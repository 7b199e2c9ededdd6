//! How many minutes two readings of one source tell differently.

use super::pair::{Line, minutes_between};

/// Seconds of two readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Apart {
    /// Seconds of which at least one of the two says something.
    pub(crate) seconds: i64,
    /// How many of them the two tell differently; a second of which only one speaks is among them.
    pub(crate) differing: i64,
}

impl Apart {
    /// Returns minutes that are told differently, and of how many.
    pub(crate) fn minutes(self) -> (f64, f64) {
        (minutes_between(self.differing, 0), minutes_between(self.seconds, 0))
    }
}

/// The word that ends a recording and is no stage.
const END: &str = "end";

/// Returns the minutes that two readings tell differently, by the clock as it was typed: an hour that a clock went
/// through twice counts once.
pub(crate) fn apart(first: &[Line], second: &[Line]) -> Apart {
    let (first, second) = (stretches(first), stretches(second));
    let mut edges: Vec<i64> = first.iter().chain(&second).flat_map(|s| [s.0, s.1]).collect();
    edges.sort_unstable();
    edges.dedup();
    let (mut seconds, mut differing) = (0, 0);
    for (from, until) in edges.windows(2).filter_map(|w| Some((*w.first()?, *w.last()?))) {
        let says =
            |of: &[(i64, i64, &str)]| of.iter().rev().find(|s| s.0 <= from && until <= s.1).map(|s| s.2.to_owned());
        let (one, other) = (says(&first), says(&second));
        if one.is_some() || other.is_some() {
            seconds += until - from;
        }
        if one != other {
            differing += until - from;
        }
    }
    Apart { seconds, differing }
}

/// Stretches of a reading: from, until, stage. A row that says nothing of its end lasts to the next.
fn stretches(lines: &[Line]) -> Vec<(i64, i64, &str)> {
    let next = |i: usize| lines.get(i + 1).map(|l| l.begins);
    let all = lines.iter().enumerate().filter_map(|(i, l)| Some((l.begins, l.ends.or(next(i))?, l.stage.as_str())));
    all.filter(|(from, until, stage)| from < until && *stage != END).collect()
}

#[cfg(test)]
mod tests {
    use super::super::Form;
    use super::super::pair::tests::read;
    use super::*;

    fn check(form: Form, first: &str, second: &str) -> (f64, f64) {
        apart(&read(form, first), &read(form, second)).minutes()
    }

    #[test]
    fn minutes_between_two_times_of_a_change_differ() {
        let first = "22:10 wake, 22:30 light, 0:30 end";
        assert_eq!(check(Form::Changes, first, first), (0.0, 140.0));
        assert_eq!(check(Form::Changes, first, "22:10 wake, 22:45 light, 0:30 end"), (15.0, 140.0));
        assert_eq!(check(Form::Changes, first, "22:10 wake, 22:30 deep, 0:30 end"), (120.0, 140.0));
    }

    #[test]
    fn what_only_one_of_them_covers_differs_too() {
        assert_eq!(check(Form::Changes, "22:10 wake, 23:10 end", "22:00 wake, 23:00 end"), (20.0, 70.0));
        assert_eq!(check(Form::Epochs, "1-40 W, 41-80 N2", "1-42 W, 51-80 N2"), (1.0 + 4.0, 40.0));
        assert_eq!(check(Form::Epochs, "", ""), (0.0, 0.0));
    }
}
