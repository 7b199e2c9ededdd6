//! Differences of whole-night measures in words, alike on the terminal and on the page.

use super::intervals::between_two;
use super::{called, count, two};
use counterpane_compare::{
    Coefficient, Deviation, Deviations, LIMITS_WANT, LimitsBy, NightMeasure, Nights, NotSaid, Slope,
};
use counterpane_model::Stage;

/// What the numbers are, for those who read them.
pub const MEANING: &str = "Device minus reference, from the epochs that both scored; a latency from all that its own side \
    says. Bias: the mean, each person weighing the same, with its 95 % interval. Limits of agreement: about 95 of 100 single \
    nights differ by an amount between them (Bland and Altman 1999; several nights of a person: 2007), each with its 95 % \
    interval (Carkeet 2015; Zou 2013).";

/// What CCC and ICC are.
const COEFFICIENTS: &str = "CCC and ICC(2,1) rise with how much people differ: read them beside bias and limits, and never \
    compare them between studies.";

/// Returns the short name of a measure: `TST`, `deep`.
#[must_use]
pub fn short(of: NightMeasure) -> &'static str {
    match of {
        NightMeasure::TotalSleep => "TST",
        NightMeasure::SleepLatency => "SOL",
        NightMeasure::WakeAfterOnset => "WASO",
        NightMeasure::Efficiency => "SE",
        NightMeasure::RemLatency => "R latency",
        NightMeasure::Minutes(class) => called(class),
        NightMeasure::Awakenings => "awakenings",
    }
}

/// Returns the full name of a measure.
#[must_use]
pub fn name(of: NightMeasure) -> String {
    match of {
        NightMeasure::TotalSleep => "Total sleep (TST)".to_owned(),
        NightMeasure::SleepLatency => "Sleep onset latency (SOL)".to_owned(),
        NightMeasure::WakeAfterOnset => "Wake after sleep onset (WASO)".to_owned(),
        NightMeasure::Efficiency => "Sleep efficiency (SE)".to_owned(),
        NightMeasure::RemLatency => "REM latency".to_owned(),
        NightMeasure::Minutes(Stage::Light) => "Minutes of light (N1 + N2)".to_owned(),
        NightMeasure::Minutes(Stage::N3) => "Minutes of deep (N3)".to_owned(),
        NightMeasure::Minutes(class) => format!("Minutes of {}", called(class)),
        NightMeasure::Awakenings => "Awakenings".to_owned(),
    }
}

/// Returns the unit as it stands after a number, with a blank before it; nothing for a count.
#[must_use]
pub fn unit(of: NightMeasure) -> &'static str {
    match of.unit() {
        "%" => " points",
        "min" => " min",
        _ => "",
    }
}

/// Returns a signed number with one decimal where there is one, without a unit: `+12`, `−3.5`, `0`.
#[must_use]
pub fn signed(value: f64) -> String {
    super::signed(value).trim_end_matches(" min").to_owned()
}

/// Returns how many nights of how many people, and what was skipped.
#[must_use]
pub fn counted(d: &Deviation) -> Vec<String> {
    let people = if d.people == 1 { "1 person".to_owned() } else { format!("{} people", d.people) };
    let mut out = match d.nights.len() {
        0 => vec!["no night".to_owned()],
        n => vec![format!("{} of {people}", count(n, "night"))],
    };
    if d.skipped_undefined > 0 {
        out.push(format!("{} skipped: undefined there", count(d.skipped_undefined, "night")));
    }
    if d.skipped_unsure > 0 {
        out.push(format!("{} skipped: a gap leaves it in doubt", count(d.skipped_unsure, "night")));
    }
    out
}

/// A sentence for each thing that the differences of a measure show beyond bias and limits.
fn sentences(d: &Deviation) -> Vec<String> {
    let mut out = Vec::new();
    let name = name(d.of);
    if let Ok(slope) = &d.proportional
        && slope.is_told()
    {
        out.push(format!("{name}: {}", proportional(slope)));
    }
    if d.spread.as_ref().is_ok_and(Slope::grows) {
        out.push(match &d.ratio_limits {
            Some(ratio) => format!(
                "{name}: the differences spread more where there is more of it, so read them as ratios: device / reference lies between {:.2} and {:.2} on about 95 of 100 nights, about {:.2}.",
                ratio.lower.value, ratio.upper.value, ratio.centre
            ),
            None => format!(
                "{name}: the differences spread more where there is more of it, so one pair of limits does not hold for all; as ratios they cannot be given, for a value is 0 or there are too few people."
            ),
        });
    }
    if let Some(sizes) = at_sizes(d) {
        out.push(format!("{name}: {sizes}"));
    }
    out
}

/// Names the measures whose differences never vary.
fn all_the_same(all: &[Deviation]) -> Option<String> {
    let own = all.iter().filter(|d| d.limits.as_ref().is_ok_and(|l| l.sd == 0.0));
    let names: Vec<&str> = own.map(|d| short(d.of)).collect();
    (!names.is_empty())
        .then(|| format!("{}: every difference is the same, so the limits equal the bias.", names.join(", ")))
}

fn proportional(slope: &Slope) -> String {
    let (way, what) = if slope.slope < 0.0 { ("falls", "less") } else { ("rises", "more") };
    format!(
        "the difference {way} where there is more of it (slope {}, 95 % interval {}): the device varies {what} than the reference does.",
        two(slope.slope),
        between_two(slope.interval),
    )
}

fn at_sizes(d: &Deviation) -> Option<String> {
    let at = |s: &counterpane_compare::AtSize| {
        format!("at {:.0}: {} to {}", s.size, signed(s.limits.low), signed(s.limits.high))
    };
    let all: Vec<String> = d.at_sizes.iter().map(at).collect();
    (!all.is_empty()).then(|| format!("limits by the size, {}.", all.join("; ")))
}

/// Returns CCC and ICC of a measure, each with its interval, or why there is none.
#[must_use]
pub fn coefficient(of: &Result<Coefficient, NotSaid>) -> String {
    match of {
        Ok(Coefficient { value, interval: Ok(ends) }) => format!("{} ({})", two(*value), between_two(*ends)),
        Ok(Coefficient { value, interval: Err(_) }) => format!("{} (no interval)", two(*value)),
        Err(why) => why.words(),
    }
}

/// Returns everything that is said in sentences of the measures of a device.
#[must_use]
pub fn sentences_of_all(all: &[Deviation]) -> Vec<String> {
    let skipped = all.iter().filter(|d| d.skipped_undefined + d.skipped_unsure > 0);
    let skipped = skipped.map(|d| format!("{}: {}.", name(d.of), counted(d).join("; ")));
    let gaps = all.iter().map(|d| d.with_gaps).max().filter(|n| *n > 0).map(|n| {
        format!(
            "On {} more than 5 % of the window was not scored by both sides; what both scored counts.",
            count(n, "night")
        )
    });
    all.iter().flat_map(sentences).chain(all_the_same(all)).chain(skipped).chain(gaps).collect()
}

/// Returns how often the intervals of such limits held the truth, for the measure of the fewest people.
fn held(all: &[Deviation]) -> Option<String> {
    let over_people = all.iter().filter(|d| d.whose != Nights::OnePerson);
    let (people, by) =
        over_people.filter_map(|d| Some((d.people, d.limits.as_ref().ok()?.by))).min_by_key(|of| of.0)?;
    super::held::limits(people, by == LimitsBy::Mover)
}

/// Returns what must be said once of the measures of all devices.
#[must_use]
pub fn cautions(devices: &[&Deviations]) -> Vec<String> {
    let any = |of: &dyn Fn(&Deviation) -> bool| devices.iter().flat_map(|d| &d.measures).any(of);
    let told = [
        (
            any(&|d| d.whose == Nights::OnePerson),
            "Where all nights are of one person, bias and limits hold within this person only.",
        ),
        (
            any(&|d| d.whose == Nights::SeveralEach && d.proportional.is_ok()),
            "Where people have several nights, slopes, CCC and ICC are of each person's mean over nights.",
        ),
        (
            any(&|d| d.whose != Nights::OnePerson && d.limits.is_ok() && d.people < LIMITS_WANT),
            "With fewer than 20 people the limits themselves are hardly known: read their intervals.",
        ),
        (
            any(&|d| d.proportional.is_ok() && d.people < LIMITS_WANT),
            "That no slope is told of a measure does not mean that there is none: with few people it is rarely seen.",
        ),
        (
            any(&|d| d.proportional.as_ref().is_ok_and(Slope::is_told) || d.spread.as_ref().is_ok_and(Slope::grows)),
            "Slopes are looked for in every measure, at 5 % and without correction: of twenty measures without one, one is told.",
        ),
        (any(&|d| d.ccc.is_ok() || d.icc.is_ok()), COEFFICIENTS),
    ];
    let mut out: Vec<String> =
        told.into_iter().filter(|(holds, _)| *holds).map(|(_, words)| words.to_owned()).collect();
    // Devices of as many people are told of once.
    for words in devices.iter().filter_map(|d| held(&d.measures)) {
        if !out.contains(&words) {
            out.push(words);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_measure_has_a_name_of_its_own() {
        let mut names: Vec<String> = NightMeasure::ALL.into_iter().map(name).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), NightMeasure::ALL.len());
    }

    #[test]
    fn differences_bear_their_sign_and_no_unit() {
        assert_eq!([12.0, -3.5, 0.0].map(signed), ["+12", "\u{2212}3.5", "0"]);
    }
}
