//! What the head of a sheet says of itself: it stands for options that nobody gave.

use super::Asked;
use crate::sheets::{Form, Sheet, outside, sheet};
use anyhow::bail;
use counterpane_import::kinds::OUTSIDE_SCREEN;
use counterpane_import::{Definition, Outcome};
use counterpane_model::{Finding, Night, Place};
use counterpane_store::{ImportAct, Study};
use std::path::Path;

/// Definitions of the forms of docs/sheets.md.
const READ_SHEETS: [&str; 4] = ["typed-changes", "typed-changes-book", "typed-epochs", "typed-epochs-book"];

/// Returns what is asked, and where it is silent what the sheet's head says; with the sheet, where the file is one.
///
/// # Errors
/// The sheet cannot be read, or it is of another unit, scorer or night than asked for.
pub(super) fn with_head(path: &Path, definition: &Definition, asked: Asked) -> anyhow::Result<(Asked, Option<Sheet>)> {
    if !READ_SHEETS.contains(&definition.id()) {
        return Ok((asked, None));
    }
    let sheet = sheet(path)?;
    if sheet.rows.is_empty() {
        bail!("it holds no rows yet: fill it in first");
    }
    let mut all = asked;
    let named = all.device.is_some() || all.unit.is_some() || all.scorer.is_some();
    match sheet.form {
        Form::Changes if named => same(&sheet, "unit", all.unit.as_deref())?,
        Form::Changes => all.unit = said(&sheet, "unit"),
        Form::Epochs if named => same(&sheet, "scorer", all.scorer.as_deref())?,
        Form::Epochs => all.scorer = said(&sheet, "scorer"),
    }
    same(&sheet, "night", all.night.as_deref())?;
    same(&sheet, "participant", all.participant.as_deref())?;
    let fields = [
        (&mut all.night, "night"),
        (&mut all.participant, "participant"),
        (&mut all.start, "epoch 1"),
        (&mut all.lights_off, "lights off"),
        (&mut all.lights_on, "lights on"),
    ];
    for (option, field) in fields {
        if option.is_none() {
            *option = said(&sheet, field);
        }
    }
    if all.precision.is_none() {
        all.precision = sheet.precision()?;
    }
    Ok((all, Some(sheet)))
}

fn said(sheet: &Sheet, field: &str) -> Option<String> {
    sheet.field(field).map(str::to_owned)
}

/// Refuses a sheet that says another thing than was asked for.
fn same(sheet: &Sheet, field: &str, asked: Option<&str>) -> anyhow::Result<()> {
    match (sheet.field(field), asked) {
        (Some(says), Some(asked)) if says != asked => {
            bail!("the sheet is of the {field} `{says}`, not `{asked}`; import the other sheet, or mend its head")
        }
        _ => Ok(()),
    }
}

/// Finds rows outside the stretch that the head says the screen covers.
///
/// # Errors
/// What the head says is no stretch of the clock.
pub(super) fn check_window(sheet: &Sheet, file: &str, outcome: &mut Outcome) -> anyhow::Result<()> {
    let rows = outside(sheet)?;
    let (Some(first), Some(part)) = (rows.first(), outcome.parts.first_mut()) else { return Ok(()) };
    let lie = if rows.len() == 1 { "row lies" } else { "rows lie" };
    let message = format!(
        "{} {lie} outside the stretch that the screen covers by the head, {}: `{}` at `{}`",
        rows.len(),
        sheet.field("window").unwrap_or_default(),
        first.is,
        first.at
    );
    let line = format!("{} {}", first.at, first.is);
    let place = Place { file: file.to_owned(), locator: first.place.clone(), line };
    part.findings.push(Finding { count: rows.len() as u64, ..OUTSIDE_SCREEN.finding(message).at(place) });
    Ok(())
}

/// The same for a sheet that is read again from its original.
///
/// # Errors
/// See [`check_window`]; the original cannot be read.
pub(super) fn check_window_again(study: &Study, act: &ImportAct, outcome: &mut Outcome) -> anyhow::Result<()> {
    if !READ_SHEETS.contains(&act.definition.as_str()) {
        return Ok(());
    }
    check_window(&sheet(&study.originals().path_of(&act.original))?, &act.file, outcome)
}

/// Refuses a sheet whose head names another zone than its night has: its times would be moved.
///
/// # Errors
/// See above; the message says both zones.
pub(super) fn check_zone(sheet: &Sheet, asked: &Asked, nights: &[Night]) -> anyhow::Result<()> {
    if asked.zone.is_some() {
        return Ok(());
    }
    let night = nights.iter().find(|n| Some(&n.label) == asked.night.as_ref());
    match (sheet.field("zone"), night) {
        (Some(says), Some(night)) if says != night.zone => bail!(
            "the sheet says that its times are of {says}, and the night {} is of {}; mend its head, or give the zone with --zone",
            night.label,
            night.zone
        ),
        _ => Ok(()),
    }
}
