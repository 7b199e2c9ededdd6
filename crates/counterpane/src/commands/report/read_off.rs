//! Recordings that a person read off a picture or a printed list, with the pictures that are kept.

use crate::owed::is_typed;
use anyhow::bail;
use counterpane_formats::blank::Blankable;
use counterpane_model::grid::{Grid, project};
use counterpane_model::{Instant, Zone};
use counterpane_report::{Image, ImageKind, PictureLine, ReadOff, ReadingsApart};
use counterpane_store::{Picture, Settles, Stored, Study};
use std::io::Read as _;

/// Returns what was typed or traced of these recordings, or has a picture; with the pictures themselves where `shown` says so.
///
/// # Errors
/// A picture is missing among the originals, or was changed there.
pub(super) fn read_off(study: &Study, recordings: &[Stored], shown: bool) -> anyhow::Result<Vec<ReadOff>> {
    let mut out = Vec::new();
    for stored in recordings {
        let Some(act) = study.import_of(stored.decision) else { continue };
        if !is_typed(&stored.definition) && act.pictures.is_empty() {
            continue;
        }
        let recording = &stored.recording;
        let (from, until) = recording.bounds().unwrap_or((Instant(0), Instant(0)));
        // Epochs of the wall clock's half minutes: what was typed depends on no reference.
        let grid = Grid::covering(Instant(0), from, until);
        let pictures = act.pictures.iter().map(|p| picture(study, p, shown));
        out.push(ReadOff {
            night: format!("{}/{}", recording.participant, recording.night),
            recording: recording.key.rsplit('/').next().unwrap_or(&recording.key).to_owned(),
            zone: Zone::named(&recording.zone)?,
            start: grid.start,
            cells: project(&recording.spans, grid),
            pictures: pictures.collect::<anyhow::Result<_>>()?,
            apart: act.settles.as_ref().map(apart),
        });
    }
    Ok(out)
}

fn apart(s: &Settles) -> ReadingsApart {
    let whole = |n: u64| usize::try_from(n).unwrap_or(usize::MAX);
    ReadingsApart {
        rows: whole(s.rows),
        rows_differing: whole(s.rows_differing),
        minutes: s.seconds as f64 / 60.0,
        minutes_differing: s.seconds_differing as f64 / 60.0,
    }
}

fn picture(study: &Study, picture: &Picture, shown: bool) -> anyhow::Result<PictureLine> {
    let image = if shown { Some(image(study, picture)?) } else { None };
    Ok(PictureLine { file: picture.file.clone(), sha256: picture.sha256.clone(), image })
}

fn image(study: &Study, picture: &Picture) -> anyhow::Result<Image> {
    let mut bytes = Vec::new();
    study.originals().open(&picture.sha256, &picture.file)?.read_to_end(&mut bytes)?;
    let kind = match Blankable::of(&bytes) {
        Some(Blankable::Png) => ImageKind::Png,
        Some(Blankable::Jpeg) => ImageKind::Jpeg,
        Some(Blankable::Edf) | None => bail!("{} is kept as a picture and is neither PNG nor JPEG", picture.file),
    };
    Ok(Image { kind, bytes })
}
