//! What study.toml says of a unit's or a scorer's files, so that the daily command needs no option.

use super::Asked;
use crate::wording::and;
use anyhow::bail;
use counterpane_import::fits_pattern;
use counterpane_model::Source;
use counterpane_store::Study;
use std::path::Path;

/// Returns what is asked with the unit or scorer to which a file of this name belongs, where nobody is named.
///
/// # Errors
/// The name fits the `files` of several.
pub(super) fn with_source(study: &Study, path: &Path, asked: &Asked) -> anyhow::Result<Asked> {
    let mut asked = asked.clone();
    if asked.device.is_some() || asked.unit.is_some() || asked.scorer.is_some() {
        return Ok(asked);
    }
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let config = study.config();
    let units: Vec<&str> =
        config.units.iter().filter(|u| fits(&u.files, &whole)).map(|u| u.name.get_ref().as_str()).collect();
    let scorers: Vec<&str> =
        config.scorers.iter().filter(|s| fits(&s.files, &whole)).map(|s| s.code.get_ref().as_str()).collect();
    match (units.as_slice(), scorers.as_slice()) {
        ([], []) => {}
        ([unit], []) => asked.unit = Some((*unit).to_owned()),
        ([], [scorer]) => asked.scorer = Some((*scorer).to_owned()),
        _ => bail!(
            "its name fits the `files` of {} in study.toml; name one with --unit or --scorer, or make the patterns narrower",
            and(&[units, scorers].concat())
        ),
    }
    Ok(asked)
}

/// Returns what is asked with what is usual for the files of a source.
pub(super) fn with_bindings(study: &Study, source: &Source, mut asked: Asked) -> Asked {
    let config = study.config();
    let (zone, new_nights) = match source {
        Source::Device { unit, .. } => config.unit(unit).map(|u| (&u.zone, u.new_nights)),
        Source::Reference { scorer, .. } => config.scorer(scorer).map(|s| (&s.zone, s.new_nights)),
    }
    .unwrap_or((&None, None));
    asked.zone = asked.zone.or_else(|| zone.as_ref().map(|z| z.get_ref().clone()));
    asked.new_nights = asked.new_nights.or(new_nights);
    asked
}

/// A pattern with slashes speaks of as many folders above the file.
fn fits(patterns: &[String], whole: &Path) -> bool {
    let parts: Vec<String> = whole.iter().map(|part| part.to_string_lossy().into_owned()).collect();
    patterns.iter().any(|pattern| {
        let from = parts.len().saturating_sub(pattern.split('/').count());
        fits_pattern(pattern, &parts[from..].join("/"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_speaks_of_the_end_of_a_path() {
        let check = |pattern: &str| fits(&[pattern.to_owned()], Path::new("/home/x/P01/ring-3.json"));
        assert!(check("ring-*.json") && check("P01/ring-*.json") && check("P*/*"));
        assert!(!check("P02/ring-*.json") && !check("ring.json") && !check("*/x/ring-*.json"));
    }
}
