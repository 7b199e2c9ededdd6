//! The words of the report: numbers, names and sentences.
//!
//! A number that is undefined is said in words with its reason, never as 0. The reference is "the
//! scorer" only where a person scored; the word "accuracy" is never used for one stage.

pub mod baselines;
pub mod bouts;
pub mod clocks;
mod date;
pub mod decided;
pub mod deviations;
pub mod explained;
pub mod groups;
pub mod held;
pub mod intervals;
mod numbers;
pub mod pairs;
pub mod planned;
pub mod reading;
mod reference;
pub mod scorers;
mod voices;
pub mod what_if;

pub use date::when;
pub use numbers::{count, decimal_of_minutes, epochs, fine_share, minutes, percent, share, short_percent, signed, two};
pub use reference::{chosen_words, consensus_sentences, scored_by_words};
pub use voices::Voices;

use counterpane_compare::{Comparison, DeviceNight, DeviceSummary, NightComparison};
use counterpane_model::{Cell, Scheme, ScoredBy, Source, Stage};

/// Returns what a source says of one epoch, in words.
#[must_use]
pub fn cell(cell: Cell) -> &'static str {
    match cell {
        Cell::Stage(stage) => stage.words(),
        Cell::Unscored => "not scored",
        Cell::Off => "off the body",
        Cell::Missing => "nothing said",
    }
}

/// Returns what a class is called inside a sentence: `deep`, `REM`.
#[must_use]
pub fn called(class: Stage) -> &'static str {
    match class {
        Stage::W => "wake",
        Stage::N1 => "N1",
        Stage::N2 => "N2",
        Stage::N3 => "deep",
        Stage::R => "REM",
        Stage::Light => "light",
        Stage::Nrem => "non-REM",
        Stage::Asleep => "sleep",
    }
}

/// Returns the name of a class as the head of a row or a column.
#[must_use]
pub fn class_head(class: Stage) -> &'static str {
    match class {
        Stage::W => "Wake",
        Stage::N3 => "Deep (N3)",
        Stage::R => "REM",
        Stage::Light => "Light",
        Stage::Nrem => "Non-REM",
        Stage::Asleep => "Sleep",
        Stage::N1 | Stage::N2 => class.code(),
    }
}

/// Returns the classes of a scheme in words: `wake, light, deep and REM`.
#[must_use]
pub fn scheme_words(scheme: Scheme) -> String {
    listed(&scheme.classes().iter().map(|c| called(*c)).collect::<Vec<_>>())
}

/// Returns `a`, `a and b`, `a, b and c`; nothing for nothing.
#[must_use]
pub fn listed<T: AsRef<str>>(words: &[T]) -> String {
    let all: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match all.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => all.concat(),
    }
}

/// Returns the text with its first letter as a capital.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Returns the name of a night: `P01, night 2026-04-04`.
#[must_use]
pub fn night_name(night: &NightComparison) -> String {
    format!("{}, {} {}", night.participant, night.kind.code(), night.night)
}

/// Returns the name of a source: the device, or the scorer.
#[must_use]
pub fn source_name(source: &Source) -> String {
    match source {
        Source::Device { device, .. } => device.clone(),
        Source::Reference { scorer, scored_by: ScoredBy::Human } => format!("scorer {scorer}"),
        Source::Reference { scorer, scored_by: ScoredBy::Algorithm } => format!("program {scorer}"),
    }
}

/// Returns the name of a source on a night: that of the device; that of the unit where the device was
/// worn twice; the end of its key where one unit has two recordings.
#[must_use]
pub fn name_on(night: &NightComparison, device: &DeviceNight) -> String {
    let name = source_name(&device.source);
    let alike = |same: &dyn Fn(&DeviceNight) -> bool| night.devices.iter().filter(|d| same(d)).count() > 1;
    match &device.source {
        _ if !alike(&|d| source_name(&d.source) == name) => name,
        source if alike(&|d| d.source == *source) => device.key.rsplit('/').next().unwrap_or(&device.key).to_owned(),
        Source::Device { unit, .. } => unit.clone(),
        Source::Reference { .. } => name,
    }
}

/// Returns the name of the reference of a night.
#[must_use]
pub fn reference_name(night: &NightComparison) -> String {
    if let Some(consensus) = &night.consensus {
        let codes: Vec<&str> = consensus.voters.iter().map(|v| v.code.as_str()).collect();
        return format!("majority of {}", listed(&codes));
    }
    source_name(&Source::Reference { scorer: night.scorer.clone(), scored_by: night.scored_by })
}

/// Returns what stands beside the name of the reference.
#[must_use]
pub fn reference_under(night: &NightComparison) -> String {
    format!("reference, scored by {}", scored_by_words(night))
}

/// Returns what stands beside the name of a device: the correction of its clock, the classes it is compared in, and its piece where
/// the name is not that of the piece.
#[must_use]
pub fn scheme_under(night: &NightComparison, device: &DeviceNight) -> String {
    let name = name_on(night, device);
    let unit = match &device.source {
        Source::Device { unit, .. } if !name.starts_with(unit.as_str()) => format!(" ({unit})"),
        _ => String::new(),
    };
    let clock = device.clock.as_ref().map_or_else(String::new, |c| format!("clock {}; ", decided::shifts(&c.setting)));
    match &device.agreement {
        Some(a) => format!("{clock}in {}{unit}", scheme_words(a.scheme)),
        None => format!("{clock}not compared{unit}"),
    }
}

/// Returns the nights and participants that a device is summed over: `2 nights of 1 participant`.
#[must_use]
pub fn over(device: &DeviceSummary) -> String {
    format!("{} of {}", count(device.nights, "night"), count(device.participants, "participant"))
}

/// Returns the line under the title of a matrix.
#[must_use]
pub fn matrix_about(name: &str, of: &str, n: u64) -> String {
    format!("{name}; {of}; {n} epochs of 30 s that both sides scored ({})", epochs(n))
}

/// Returns the voices for a device over all its nights. Where one of the references is a program,
/// all are spoken of as programs: a person must not be made the author of what a program scored.
#[must_use]
pub fn voices_of_device(comparison: &Comparison, name: &str) -> Voices {
    let mut scored_by = ScoredBy::Human;
    let mut other = None;
    let mut majority = false;
    for night in &comparison.nights {
        if let Some(device) = night.devices.iter().find(|d| source_name(&d.source) == name || d.source.name() == name) {
            other = Voices::of(night, &device.source).other;
            majority |= night.consensus.is_some();
            if night.scored_by == ScoredBy::Algorithm {
                scored_by = ScoredBy::Algorithm;
            }
        }
    }
    Voices { scored_by, majority, other }
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_compare::comparison::Undefined;

    const HUMAN: Voices = Voices { scored_by: ScoredBy::Human, majority: false, other: None };
    const PROGRAM: Voices = Voices { scored_by: ScoredBy::Algorithm, majority: false, other: None };

    #[test]
    fn a_row_reads_as_a_sentence() {
        assert_eq!(
            HUMAN.row_sentence(Stage::N3, 104, 174),
            "Of the 87 min the scorer called deep, the device called 52 min (60 %) deep."
        );
        assert_eq!(
            HUMAN.row_sentence(Stage::R, 0, 0),
            "REM: stage not present, so nothing can be said of how the device sees it."
        );
    }

    #[test]
    fn a_column_reads_as_a_sentence() {
        assert_eq!(
            HUMAN.column_sentence(Stage::N3, 104, 140),
            "Of the 70 min the device called deep, the scorer agreed on 52 min (74 %)."
        );
        assert_eq!(
            HUMAN.column_sentence(Stage::W, 0, 0),
            "Wake: the device never said this, so there is no label to trust."
        );
    }

    #[test]
    fn a_program_is_not_called_a_scorer_and_its_stages_are_not_called_true() {
        let all = [
            PROGRAM.row_sentence(Stage::W, 1, 2),
            PROGRAM.column_sentence(Stage::W, 1, 2),
            PROGRAM.rows_title(),
            PROGRAM.columns_title(),
            PROGRAM.undefined(Undefined::RefClassAbsent),
        ]
        .join("\n");
        assert!(!all.contains("the scorer") && !all.contains("true"), "{all}");
    }

    #[test]
    fn a_majority_is_not_called_one_scorer() {
        let majority = Voices { majority: true, ..HUMAN };
        assert_eq!(
            majority.row_sentence(Stage::N3, 104, 174),
            "Of the 87 min the majority called deep, the device called 52 min (60 %) deep."
        );
        assert_eq!(
            majority.rows_title(),
            "What the device said, for each stage the majority gave (each row adds to 100 %)"
        );
    }

    #[test]
    fn per_cent_never_hides_what_is_nearly_nothing_or_nearly_all() {
        let check = |part, all, said: &str| assert_eq!(percent(part, all), said);
        check(0, 1000, "0 %");
        check(1, 1000, "under 1 %");
        check(999, 1000, "over 99 %");
        check(9994, 10_000, "over 99 %");
        check(9996, 10_000, "over 99.9 %");
        check(1000, 1000, "100 %");
        check(2, 3, "67 %");
    }

    #[test]
    fn minutes_show_half_minutes_only_where_there_are_some() {
        assert_eq!(
            [minutes(52.0), minutes(52.5), signed(-3.5), signed(12.0), signed(-0.01)],
            ["52 min", "52.5 min", "\u{2212}3.5 min", "+12 min", "0 min"]
        );
    }

    #[test]
    fn what_is_undefined_says_why() {
        assert_eq!(
            HUMAN.share(Err(Undefined::RefClassAbsent)),
            "undefined: stage not present: the scorer never used it"
        );
        assert_eq!(HUMAN.share(Ok(0.6)), "60 %");
    }
}
