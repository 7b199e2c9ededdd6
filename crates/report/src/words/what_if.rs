//! Headlines with one choice undone, in the words that page and terminal share.

use super::{listed, planned, signed, two};
use counterpane_compare::what_if::{Choice, Headline, Otherwise, WhatIf};
use counterpane_model::{Missing, PlanMeasure};

/// What the table says of itself.
pub const NOTE: &str = "Each choice is undone alone, with everything else as it is. Mean over people of the mean over their nights, in the \
                        classes of the comparison as it is. Every number here is exploratory.";

/// Returns what holds with a choice undone: `with what decision 9 leaves out`.
#[must_use]
pub fn otherwise(of: &Otherwise) -> String {
    let what = match &of.choice {
        Choice::Acceptance { decision, code } => {
            format!("`{code}` not accepted (decision {decision}), and held out")
        }
        Choice::Exclusion { decision } => format!("what decision {decision} leaves out is counted"),
        Choice::Clock { decision } => format!("its clock not corrected (decision {decision})"),
        Choice::Export { recording } => {
            format!("the export {} counts", recording.rsplit('/').next().unwrap_or(recording))
        }
        Choice::Missing(Missing::Wrong) => "missing epochs count as wrong".into(),
        Choice::Missing(Missing::LeftOut) => "missing epochs are left out".into(),
        Choice::Window("lights") => "window from lights off to lights on".into(),
        Choice::Window(_) => "window from first to last scored epoch".into(),
        Choice::Rules => "no night left out because of gaps".into(),
    };
    let source = of.source.as_ref().filter(|_| !matches!(of.choice, Choice::Export { .. }));
    let of: Vec<String> = of.night.iter().map(|(p, n)| format!("{p}/{n}")).chain(source.cloned()).collect();
    if of.is_empty() { what } else { format!("{}: {what}", of.join(" ")) }
}

/// Returns the name of a measure for the head of a column.
#[must_use]
pub fn head(measure: PlanMeasure) -> String {
    match measure {
        PlanMeasure::Accuracy => "agree".into(),
        measure => measure.to_string(),
    }
}

/// Returns a figure of a headline, or a dash.
#[must_use]
pub fn figure(headline: &Headline, what_if: &WhatIf, measure: usize) -> String {
    let of = headline.figures.get(measure).zip(what_if.measures.get(measure));
    of.and_then(|(figure, m)| Some(planned::value(*m, (*figure).ok()?))).unwrap_or_else(|| "-".into())
}

/// Returns how much larger a figure is than as it is, with its sign.
#[must_use]
pub fn change(headline: &Headline, what_if: &WhatIf, measure: usize) -> String {
    let change = what_if.change(headline, measure).zip(what_if.measures.get(measure));
    change.map_or_else(|| "-".into(), |(change, m)| of_change(*m, change))
}

fn of_change(measure: PlanMeasure, change: f64) -> String {
    let plus = if change > 0.0 { "+" } else { "" };
    match measure {
        PlanMeasure::Difference(_) => signed(change),
        PlanMeasure::Kappa if change.abs() < 0.0005 => "0.000".into(),
        PlanMeasure::Kappa => format!("{plus}{}", format!("{change:.3}").replace('-', "\u{2212}")),
        _ => format!("{plus}{} points", two(100.0 * change)),
    }
}

/// Returns which choice changes each measure most, a sentence each.
#[must_use]
pub fn largest(what_if: &WhatIf) -> Vec<String> {
    let largest = what_if.largest();
    if largest.is_empty() {
        let any = what_if.otherwise.iter().flat_map(|o| &o.headlines).any(|h| what_if.changes(h));
        let what = if any {
            "There is no number as it is to compare the others with."
        } else {
            "No choice changes any of these numbers."
        };
        return vec![what.into()];
    }
    let sentence = |l: &counterpane_compare::what_if::Largest| {
        let of = what_if.otherwise.get(l.choice)?;
        let device = &of.headlines.get(l.device)?.device;
        Some(format!(
            "Most is changed in {} by this: {}. It moves {} by {}.",
            planned::measure(l.measure),
            otherwise(of),
            device,
            of_change(l.measure, l.change)
        ))
    };
    largest.iter().filter_map(sentence).collect()
}

/// Returns the choices that change nothing, in one sentence; nothing where each changes something.
#[must_use]
pub fn idle(what_if: &WhatIf) -> Option<String> {
    let idle = |o: &&Otherwise| !o.headlines.iter().any(|h| what_if.changes(h));
    let all: Vec<String> = what_if.otherwise.iter().filter(idle).map(otherwise).collect();
    (!all.is_empty()).then(|| format!("No number of these changes with: {}.", listed(&all)))
}
