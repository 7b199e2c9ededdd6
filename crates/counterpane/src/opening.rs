//! Opening a study, and finishing what was decided and not applied.

use crate::cli::Cli;
use crate::importing;
use crate::output::Out;
use anyhow::Context as _;
use counterpane_check::check_night;
use counterpane_model::{Finding, NightFacts};
use counterpane_store::{Access, Act, Decision, Deed, StoreError, Study};
use std::path::PathBuf;

/// Returns the folder of the study that a command speaks of.
pub(crate) fn folder(cli: &Cli) -> anyhow::Result<PathBuf> {
    match &cli.study {
        Some(dir) => Ok(dir.clone()),
        None => {
            let here = std::env::current_dir().context("the current folder")?;
            Ok(Study::find(&here)?)
        }
    }
}

/// Opens the study to be changed, after finishing what is pending.
pub(crate) fn to_write(cli: &Cli) -> anyhow::Result<Study> {
    let mut study = Study::open(&folder(cli)?, Access::Write)?;
    finish(&mut study)?;
    // A window, a zone or lights may have been edited: no number is computed on findings of before.
    if study.needs_recheck()? {
        study.recheck(&checker)?;
    }
    if !study.knows_protocol() {
        let by = author(cli, &study).unwrap_or_else(|| NOBODY.into());
        study.note_protocol(Deed::New { at: &now(), by: &by })?;
    }
    Ok(study)
}

/// Opens the study to be read. What is pending is finished first, and a changed `study.toml` followed.
pub(crate) fn to_read(cli: &Cli) -> anyhow::Result<Study> {
    let folder = folder(cli)?;
    let study = match Study::open(&folder, Access::Read) {
        Err(StoreError::Older) => return to_write(cli),
        opened => opened?,
    };
    let current = study.pending()?.is_empty() && study.follows_config()?;
    if current && study.knows_protocol() {
        return Ok(study);
    }
    drop(study);
    match to_write(cli) {
        // A study that can only be read is read: what is computed then says that its protocol was not noted.
        Err(_) if current => Ok(Study::open(&folder, Access::Read)?),
        opened => opened,
    }
}

/// Notes that results are looked at, before they are shown; only the first time is noted. A study that cannot be written is
/// shown all the same, and this is said.
pub(crate) fn looked(cli: &Cli, study: Study, command: &str, out: &mut Out) -> anyhow::Result<Study> {
    if study.looked().is_some() {
        return Ok(study);
    }
    let root = study.root().to_owned();
    // It may hold the lock itself.
    drop(study);
    let noted = to_write(cli).and_then(|mut study| {
        let by = author(cli, &study).unwrap_or_else(|| NOBODY.into());
        study.note_looked(Deed::New { at: &now(), by: &by }, command)?;
        Ok(study)
    });
    match noted {
        Ok(study) => Ok(study),
        Err(why) => {
            out.say(format_args!(
                "that results are looked at could not be noted in decisions.jsonl, so a protocol that is laid down later will count as laid down before: {}",
                crate::output::chain(&why)
            ))?;
            Ok(Study::open(&root, Access::Read)?)
        }
    }
}

/// Applies every decision of the log that the store lacks.
pub(crate) fn finish(study: &mut Study) -> anyhow::Result<()> {
    for decision in study.pending()? {
        apply(study, &decision).with_context(|| format!("decision {} of decisions.jsonl", decision.n))?;
    }
    Ok(())
}

/// Carries out a decision of the log.
pub(crate) fn apply(study: &mut Study, decision: &Decision) -> anyhow::Result<()> {
    match &decision.act {
        Act::Import(act) => importing::apply_again(study, decision, act),
        act => Ok(study.decide(Deed::Logged(decision), act, &checker)?),
    }
}

/// Runs the checks on a night: what the store calls when a night changes.
pub(crate) fn checker(night: &NightFacts<'_>) -> Vec<Finding> {
    check_night(night)
}

/// Returns who decides: `--author`, else `author` of study.toml; nobody is made up.
pub(crate) fn author(cli: &Cli, study: &Study) -> Option<String> {
    cli.author.clone().or_else(|| study.config().author.clone()).filter(|a| !a.trim().is_empty())
}

/// What the log says where an import names nobody.
pub(crate) const NOBODY: &str = "(not named)";

/// Returns the time of a decision: the one place where the clock is read.
#[expect(clippy::disallowed_methods, reason = "this crate reads the clock, and this function alone")]
pub(crate) fn now() -> String {
    let now = jiff::Timestamp::now();
    now.round(jiff::Unit::Second).unwrap_or(now).to_string()
}
