//! Who says what a file says: a unit of a device, or a scorer.

use super::Asked;
use crate::wording::and;
use anyhow::bail;
use counterpane_import::Definition;
use counterpane_model::Source;
use counterpane_store::{ImportAct, Study};

pub(super) fn choose_source(study: &Study, definition: &Definition, asked: &Asked) -> anyhow::Result<Source> {
    let config = study.config();
    if let Some(code) = &asked.scorer {
        if asked.device.is_some() || asked.unit.is_some() {
            bail!("--scorer names a reference and --device or --unit a device; give one of them");
        }
        return scorer(study, code);
    }
    if let Some(unit) = &asked.unit {
        let unit = config.unit(unit).ok_or_else(|| unknown_unit(study, unit))?;
        let device = unit.device.get_ref().clone();
        if asked.device.as_ref().is_some_and(|d| *d != device) {
            bail!("`{}` is a unit of the device `{device}`; leave out --device or name that one", unit.name.get_ref());
        }
        return Ok(Source::Device { device, unit: unit.name.get_ref().clone() });
    }
    let device = match &asked.device {
        Some(device) => config.device(device).ok_or_else(|| unknown_device(study, device))?.name.get_ref().clone(),
        None => source_by_definition(study, definition)?,
    };
    if config.scorer(&device).is_some() && config.device(&device).is_none() {
        return scorer(study, &device);
    }
    let units: Vec<_> = config
        .units_of(&device)
        .filter(|u| match (&u.participant, &asked.participant) {
            (Some(wearer), Some(asked)) => wearer.get_ref() == asked,
            _ => true,
        })
        .map(|u| u.name.get_ref().clone())
        .collect();
    match units.as_slice() {
        [unit] => Ok(Source::Device { device, unit: unit.clone() }),
        [] => bail!(
            "study.toml has no unit of `{device}`{}; add one there:\n\n[[unit]]\nname = \"{device}-1\"\ndevice = \"{device}\"",
            asked.participant.as_ref().map(|p| format!(" for {p}")).unwrap_or_default()
        ),
        several => {
            bail!("`{device}` has the units {}; name one with --unit, or the wearer with --participant", and(several))
        }
    }
}

pub(super) fn source_of(study: &Study, act: &ImportAct) -> anyhow::Result<Source> {
    if let Some(unit) = &act.unit {
        let device = study.config().unit(unit).ok_or_else(|| unknown_unit(study, unit))?.device.get_ref().clone();
        return Ok(Source::Device { device, unit: unit.clone() });
    }
    scorer(study, act.scorer.as_deref().unwrap_or_default())
}

/// Returns the only device or scorer whose usual definition this is.
fn source_by_definition(study: &Study, definition: &Definition) -> anyhow::Result<String> {
    let config = study.config();
    let devices =
        config.devices.iter().filter(|d| d.definition.as_deref() == Some(definition.id())).map(|d| d.name.get_ref());
    let scorers =
        config.scorers.iter().filter(|s| s.definition.as_deref() == Some(definition.id())).map(|s| s.code.get_ref());
    match devices.chain(scorers).collect::<Vec<_>>().as_slice() {
        [one] => Ok((*one).clone()),
        [] => bail!(
            "nobody is named who says this: give --device or --unit, or --scorer for a reference (the file reads as `{}`)",
            definition.id()
        ),
        several => {
            bail!("the definition `{}` serves {}; name one with --device or --scorer", definition.id(), and(several))
        }
    }
}

fn scorer(study: &Study, code: &str) -> anyhow::Result<Source> {
    let config = study.config();
    let found = config.scorer(code).ok_or_else(|| {
        let known: Vec<&str> = config.scorers.iter().map(|s| s.code.get_ref().as_str()).collect();
        let example = format!("[[scorer]]\ncode = {}\nscored_by = \"human\"   # or \"algorithm\"", toml_text(code));
        unknown("scorer", code, &known, example)
    })?;
    Ok(Source::Reference { scorer: code.to_owned(), scored_by: found.scored_by })
}

fn unknown_unit(study: &Study, unit: &str) -> anyhow::Error {
    let known: Vec<&str> = study.config().units.iter().map(|u| u.name.get_ref().as_str()).collect();
    let example = format!("[[unit]]\nname = {}\ndevice = \"…\"", toml_text(unit));
    unknown("unit", unit, &known, example)
}

fn unknown_device(study: &Study, device: &str) -> anyhow::Error {
    let known: Vec<&str> = study.config().devices.iter().map(|d| d.name.get_ref().as_str()).collect();
    let name = toml_text(device);
    let example =
        format!("[[device]]\nname = {name}\n\n[[unit]]\nname = {}\ndevice = {name}", toml_text(&format!("{device}-1")));
    unknown("device", device, &known, example)
}

pub(super) fn unknown(what: &'static str, name: &str, known: &[&str], example: String) -> anyhow::Error {
    counterpane_store::StoreError::Unknown { what, name: name.to_owned(), known: and(known), example }.into()
}

pub(super) fn toml_text(name: &str) -> String {
    counterpane_store::config::quoted(name)
}
