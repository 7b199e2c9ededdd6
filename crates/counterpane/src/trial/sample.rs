//! Samples of a definition: a file, what the command line would say of it, and what it gives.

use anyhow::{Context as _, bail};
use counterpane_import::Bindings;
use counterpane_model::{Lights, Night, NightKind, Zone, typed_instant};
use counterpane_store::config::noon_to_noon;
use serde::Deserialize;
use std::path::{Path, PathBuf};

/// One sample.
#[derive(Debug)]
pub(crate) struct Sample {
    /// Where it stands.
    pub(crate) path: PathBuf,
    /// Its bytes.
    pub(crate) bytes: Vec<u8>,
    /// What the command line would say of it.
    pub(crate) bindings: Bindings,
    /// What it gives, if that is written down.
    pub(crate) expected: Option<String>,
}

/// The `.toml` beside a sample.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Said {
    participant: String,
    night: Option<String>,
    zone: Option<String>,
    start: Option<String>,
    end: Option<String>,
    lights_off: Option<String>,
    lights_on: Option<String>,
    #[serde(default)]
    nights: Vec<SaidNight>,
}

/// A declared night of a sample; noon to noon unless it says otherwise.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SaidNight {
    label: String,
    zone: String,
    from: Option<String>,
    until: Option<String>,
}

/// Returns the samples of an importer's folder, by name.
pub(crate) fn of(importer: &Path) -> anyhow::Result<Vec<Sample>> {
    let folder = importer.join("samples");
    let mut paths: Vec<PathBuf> = Vec::new();
    for entry in std::fs::read_dir(&folder).with_context(|| folder.display().to_string())? {
        paths.push(entry?.path());
    }
    paths.sort();
    let is_sample =
        |p: &&PathBuf| p.is_file() && !matches!(p.extension().and_then(|e| e.to_str()), Some("toml" | "expected"));
    paths.iter().filter(is_sample).map(|p| read(p)).collect()
}

fn read(path: &Path) -> anyhow::Result<Sample> {
    let beside = path.with_extension("toml");
    let text = std::fs::read_to_string(&beside)
        .with_context(|| format!("{}: write what the command line would say of the sample", beside.display()))?;
    let said: Said = toml::from_str(&text).with_context(|| beside.display().to_string())?;
    let file = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let expected = path.with_extension("expected");
    let expected = if expected.is_file() { Some(std::fs::read_to_string(expected)?) } else { None };
    Ok(Sample { path: path.to_owned(), bytes: std::fs::read(path)?, bindings: bindings(file, said)?, expected })
}

fn bindings(file: String, said: Said) -> anyhow::Result<Bindings> {
    let nights = said.nights.into_iter().map(|n| night(n, &said.participant)).collect::<anyhow::Result<_>>()?;
    Ok(Bindings {
        file,
        participant: said.participant,
        nights,
        night: said.night,
        zone: said.zone.as_deref().map(Zone::named).transpose()?,
        start: said.start,
        end: said.end,
        lights_off: said.lights_off,
        lights_on: said.lights_on,
        ..Bindings::default()
    })
}

fn night(said: SaidNight, participant: &str) -> anyhow::Result<Night> {
    let zone = Zone::named(&said.zone)?;
    // The label may carry a name after the date of the evening.
    let date = said.label.get(..10).unwrap_or(&said.label);
    let noon = noon_to_noon(date, &zone);
    let typed = |text: &str| typed_instant(&text.replace('T', " "), Some(&zone), None);
    let window = match (&said.from, &said.until, noon) {
        (Some(from), Some(until), _) => (typed(from)?, typed(until)?),
        (Some(from), None, Some(noon)) => (typed(from)?, noon.1),
        (None, Some(until), Some(noon)) => (noon.0, typed(until)?),
        (None, None, Some(noon)) => noon,
        _ => bail!("the night `{}` is no date, so it needs `from` and `until`", said.label),
    };
    Ok(Night {
        participant: participant.to_owned(),
        label: said.label,
        kind: NightKind::Night,
        zone: said.zone,
        window,
        lights: Lights::default(),
    })
}
