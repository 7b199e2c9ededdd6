//! Invented nights: a chain of stages, each with a length of its own.

use crate::dice::Dice;

/// Stages of a screen, in the words of a sheet; the last one of a night is `end`.
pub(crate) const STAGES: [&str; 4] = ["wake", "light", "deep", "rem"];

/// A change of stage; half minutes after noon of the evening's date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Change {
    pub(crate) at: i64,
    pub(crate) stage: &'static str,
}

/// A night of 20 to 45 changes, in steps of half a minute or, for `whole`, of a minute.
///
/// Its numbers are our own (no source): six to nine hours; lengths are exponential around 4 minutes of wake, 18 of light
/// sleep, 22 of deep sleep and 18 of REM, and at least one minute; deep sleep early, REM late.
pub(crate) fn night(dice: &mut Dice, whole: bool) -> Vec<Change> {
    loop {
        let changes = drawn(dice, if whole { 2 } else { 1 });
        if (20..=45).contains(&(changes.len() - 1)) {
            return changes;
        }
    }
}

fn drawn(dice: &mut Dice, step: i64) -> Vec<Change> {
    let in_bed = (10 * 60 + dice.below(180) as i64) * 2;
    let length = (360 + dice.below(181) as i64) * 2;
    let (mut at, mut stage, mut out) = (in_bed, "wake", Vec::new());
    while at - in_bed < length {
        out.push(Change { at, stage });
        let mean = match stage {
            "wake" => 4.0,
            "deep" => 22.0,
            _ => 18.0,
        };
        let minutes = -(mean - 1.0) * dice.share().ln();
        at += 2 + (minutes * 2.0 / step as f64).round() as i64 * step;
        stage = next(dice, stage, (at - in_bed) as f64 / length as f64);
    }
    out.push(Change { at, stage: "end" });
    out
}

fn next(dice: &mut Dice, stage: &str, gone: f64) -> &'static str {
    let x = dice.share();
    match stage {
        "wake" if x < 0.9 => "light",
        "wake" => "rem",
        "light" if x < 0.45 * (1.0 - gone) + 0.05 => "deep",
        "light" if x < 0.65 => "rem",
        "light" => "wake",
        "deep" if x < 0.85 => "light",
        "rem" if x < 0.5 => "light",
        _ => "wake",
    }
}
