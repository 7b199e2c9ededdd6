//! What the head of a sheet says of itself: it stands for options that nobody gave.

use super::Asked;
use crate::sheets::{Form, Sheet, sheet};
use anyhow::bail;
use counterpane_import::Definition;
use counterpane_model::Night;
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
