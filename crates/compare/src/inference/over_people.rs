//! One number over several people: the mean of their own means, and how far it may lie from that of people like them.

use super::interval::{Interval, NoInterval};
use crate::summary::people;
use counterpane_stats::{Figure, IntervalBy, Resampling, Scale, Undefined, participant_interval};

/// Below this number of people, or of nights of one person, their spread is hardly known: each value must be shown.
/// A convention of this program, after simulations of how often the intervals hold the truth.
pub const SHOW_EACH_BELOW: usize = 5;

/// The mean over participants of the mean over their nights, with its interval.
#[derive(Clone, Debug, PartialEq)]
pub struct OverPeople {
    /// The mean; each person weighs the same.
    pub mean: Figure,
    /// Each person who has a value, by code.
    pub each: Vec<Person>,
    /// Nights that have no value and were left out.
    pub skipped: usize,
    /// What is spread.
    pub across: Across,
    /// How far the mean may lie from that of people like these, or of nights like these; 95 %.
    pub interval: Interval,
    /// How the interval was made; `None` without one.
    pub by: Option<IntervalBy>,
}

/// One person's part in a mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    /// The participant's code.
    pub code: String,
    /// Number of nights that have a value.
    pub nights: usize,
    /// Mean over these nights.
    pub mean: f64,
}

/// What the spread of an interval is taken over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Across {
    /// The means of people: it speaks of people like these.
    People,
    /// The nights of the only person: it speaks of this person, nights taken as independent.
    Nights,
}

impl OverPeople {
    /// Returns how many values the spread is taken over: people, or nights of the only one.
    #[must_use]
    pub fn n(&self) -> usize {
        match self.across {
            Across::People => self.each.len(),
            Across::Nights => self.nights(),
        }
    }

    /// Returns how many nights have a value.
    #[must_use]
    pub fn nights(&self) -> usize {
        self.each.iter().map(|person| person.nights).sum()
    }

    /// Says whether so few values stand behind an interval that each of them must be shown.
    #[must_use]
    pub fn needs_each(&self) -> bool {
        self.interval.is_ok() && self.n() < SHOW_EACH_BELOW
    }
}

/// Returns the mean over participants of the mean over their nights; `nights` has one value for each night, with its
/// participant's code.
///
/// Below 20 people the interval is Student's on their means, from 20 on people are drawn anew; see
/// [`participant_interval`]. The nights of one person give an interval for that person only.
#[must_use]
pub fn over_people(nights: &[(&str, Figure)], scale: Scale, asked: Resampling) -> OverPeople {
    let of_people = people(nights);
    let person = |(code, (sum, n)): (&&str, &(f64, usize))| Person {
        code: (*code).to_owned(),
        nights: *n,
        mean: sum / *n as f64,
    };
    let each: Vec<Person> = of_people.iter().map(person).collect();
    let known: Vec<f64> = nights.iter().filter_map(|(_, figure)| figure.ok()).collect();
    let means: Vec<f64> = each.iter().map(|p| p.mean).collect();
    let (across, values) = if each.len() == 1 { (Across::Nights, &known) } else { (Across::People, &means) };
    let spread = match values.as_slice() {
        [] => Err(NoInterval::Undefined(reason(nights))),
        [_] => Err(NoInterval::OneNight),
        [first, rest @ ..] if rest.iter().all(|v| v == first) => Err(NoInterval::AllAlike(values.len())),
        values => participant_interval(values, scale, asked).map_err(|why| match why {
            Undefined::ZeroVariance => NoInterval::AtTheEnd,
            why => NoInterval::Undefined(why),
        }),
    };
    OverPeople {
        mean: if means.is_empty() { Err(reason(nights)) } else { Ok(means.iter().sum::<f64>() / means.len() as f64) },
        each,
        skipped: nights.len() - known.len(),
        across,
        interval: spread.map(|of| of.interval.into()),
        by: spread.ok().map(|of| of.by),
    }
}

/// Why there is no mean: the reason of the first night.
fn reason(nights: &[(&str, Figure)]) -> Undefined {
    nights.iter().find_map(|(_, figure)| figure.err()).unwrap_or(Undefined::NoPairs)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ASKED: Resampling = Resampling { replicates: 500, seed: 1, threads: 1 };

    fn of(nights: &[(&str, Figure)]) -> OverPeople {
        over_people(nights, Scale::Share, ASKED)
    }

    #[test]
    fn each_person_weighs_the_same_and_their_means_are_spread_by_student() {
        // Means 0.6, 0.7 and 0.8: mean 0.7, s = 0.1, t with 2 degrees of freedom 4.3027: 0.7 -+ 4.3027 * 0.1 / sqrt(3).
        let found = of(&[
            ("P01", Ok(0.5)),
            ("P01", Ok(0.7)),
            ("P02", Ok(0.7)),
            ("P03", Ok(0.8)),
            ("P03", Err(Undefined::NoPairs)),
        ]);
        let limits = found.interval.unwrap();
        assert!((found.mean.unwrap() - 0.7).abs() < 1e-12);
        assert!((limits.low - 0.45159).abs() < 5e-6 && (limits.high - 0.94841).abs() < 5e-6, "{limits:?}");
        assert_eq!((found.across, found.n(), found.nights(), found.skipped), (Across::People, 3, 4, 1));
        assert!(found.needs_each());
        assert_eq!(found.by, Some(IntervalBy::T));
    }

    #[test]
    fn the_nights_of_one_person_speak_of_that_person() {
        let found = of(&[("P01", Ok(0.5)), ("P01", Ok(0.7))]);
        assert_eq!((found.across, found.n()), (Across::Nights, 2));
        assert!(found.interval.is_ok());
        assert_eq!(of(&[("P01", Ok(0.5))]).interval, Err(NoInterval::OneNight));
    }

    #[test]
    fn without_a_spread_there_is_no_interval() {
        assert_eq!(of(&[("P01", Ok(1.0)), ("P02", Ok(1.0))]).interval, Err(NoInterval::AllAlike(2)));
        let none = of(&[("P01", Err(Undefined::RefClassAbsent))]);
        assert_eq!(
            (none.mean, none.interval),
            (Err(Undefined::RefClassAbsent), Err(NoInterval::Undefined(Undefined::RefClassAbsent)))
        );
        assert_eq!(of(&[]).mean, Err(Undefined::NoPairs));
    }

    #[test]
    fn from_twenty_people_on_they_are_drawn_anew() {
        let codes: Vec<String> = (0..20).map(|i| format!("P{i:02}")).collect();
        let nights: Vec<(&str, Figure)> =
            codes.iter().zip(0_u32..).map(|(c, i)| (c.as_str(), Ok(0.5 + f64::from(i) / 100.0))).collect();
        assert_eq!(of(&nights).by, Some(IntervalBy::ClusterBootstrap));
        assert_eq!(of(&nights[..19]).by, Some(IntervalBy::T));
    }
}
