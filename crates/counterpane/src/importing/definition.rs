//! Which definition reads a file, and why that one.

use super::Asked;
use crate::definitions;
use crate::recognising::{self, Recognised};
use counterpane_formats::Limits;
use counterpane_formats::sniff::sniff_file;
use counterpane_import::Definition;
use counterpane_store::Study;
use std::io::Seek as _;
use std::path::Path;

/// Why a definition reads a file.
#[derive(Clone, Debug)]
pub(crate) enum Why {
    /// The command line names it.
    Asked,
    /// study.toml names it for this unit, device or scorer.
    Usual(String),
    /// It fits the file.
    Fits {
        /// The facts that hold, each a part of a sentence.
        facts: Vec<String>,
        /// Other definitions that fit, less closely.
        others: Vec<String>,
    },
}

impl Why {
    /// Returns the reason as one word.
    pub(crate) fn code(&self) -> &'static str {
        match self {
            Why::Asked => "asked",
            Why::Usual(_) => "usual",
            Why::Fits { .. } => "fits",
        }
    }

    /// Returns the facts of the file that hold, where the definition was chosen by them.
    pub(crate) fn facts(&self) -> &[String] {
        match self {
            Why::Fits { facts, .. } => facts,
            Why::Asked | Why::Usual(_) => &[],
        }
    }

    /// Returns the reason in a few words, behind the definition's id.
    pub(crate) fn words(&self) -> String {
        match self {
            Why::Asked => String::new(),
            Why::Usual(of) => format!(", usual for {of}"),
            Why::Fits { others, .. } if others.is_empty() => ", the one that fits".into(),
            Why::Fits { others, .. } => format!(", which fits better than {}", crate::wording::and(others)),
        }
    }
}

/// Returns the definition that is asked for, else the usual one of the unit, the device or the scorer, else the one that
/// fits best.
pub(super) fn choose_definition(
    study: &Study,
    path: &Path,
    file: &mut std::fs::File,
    asked: &Asked,
    limits: Limits,
) -> anyhow::Result<(Definition, Why)> {
    if let Some(id) = &asked.definition {
        return Ok((definitions::named(Some(study.root()), id)?, Why::Asked));
    }
    if let Some((of, id)) = usual(study, asked) {
        return Ok((definitions::named(Some(study.root()), &id)?, Why::Usual(of)));
    }
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    // An archive and a workbook are known by what they hold, which their beginning does not tell.
    let look = sniff_file(&name, &mut *file, limits)?;
    file.rewind()?;
    let Recognised { definition, facts, others } = recognising::recognised(study.root(), path, &look)?;
    Ok((definition, Why::Fits { facts, others }))
}

/// Returns whose usual definition holds, and its id.
fn usual(study: &Study, asked: &Asked) -> Option<(String, String)> {
    let config = study.config();
    if let Some(code) = &asked.scorer {
        return config.scorer(code)?.definition.clone().map(|id| (code.clone(), id));
    }
    let unit = asked.unit.as_deref().and_then(|u| config.unit(u));
    if let Some((unit, id)) = unit.and_then(|u| Some((u, u.definition.clone()?))) {
        return Some((unit.name.get_ref().clone(), id));
    }
    let device = asked.device.as_deref().or(unit.map(|u| u.device.get_ref().as_str()))?;
    config.device(device)?.definition.clone().map(|id| (device.to_owned(), id))
}
