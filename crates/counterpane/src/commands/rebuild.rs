//! `rebuild`: the store made anew from originals, decisions and study.toml.

use crate::cli::Cli;
use crate::commands::new::TOOL;
use crate::opening;
use crate::output::{Ended, Out};
use crate::wording::count;
use anyhow::Context as _;
use counterpane_store::{Access, Study};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {}

pub(crate) fn run(cli: &Cli, _args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let folder = opening::folder(cli)?;
    // A store that cannot be read is no reason not to make a new one.
    let before = Study::open(&folder, Access::Read).and_then(|s| s.canonical_dump()).ok();
    let mut study = Study::open_beside(&folder)?;
    opening::finish(&mut study).context("the store is left as it was")?;
    study.made_by(TOOL)?;
    study.recheck(&opening::checker)?;
    let same = before.map(|b| study.canonical_dump().map(|now| now == b)).transpose()?;
    let decisions = study.decisions().len() as u64;
    study.take_over()?;
    out.say(format_args!(
        "made study.db anew from {}; {}",
        count(decisions, "decision"),
        match same {
            Some(true) => "its contents are the same as before",
            Some(false) => "its contents differ from before: study.toml, zone rules or this program changed since",
            None => "the store before it could not be read",
        }
    ))?;
    Ok(Ended::Fine)
}
