//! `rebuild`: the store made anew from originals, decisions and study.toml.

use crate::cli::Cli;
use crate::commands::new::TOOL;
use crate::opening;
use crate::output::{Ended, Out};
use crate::wording::count;
use anyhow::Context as _;
use counterpane_store::{Access, StoreError, Study};
use std::path::Path;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {}

pub(crate) fn run(cli: &Cli, _args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let folder = opening::folder(cli)?;
    let before = Before::of(&folder);
    let mut study = Study::open_beside(&folder)?;
    opening::finish(&mut study).context("the store is left as it was")?;
    study.made_by(TOOL)?;
    study.recheck(&opening::checker)?;
    let now = study.canonical_dump()?;
    let decisions = study.decisions().len() as u64;
    study.take_over()?;
    out.say(format_args!("made study.db anew from {}; {}", count(decisions, "decision"), before.beside(&now)))?;
    Ok(Ended::Fine)
}

/// The store that was there before.
enum Before {
    /// None was, or an empty file.
    Absent,
    /// Another version of this program made it.
    OfAnotherVersion,
    /// It could not be read, which is no reason not to make a new one.
    Unreadable,
    /// What it said, and how many decisions of the log it had not taken in yet.
    Said { dump: String, pending: usize },
}

impl Before {
    fn of(folder: &Path) -> Before {
        if !Study::has_store(folder) {
            return Before::Absent;
        }
        let said = |s: Study| Ok(Before::Said { dump: s.canonical_dump()?, pending: s.pending()?.len() });
        match Study::open(folder, Access::Read).and_then(said) {
            Ok(before) => before,
            Err(StoreError::Older | StoreError::Newer { .. }) => Before::OfAnotherVersion,
            Err(_) => Before::Unreadable,
        }
    }

    /// Says how what was made now stands beside it.
    fn beside(&self, now: &str) -> String {
        match self {
            Before::Absent => "there was none before, so there is nothing to compare it with".into(),
            Before::OfAnotherVersion => {
                "the one before has the schema of another version of counterpane, so it cannot be compared".into()
            }
            Before::Unreadable => "the one before could not be read, so it cannot be compared".into(),
            Before::Said { dump, .. } if dump == now => "its contents are the same as before".into(),
            Before::Said { pending: 0, .. } => {
                "its contents differ from before: study.toml, zone rules or this program changed since".into()
            }
            Before::Said { pending, .. } => {
                let n = count(*pending as u64, "decision");
                format!("its contents differ from before: the one before had not taken in the last {n}")
            }
        }
    }
}
