//! What the commands share that put a decision on record.

use crate::cli::Cli;
use crate::opening;
use crate::output::clean;
use crate::wording::{and, or};
use anyhow::bail;
use counterpane_model::{Instant, Night, Zone, typed_instant};
use counterpane_store::{Act, Deed, Study};

/// Puts a decision on record, carries it out, and returns its number.
pub(crate) fn decide(cli: &Cli, study: &mut Study, act: &Act) -> anyhow::Result<u64> {
    let Some(by) = opening::author(cli, study) else {
        bail!("say who decides: --author NAME, or `author = \"…\"` in study.toml");
    };
    study.decide(Deed::New { at: &opening::now(), by: &by }, act, &opening::checker)?;
    Ok(study.decisions().len() as u64)
}

/// Returns the reason, which must be words.
pub(crate) fn reason(text: &str) -> anyhow::Result<String> {
    if text.trim().is_empty() {
        bail!("give the reason in words: --reason \"…\"");
    }
    Ok(text.trim().to_owned())
}

/// Returns the unit or the scorer that a text names: a unit, a scorer, the only unit of a device, or the key
/// of a recording of the night. It need not have a recording yet.
pub(crate) fn source_on(study: &Study, night: &Night, text: &str) -> anyhow::Result<String> {
    let config = study.config();
    if config.unit(text).is_some() || config.scorer(text).is_some() {
        return Ok(text.to_owned());
    }
    let stored = study.recordings(&night.participant, &night.label)?;
    if let Some(s) = stored.iter().find(|s| s.recording.key == text) {
        return Ok(s.recording.source.piece().to_owned());
    }
    let worn = |unit: &str| {
        let on = |w: &&counterpane_store::config::WearingConfig| {
            w.participant.get_ref() == &night.participant && w.night.get_ref() == &night.label
        };
        stored.iter().any(|s| s.recording.source.piece() == unit)
            || config.wearings.iter().filter(on).any(|w| w.unit.get_ref() == unit)
    };
    let units: Vec<String> = config.units_of(text).map(|u| u.name.get_ref().clone()).collect();
    let of_night: Vec<String> = units.iter().filter(|u| worn(u)).cloned().collect();
    match (units.as_slice(), of_night.as_slice()) {
        ([], _) => {
            let known: Vec<&str> = config.units.iter().map(|u| u.name.get_ref().as_str()).collect();
            let scorers = config.scorers.iter().map(|s| s.code.get_ref().as_str());
            let known: Vec<&str> = known.into_iter().chain(scorers).collect();
            bail!("there is no unit, device or scorer `{}` in study.toml; it has {}", clean(text), and(&known))
        }
        ([one], _) | (_, [one]) => Ok(one.clone()),
        (several, _) => bail!("`{}` has several units: write {}", clean(text), or(several)),
    }
}

/// Returns a typed time of a night.
pub(crate) fn time_in(night: &Night, text: &str) -> anyhow::Result<Instant> {
    Ok(typed_instant(text, Some(&Zone::named(&night.zone)?), Some(night.window))?)
}

/// Returns milliseconds of a typed length such as `3min`, `-90s` or `1min 30s`.
pub(crate) fn length_ms(text: &str) -> anyhow::Result<i64> {
    let unit = |c: char| c.is_ascii_alphabetic();
    let length = text.trim().parse::<jiff::SignedDuration>().ok().filter(|_| text.contains(unit));
    match length.and_then(|l| i64::try_from(l.as_millis()).ok()).filter(|ms| ms.abs() <= DAY_MS) {
        Some(ms) => Ok(ms),
        None => bail!(
            "`{}` is not a length of up to a day; write it with its unit, such as 3min, -90s or 1min 30s",
            clean(text)
        ),
    }
}

const DAY_MS: i64 = 86_400_000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_carry_their_unit() {
        let read = |t| length_ms(t).map_err(|e| e.to_string());
        assert_eq!(read("3min"), Ok(180_000));
        assert_eq!(read("-90s"), Ok(-90_000));
        assert_eq!(read("1min 30s"), Ok(90_000));
        assert_eq!(read("0.5 s"), Ok(500));
        assert!(read("3").is_err_and(|e| e.starts_with("`3` is not a length")));
        assert!(read("25h").is_err());
        assert!(read("").is_err());
    }
}
