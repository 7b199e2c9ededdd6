//! What `import` says of pictures and of the two readings behind a settled sheet.

use crate::importing::File;
use crate::output::{Out, clean};
use crate::wording::{and, apart_words};
use schemars::JsonSchema;
use serde::Serialize;

/// A picture that is kept with a file.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct PictureAnswer {
    /// Name of its file.
    file: String,
    /// SHA-256 of the bytes that are kept.
    sha256: String,
    /// SHA-256 of the picture as it was received, where something was blanked on the way in.
    received_sha256: Option<String>,
    /// What was blanked on the way in.
    blanked: Vec<String>,
    /// What its metadata told as it was received, beside what it shows: a place, a person, a device, a time.
    tells: Vec<String>,
}

/// The two readings that a settled sheet follows from.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SettlesAnswer {
    /// Names of the two files.
    files: [String; 2],
    /// SHA-256 of each.
    sha256: [String; 2],
    /// Rows, once those that belong together are laid beside each other.
    rows: u64,
    /// How many of them differ.
    rows_differing: u64,
    /// Minutes of which at least one reading says something.
    minutes: f64,
    /// How many of them the two tell differently.
    minutes_differing: f64,
}

/// Returns the pictures of a file.
pub(super) fn pictures(brought: &File) -> Vec<PictureAnswer> {
    let told = brought.act.pictures.iter().zip(&brought.read_from.tells);
    let answers = told.map(|(p, tells)| PictureAnswer {
        file: p.file.clone(),
        sha256: p.sha256.clone(),
        received_sha256: p.blanked.as_ref().map(|b| b.received.clone()),
        blanked: p.blanked.as_ref().map(|b| b.fields.clone()).unwrap_or_default(),
        tells: tells.iter().map(|t| (*t).to_owned()).collect(),
    });
    answers.collect()
}

/// Returns the readings behind a settled sheet.
pub(super) fn settles(brought: &File) -> Option<SettlesAnswer> {
    let s = brought.act.settles.as_ref()?;
    Some(SettlesAnswer {
        files: [s.first.file.clone(), s.second.file.clone()],
        sha256: [s.first.sha256.clone(), s.second.sha256.clone()],
        rows: s.rows,
        rows_differing: s.rows_differing,
        minutes: s.seconds as f64 / 60.0,
        minutes_differing: s.seconds_differing as f64 / 60.0,
    })
}

/// Says which pictures and readings are kept, what is lacking, and what the metadata of the pictures tell.
pub(super) fn say(brought: &File, dry_run: bool, out: &mut Out) -> anyhow::Result<()> {
    let (act, told) = (&brought.act, &brought.read_from);
    let (keeps, are) = if dry_run { ("would keep", "would be kept") } else { ("keeps", "are kept") };
    if !act.pictures.is_empty() {
        let names: Vec<String> = act.pictures.iter().map(|p| clean(&p.file)).collect();
        out.say(format_args!("  {keeps} {} as the source of its rows", and(&names)))?;
    }
    for (picture, tells) in act.pictures.iter().zip(&told.tells) {
        let file = clean(&picture.file);
        match &picture.blanked {
            Some(blanked) => out.say(format_args!("  {file} is kept without {}", and(&blanked.fields)))?,
            None if tells.is_empty() => {}
            None => out.say(format_args!(
                "  note: the metadata of {file} tell {}, which the copy in originals/ keeps; --blank-identity keeps it without",
                and(tells)
            ))?,
        }
    }
    if !told.no_picture.is_empty() {
        let names: Vec<String> = told.no_picture.iter().map(|n| clean(n)).collect();
        out.say(format_args!(
            "  note: its head names {}, not found beside it: nothing shows what its rows were read from. Put it there, or name it with --picture",
            and(&names)
        ))?;
    }
    if !told.no_reading.is_empty() {
        let names: Vec<String> = told.no_reading.iter().map(|n| clean(n)).collect();
        out.say(format_args!(
            "  note: it was settled from {}, not found beside it and not in the study, or changed since: how far the readings were apart stays unknown",
            and(&names)
        ))?;
    }
    if let Some(s) = &act.settles {
        let (first, second) = (clean(&s.first.file), clean(&s.second.file));
        out.say(format_args!(
            "  settled from {first} and {second}, which {are}: the two told {} differently",
            apart_words(s)
        ))?;
    }
    Ok(())
}
