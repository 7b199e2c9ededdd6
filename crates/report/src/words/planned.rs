//! What was laid down beforehand, and what a result is worth by it, in the words that page and terminal share.

use super::{called, count, date, fine_share, listed, signed, two};
use crate::draw::text::clean;
use counterpane_compare::{Departure, DeviceNight, Exploratory, Laid, PrimaryLine, Standing, Undefined};
use counterpane_model::{ExportRule, Looked, Missing, Plan, PlanMeasure, PlanWindow, Stage};

/// Returns a measure in words: `Cohen's kappa`, `sensitivity to deep sleep`.
#[must_use]
pub fn measure(measure: PlanMeasure) -> String {
    match measure {
        PlanMeasure::Accuracy => "share of epochs that agree".into(),
        PlanMeasure::Kappa => "Cohen's kappa".into(),
        PlanMeasure::MeanSensitivity => "mean of the stage sensitivities".into(),
        PlanMeasure::Sensitivity(class) => format!("sensitivity to {}", called(class)),
        PlanMeasure::Difference(Stage::Asleep) => "difference in sleep time, device minus reference".into(),
        PlanMeasure::Difference(class) => format!("difference in {}, device minus reference", called(class)),
    }
}

/// Returns a value of a measure with its unit.
#[must_use]
pub fn value(of: PlanMeasure, value: f64) -> String {
    match of {
        PlanMeasure::Kappa => two(value),
        PlanMeasure::Difference(_) => signed(value),
        PlanMeasure::Accuracy | PlanMeasure::MeanSensitivity | PlanMeasure::Sensitivity(_) => fine_share(value),
    }
}

/// Returns the limits of an interval, with their unit once.
#[must_use]
pub fn limits(of: PlanMeasure, (low, high): (f64, f64)) -> String {
    let first = value(of, low);
    format!("{} to {}", first.trim_end_matches(" %").trim_end_matches(" min"), value(of, high))
}

/// Returns the interval of a line, or why it has none.
#[must_use]
pub fn interval(line: &PrimaryLine) -> String {
    match line.interval {
        Ok(limits) => self::limits(line.measure, limits),
        Err(_) if line.value.is_err() => "none: value undefined".into(),
        Err(Undefined::NTooSmall) => "none: one person".into(),
        Err(Undefined::ZeroVariance) => "none: everybody alike".into(),
        Err(why) => format!("none: {}", why.words()),
    }
}

/// Returns a warning where an interval rests on few people.
#[must_use]
pub fn few_people(lines: &[&PrimaryLine]) -> Option<&'static str> {
    let few = lines.iter().any(|l| l.interval.is_ok() && l.participants < 5);
    few.then_some("An interval over fewer than five people says little: look at each person.")
}

/// Returns whether a mean is within the tolerance, in words; nothing where no tolerance was laid down.
#[must_use]
pub fn tolerance(line: &PrimaryLine) -> Option<String> {
    Some(match line.equivalence? {
        Ok(e) => {
            let (low, high) = (signed(e.interval_90.0), signed(e.interval_90.1));
            let shown =
                if e.within { "shown to be within the tolerance" } else { "not shown to be within the tolerance" };
            format!("{shown} (90 % interval {low} to {high})")
        }
        Err(why) => format!("tolerance not tested: {}", why.words()),
    })
}

/// Returns what a line is worth: `predeclared`, or why it is exploratory.
#[must_use]
pub fn worth(line: &PrimaryLine) -> String {
    if line.exploratory.is_empty() {
        return "predeclared".into();
    }
    let why: Vec<String> = line.exploratory.iter().map(|e| exploratory(*e)).collect();
    format!("exploratory: {}", why.join("; "))
}

fn exploratory(why: Exploratory) -> String {
    match why {
        Exploratory::NoProtocol => "nothing was laid down".into(),
        Exploratory::NoPrimary => "the protocol names no primary measure".into(),
        Exploratory::NotNoted => "the protocol is not in the decision log".into(),
        Exploratory::LaidDownAfter(n) => format!("laid down or changed after results were seen (decision {n})"),
        Exploratory::OtherDevice => "the protocol is about other devices".into(),
        Exploratory::Departs(departure) => departed(departure).into(),
    }
}

fn departed(departure: Departure) -> &'static str {
    match departure {
        Departure::Scheme => "other classes than laid down",
        Departure::Window => "another window than laid down",
        Departure::Scorer => "another reference than laid down",
        Departure::Nights => "some of the nights only",
        Departure::WithExcluded => "with what was left out on purpose",
    }
}

/// Returns what a plan says, a sentence each.
#[must_use]
pub fn plan_sentences(plan: &Plan) -> Vec<String> {
    let mut out = vec![match plan.primary {
        Some(primary) => format!("Primary measure: {}.", measure(primary)),
        None => "No primary measure is named.".into(),
    }];
    let classes = plan
        .scheme
        .map_or_else(|| "the finest classes that each device and the reference share".to_owned(), super::scheme_words);
    let window = match plan.window {
        PlanWindow::Lights => "from lights off to lights on, where both are known",
        PlanWindow::Scored => "from the first to the last scored epoch of the reference",
    };
    let missing = match plan.missing {
        Missing::LeftOut => "are left out",
        Missing::Wrong => "count as wrong",
    };
    out.push(format!("Classes: {classes}. Window: {window}. Epochs that a device does not give {missing}."));
    let export = match plan.export {
        ExportRule::First => "the first",
        ExportRule::Newest => "the newest",
    };
    out.push(format!("Of several exports of a night {export} counts, unless a decision names another."));
    let rule = |limit: Option<f64>, what: &str| limit.map(|v| format!("{what} above {v} %"));
    let rules: Vec<String> = [rule(plan.rules.flag_unscored, "marked"), rule(plan.rules.exclude_unscored, "left out")]
        .into_iter()
        .flatten()
        .collect();
    if !rules.is_empty() {
        out.push(format!("A device's night is {} of the window without a pair of stages.", listed(&rules)));
    }
    out.extend(plan.tolerance.map(|t| format!("A mean difference within {} is small enough.", super::minutes(t))));
    if !plan.devices.is_empty() {
        out.push(format!("Devices: {}.", clean(&listed(&plan.devices))));
    }
    out
}

/// Returns since when what was laid down holds, in one sentence.
#[must_use]
pub fn since(laid: &Laid) -> String {
    let Some(last) = laid.seen.last() else {
        return "It is not in the decision log, so nobody can say when it was laid down.".into();
    };
    let when = match last.looked {
        Looked::Before => "before any comparison was made",
        Looked::After => "after results had been looked at, so everything is exploratory",
    };
    let changes = match laid.seen.len() {
        1 => String::new(),
        n => format!(" It was noted {n} times; this is the last."),
    };
    // Whoever gave the command need not have been named.
    let by = if last.by.starts_with('(') { String::new() } else { format!(" by {}", clean(&last.by)) };
    format!(
        "Noted {}{by} (decision {}), {when}; SHA-256 {}.{changes}",
        date::when(&last.at),
        last.decision,
        last.sha256
    )
}

/// Returns what the results of a comparison are worth, in one sentence.
#[must_use]
pub fn verdict(standing: &Standing) -> String {
    let lines = &standing.lines;
    let predeclared = lines.iter().filter(|l| l.exploratory.is_empty()).count();
    match (&standing.laid, predeclared) {
        (None, _) => {
            "No protocol was laid down in study.toml, so every number is exploratory: it may suggest a question, and \
                      answers none."
                .into()
        }
        (Some(_), 0) => "Every number is exploratory, for the reasons given.".into(),
        (Some(_), n) if n == lines.len() => {
            "The primary measure was laid down before anybody looked. Every other number is exploratory.".into()
        }
        (Some(_), n) => format!(
            "The primary measure of {} was laid down before anybody looked. Every other number is exploratory.",
            count(n, "device")
        ),
    }
}

/// Returns what a rule of the protocol makes of a device's night, as the sentence after its name.
#[must_use]
pub fn ruled(device: &DeviceNight) -> Option<String> {
    let ruled = device.ruled?;
    let share = fine_share(ruled.share);
    let what = if ruled.excluded { "left out of every figure over nights" } else { "marked" };
    Some(format!(
        "{share} of the window has no pair of stages, more than the {} % of the protocol: {what}",
        ruled.limit
    ))
}
