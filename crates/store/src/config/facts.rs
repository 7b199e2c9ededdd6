//! What a reviewer states of a device beside its name: how its data is got, and what it costs.

use super::DeviceConfig;
use serde::Deserialize;
use std::ops::{Range, RangeInclusive};

/// How a reviewer came by a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Obtained {
    /// Paid for by the reviewer.
    Bought,
    /// Goes back to whom it belongs to.
    Lent,
    /// A present, of its maker or of another.
    Given,
}

impl Obtained {
    /// Returns the word of `study.toml`.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Obtained::Bought => "bought",
            Obtained::Lent => "lent",
            Obtained::Given => "given",
        }
    }
}

/// Minutes of a day: nobody spends more on one night.
const MOST_MINUTES: f64 = 1440.0;

/// Whoever counts more steps than this does not count steps.
const STEPS: RangeInclusive<i64> = 0..=999;

/// Texts say something in one line, steps can be counted, and minutes are a length that fits into a day.
pub(super) fn check(device: &DeviceConfig) -> Result<(), (Range<usize>, String)> {
    let texts = [
        ("route", &device.route),
        ("finest_step", &device.finest_step),
        ("lost", &device.lost),
        ("note", &device.note),
    ];
    for (key, text) in texts.into_iter().filter_map(|(key, text)| Some((key, text.as_ref()?))) {
        let said = text.get_ref();
        if said.trim().is_empty() || said.chars().any(char::is_control) {
            let problem = "must say something in one line; take the key away where there is nothing to say";
            return Err((text.span(), format!("`{key}` {problem}")));
        }
    }
    if let Some(steps) = device.steps.as_ref().filter(|s| !STEPS.contains(s.get_ref())) {
        let (least, most) = (STEPS.start(), STEPS.end());
        let said = steps.get_ref();
        return Err((
            steps.span(),
            format!("`steps` is {said}; it is the steps taken for one night, {least} to {most}"),
        ));
    }
    match &device.minutes {
        Some(minutes) if !(0.0..=MOST_MINUTES).contains(minutes.get_ref()) => Err((
            minutes.span(),
            format!("`minutes` is {}; it is the minutes spent per night, 0 to {MOST_MINUTES}", minutes.get_ref()),
        )),
        _ => Ok(()),
    }
}
