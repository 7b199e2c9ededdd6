//! Device against device in words, alike on the terminal and on the page.

use super::planned::measure;
use super::{capital, listed, minutes, signed, two};
use counterpane_compare::{DevicePair, DevicePairs, LEVEL, Limits, PEOPLE_WITHOUT_TEST, SHOW_EACH_BELOW};
use counterpane_model::PlanMeasure;
use std::collections::BTreeMap;

/// What shares of resampled studies are, and what they are not.
pub const SHARES: &str = "A share of resampled studies is how often a device comes first when people are drawn anew: not its \
    probability of being the best, and unstable where devices are close (Hall and Miller 2009, Annals of Statistics 37, \
    3929-3959). The ranks left open are the safer claim.";

/// Returns what the differences are, and of what measure.
#[must_use]
pub fn about(pairs: &DevicePairs) -> String {
    let why =
        if pairs.named { "the measure of the protocol" } else { "no protocol names another measure: exploratory" };
    let size = if pairs.measure.in_minutes() { " Of too many and too few minutes the size counts." } else { "" };
    format!(
        "{} ({why}) on the same nights, in the epochs that both devices and the reference scored: first minus second, mean \
         over people, 95 % interval. p: sign-flip test of the people's differences (Fisher 1935), and adjusted for all {} \
         (Holm 1979).{size}",
        capital(&measure(pairs.measure)),
        if pairs.family() == 1 { "pairs, here one".to_owned() } else { format!("{} pairs", pairs.family()) }
    )
}

/// Returns which devices can be told apart and which cannot, a sentence each.
#[must_use]
pub fn verdict(pairs: &DevicePairs) -> Vec<String> {
    if pairs.pairs.is_empty() {
        return match pairs.people {
            1 => vec![
                "All nights are of one person: no two devices are tested against each other, and none is ranked."
                    .into(),
            ],
            _ => Vec::new(),
        };
    }
    if !pairs.may_tell() {
        return vec![cannot(pairs)];
    }
    let (told, open): (Vec<&DevicePair>, Vec<&DevicePair>) =
        pairs.pairs.iter().filter(|p| p.in_family).partition(|p| p.better().is_some());
    let mut better: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (pair, at) in told.iter().filter_map(|p| Some((p, p.better()?))) {
        better.entry(&pair.devices[at]).or_default().push(&pair.devices[1 - at]);
    }
    let mut out = match better.is_empty() {
        true => vec!["No two devices are told apart.".to_owned()],
        false => vec![format!("Told apart (adjusted p below {LEVEL}):")],
    };
    out.extend(better.iter().map(|(one, others)| format!("{one} does better than {}.", listed(others))));
    let mut not: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    open.iter().for_each(|p| not.entry(&p.devices[0]).or_default().push(&p.devices[1]));
    out.extend(not.iter().map(|(one, others)| format!("{one} is not told apart from {}.", listed(others))));
    out
}

/// Why nothing can be told apart, whatever the numbers are.
fn cannot(pairs: &DevicePairs) -> String {
    let people = pairs.most_people();
    let none = "so no two devices are told apart, and none is ranked";
    if pairs.family() == 0 {
        return format!("No pair of the devices of the protocol was worn by two people, {none}.");
    }
    if people <= PEOPLE_WITHOUT_TEST {
        let smallest = 2.0 * 0.5_f64.powi(i32::try_from(people).unwrap_or(0));
        let hints = if people < SHOW_EACH_BELOW {
            " The intervals rest on so few people that they are only hints."
        } else {
            ""
        };
        return format!(
            "With {people} people no p below {LEVEL} is possible (the smallest of a sign-flip test is 2/2^{people} = {smallest}), {none}.{hints}"
        );
    }
    format!(
        "With {people} people and {} pairs no adjusted p below {LEVEL} is possible (the smallest is {:.2}), {none}.",
        pairs.family(),
        pairs.smallest_p()
    )
}

/// Returns a difference of a measure with its sign and unit: `+0.31`, `+12.3 points`, `\u{2212}3.5 min`.
#[must_use]
pub fn difference(of: PlanMeasure, value: f64) -> String {
    let sign = |text: String| if value > 0.0 { format!("+{text}") } else { text };
    match of {
        PlanMeasure::Difference(_) => signed(value),
        PlanMeasure::Kappa => sign(two(value)),
        _ => sign(format!("{} points", points(value))),
    }
}

/// Returns the ends of the interval of a difference.
#[must_use]
pub fn between(of: PlanMeasure, limits: Limits) -> String {
    let bare = |value: f64| match of {
        PlanMeasure::Difference(_) => minutes(value).trim_end_matches(" min").replace('-', "\u{2212}"),
        PlanMeasure::Kappa => two(value),
        _ => points(value),
    };
    format!("{} to {}", bare(limits.low), bare(limits.high))
}

fn points(value: f64) -> String {
    format!("{:.1}", 100.0 * value).replace('-', "\u{2212}")
}

/// Returns a p: `0.031`, `<0.001`.
#[must_use]
pub fn p(value: f64) -> String {
    if value < 0.001 { "<0.001".to_owned() } else { format!("{value:.3}") }
}

/// Returns the ranks left open: `1`, `2 to 5`.
#[must_use]
pub fn rank((best, worst): (usize, usize)) -> String {
    if best == worst { best.to_string() } else { format!("{best} to {worst}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn none(people: usize) -> DevicePairs {
        DevicePairs { measure: PlanMeasure::Kappa, named: false, people, pairs: Vec::new(), ranks: Vec::new() }
    }

    #[test]
    fn one_person_is_told_that_nothing_is_tested() {
        assert!(verdict(&none(1))[0].contains("no two devices are tested against each other, and none is ranked"));
        assert!(verdict(&none(2)).is_empty());
    }

    #[test]
    fn differences_bear_their_sign_and_unit() {
        assert_eq!(difference(PlanMeasure::Kappa, 0.314), "+0.31");
        assert_eq!(difference(PlanMeasure::Accuracy, -0.1234), "\u{2212}12.3 points");
        assert_eq!(between(PlanMeasure::Accuracy, Limits { low: -0.05, high: 0.2 }), "\u{2212}5.0 to 20.0");
        assert_eq!([p(0.0005), p(0.031_25), rank((1, 1)), rank((2, 4))], ["<0.001", "0.031", "1", "2 to 4"]);
    }
}
