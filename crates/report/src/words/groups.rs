//! The figures of devices by groups of nights, in the words that page and terminal share.

use super::{count, planned, signed, two};
use counterpane_compare::groups::{By, Group, GroupPair, GroupedDevice, Grouping, NoDifference};
use counterpane_compare::{Figure, Undefined};
use counterpane_model::PlanMeasure;

/// What the tables say of themselves.
pub const NOTE: &str = "Mean over people of the mean over their nights, with its 95 % interval over people. A difference between two groups is \
                        given only where at least two people have nights in both, from those people alone: between other groups the people \
                        differ too. All of it is exploratory.";

/// Returns what tells the nights apart, in words.
#[must_use]
pub fn by(by: By) -> &'static str {
    match by {
        By::App => "version of the app",
        By::Firmware => "version of the firmware",
        By::Group => "group of participants",
        By::Side => "side of the body",
        By::Site => "site on the body",
        By::Unit => "unit",
    }
}

/// Returns the name of a group.
#[must_use]
pub fn name(group: &Group) -> &str {
    group.name.as_deref().unwrap_or("not stated")
}

/// Returns the figure of a group, or why it has none.
#[must_use]
pub fn figure(measure: PlanMeasure, figure: Figure) -> String {
    figure.map_or_else(|why| why.words().to_owned(), |v| planned::value(measure, v))
}

/// Returns the interval of a group, or why it has none.
#[must_use]
pub fn interval(measure: PlanMeasure, interval: Result<(f64, f64), Undefined>) -> String {
    match interval {
        Ok(limits) => planned::limits(measure, limits),
        Err(Undefined::NTooSmall) => "none: one person".into(),
        Err(Undefined::ZeroVariance) => "none: everybody alike".into(),
        Err(_) => "none".into(),
    }
}

/// Returns the difference between every two groups of a device, a sentence each.
#[must_use]
pub fn differences(grouping: &Grouping, device: &GroupedDevice) -> Vec<String> {
    device.pairs.iter().map(|pair| difference(grouping, device, pair)).collect()
}

fn difference(grouping: &Grouping, device: &GroupedDevice, pair: &GroupPair) -> String {
    let group = |i: usize| device.groups.get(i).map_or("", name);
    let [first, second] = pair.of.map(group);
    let people = count(pair.in_both, "participant");
    let said = format!("{second} minus {first}, {people} with nights in both");
    // Where people are lacking, they are lacking for every measure.
    if let Some(Err(why)) = pair.differences.first()
        && pair.differences.iter().all(|d| *d == Err(*why))
    {
        return format!("{said}: no difference is computed, {}.", why_not(*why));
    }
    let each = grouping.measures.iter().zip(&pair.differences).map(|(measure, difference)| match difference {
        Ok((mean, (low, high))) => {
            let say = |v: &f64| of_difference(*measure, *v);
            let first = say(low);
            let first = first.trim_end_matches(" points").trim_end_matches(" min");
            format!("{}: {} ({first} to {})", planned::measure(*measure), say(mean), say(high))
        }
        Err(why) => format!("{}: not computed, {}", planned::measure(*measure), why_not(*why)),
    });
    format!("{said}: {}.", each.collect::<Vec<_>>().join("; "))
}

fn of_difference(measure: PlanMeasure, value: f64) -> String {
    let plus = if value > 0.0 { "+" } else { "" };
    match measure {
        PlanMeasure::Difference(_) => signed(value),
        PlanMeasure::Kappa => format!("{plus}{}", two(value)),
        _ => format!("{plus}{} points", two(100.0 * value)),
    }
}

fn why_not(why: NoDifference) -> &'static str {
    match why {
        NoDifference::NobodyInBoth => "because nobody has nights in both, so the people differ too",
        NoDifference::OneInBoth => "because one person alone has nights in both",
        NoDifference::Undefined(Undefined::ZeroVariance) => {
            "because it is the same for everybody, and a spread of nothing is no knowledge"
        }
        NoDifference::Undefined(_) => "because there is no value",
    }
}
