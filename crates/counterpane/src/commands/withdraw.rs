//! `withdraw N`: a decision that is taken back. The log keeps both.

use crate::cli::Cli;
use crate::deciding::{decide, reason};
use crate::history::in_words;
use crate::opening;
use crate::output::{Ended, Out};
use anyhow::bail;
use counterpane_model::Zone;
use counterpane_store::Act;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Number of the decision: `counterpane show NIGHT --history` lists those of a night
    #[arg(value_name = "N")]
    decision: u64,
    /// Why; goes into the decision log
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let reason = reason(&args.reason)?;
    let mut study = opening::to_write(cli)?;
    let index = usize::try_from(args.decision).ok().and_then(|n| n.checked_sub(1));
    let Some(decision) = index.and_then(|i| study.decisions().get(i)) else {
        bail!(
            "there is no decision {}; decisions.jsonl holds {}, and `counterpane show NIGHT --history` lists those of a night",
            args.decision,
            study.decisions().len()
        );
    };
    let what = in_words(&decision.act, &Zone::named(study.config().zone())?);
    let was_import = matches!(decision.act, Act::Import(_));
    let n = decide(cli, &mut study, &Act::Withdraw { decision: args.decision, reason })?;
    let kept = if was_import {
        " Its original stays in originals/, and its recordings in the history of the night."
    } else {
        ""
    };
    out.say(format_args!("decision {n}: took back decision {} ({what}).{kept}", args.decision))?;
    Ok(Ended::Fine)
}
