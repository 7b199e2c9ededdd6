//! A definition on trial: its samples against their goldens, and a suite that every definition must pass.

pub(crate) mod places;
mod sample;
mod suite;

use crate::wording::count;
use anyhow::{Context as _, bail};
use counterpane_import::{Definition, describe, import};
use sample::Sample;
use std::path::{Path, PathBuf};

/// What a trial of one sample found.
#[derive(Debug)]
pub(crate) struct Verdict {
    /// Name of the definition and of the sample.
    pub(crate) name: String,
    /// What held, each a part of a sentence.
    pub(crate) held: Vec<String>,
    /// What did not hold, each a sentence.
    pub(crate) failed: Vec<String>,
}

/// Tries every definition of a folder: an importer's own folder, or a folder of such folders.
///
/// # Errors
/// There is no definition, a definition has a mistake, or a sample lacks its bindings.
pub(crate) fn run(folder: &Path) -> anyhow::Result<Vec<Verdict>> {
    let mut out = Vec::new();
    for importer in importers(folder)? {
        let id = importer.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let path = importer.join("importer.toml");
        let text = std::fs::read_to_string(&path).with_context(|| path.display().to_string())?;
        let definition =
            Definition::parse(&id, &text).map_err(|e| anyhow::anyhow!("{}", e.render(&path.display().to_string())))?;
        let samples = sample::of(&importer)?;
        if samples.is_empty() {
            bail!(
                "{}: put a sample into samples/, and beside it a .toml with what the command line would say",
                importer.display()
            );
        }
        for sample in &samples {
            out.push(try_one(&definition, sample).with_context(|| sample.path.display().to_string())?);
        }
    }
    Ok(out)
}

fn importers(folder: &Path) -> anyhow::Result<Vec<PathBuf>> {
    if folder.join("importer.toml").is_file() {
        return Ok(vec![folder.to_owned()]);
    }
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).with_context(|| folder.display().to_string())? {
        let path = entry?.path();
        if path.join("importer.toml").is_file() {
            found.push(path);
        }
    }
    found.sort();
    if found.is_empty() {
        bail!("{} holds no importer.toml, and neither do the folders in it", folder.display());
    }
    Ok(found)
}

fn try_one(definition: &Definition, sample: &Sample) -> anyhow::Result<Verdict> {
    let mut verdict =
        Verdict { name: format!("{}/{}", definition.id(), sample.bindings.file), held: Vec::new(), failed: Vec::new() };
    let outcome = import(definition, &mut sample.bytes.as_slice(), &sample.bindings, suite::limits());
    let given = match &outcome {
        Ok(outcome) => describe(outcome),
        Err(error) => format!("refused: {error}\n"),
    };
    golden(&mut verdict, sample, &given);
    let Ok(outcome) = outcome else { return Ok(verdict) };
    suite::sum(&mut verdict, &outcome);
    suite::places(&mut verdict, sample, &outcome);
    suite::cuts(&mut verdict, definition, sample, &outcome);
    suite::again(&mut verdict, definition, sample)?;
    suite::clock_change(&mut verdict, definition, sample);
    suite::shuffled(&mut verdict, definition, sample, &outcome);
    Ok(verdict)
}

/// Compares with the golden beside the sample; a sample without one is only tried.
fn golden(verdict: &mut Verdict, sample: &Sample, given: &str) {
    match &sample.expected {
        None => verdict.held.push("no .expected file to compare with".into()),
        Some(expected) if expected == given => verdict.held.push("golden as expected".into()),
        Some(expected) => {
            let differs = expected.lines().zip(given.lines()).position(|(a, b)| a != b);
            let line = differs.unwrap_or(expected.lines().count().min(given.lines().count()));
            let at = |text: &str| text.lines().nth(line).unwrap_or("(nothing)").to_owned();
            verdict.failed.push(format!(
                "the golden differs at line {}:\n  expected | {}\n  given    | {}",
                line + 1,
                at(expected),
                at(given)
            ));
        }
    }
}

/// Returns what a verdict says, on one line or more.
pub(crate) fn words(verdict: &Verdict) -> String {
    let mut out = verdict.name.clone();
    if !verdict.held.is_empty() {
        out.push_str(&format!("\n  {}", verdict.held.join("; ")));
    }
    for failure in &verdict.failed {
        out.push_str(&format!("\n  failed: {failure}"));
    }
    out
}

/// Returns the last line of a trial.
pub(crate) fn total(verdicts: &[Verdict]) -> String {
    let failed = verdicts.iter().filter(|v| !v.failed.is_empty()).count();
    format!("{} tried, {failed} failed", count(verdicts.len() as u64, "sample"))
}
