//! `prefer RECORDING`: which of several exports of a night counts.

use crate::cli::Cli;
use crate::deciding::{decide, reason};
use crate::opening;
use crate::output::{Ended, Out};
use counterpane_store::Act;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Key of the recording that is to count, such as `P01/2026-04-04/ring-a-1#2`
    #[arg(value_name = "RECORDING")]
    recording: String,
    /// Why; goes into the decision log and the report
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let reason = reason(&args.reason)?;
    let mut study = opening::to_write(cli)?;
    let n = decide(cli, &mut study, &Act::Count { recording: args.recording.clone(), reason })?;
    out.say(format_args!(
        "decision {n}: {} counts from now on; the others stand beside it. Take it back with `counterpane withdraw {n} --reason …`",
        args.recording
    ))?;
    Ok(Ended::Fine)
}
