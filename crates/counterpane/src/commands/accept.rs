//! `accept CODE NIGHT`: an error that the reviewer has looked at and lets stand.

use crate::cli::Cli;
use crate::commands::{explain, show};
use crate::deciding::{decide, reason};
use crate::opening;
use crate::output::{Ended, Out};
use crate::wording::{and, count};
use anyhow::bail;
use counterpane_model::{Accepted, Severity};
use counterpane_store::Act;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Code of the finding, such as `spans-overlap`
    #[arg(value_name = "CODE")]
    code: String,
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// Recording it is accepted for: its key, unit, device or scorer; else every one of the night
    #[arg(long, value_name = "NAME")]
    source: Option<String>,
    /// Why it may stand; goes into the decision log and the report
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let kind = explain::kind(&args.code)?;
    let then = match kind.accepted {
        Accepted::Then(then) => then,
        Accepted::Never(why) => bail!("`{}` cannot be accepted: {why}", kind.code),
        Accepted::NotNeeded => {
            bail!("`{}` holds nothing back, so there is nothing to accept; it stays in the report", kind.code)
        }
    };
    reason(&args.reason)?;
    let mut study = opening::to_write(cli)?;
    let night = show::find_night(&study, &args.night)?;
    let recording = args.source.as_ref().map(|s| show::find_recording(&study, &night, s)).transpose()?;
    let open: Vec<_> = study
        .findings(Some((&night.participant, &night.label)))?
        .into_iter()
        .filter(|f| f.is_open_error() && f.finding.code == args.code)
        .filter(|f| recording.is_none() || f.finding.recording == recording)
        .collect();
    if open.is_empty() {
        let others: Vec<String> = study
            .findings(Some((&night.participant, &night.label)))?
            .iter()
            .filter(|f| f.finding.severity == Severity::Error && f.accepted.is_none())
            .map(|f| format!("{} of {}", f.finding.code, f.finding.recording.as_deref().unwrap_or("the night")))
            .collect();
        bail!("no open `{}` is there to accept; open errors of {}: {}", args.code, args.night, and(&others));
    }
    // One decision for each recording that has such an error now: what is imported later is not accepted.
    let mut recordings: Vec<Option<String>> = open.iter().map(|f| f.finding.recording.clone()).collect();
    recordings.sort_unstable();
    recordings.dedup();
    for recording in recordings {
        let act = Act::Accept {
            code: args.code.clone(),
            participant: night.participant.clone(),
            night: night.label.clone(),
            recording,
            reason: args.reason.clone(),
        };
        decide(cli, &mut study, &act)?;
    }
    out.say(format_args!(
        "accepted {} of `{}` in {}/{}; {then}",
        count(open.len() as u64, "finding"),
        args.code,
        night.participant,
        night.label
    ))?;
    out.say("next: `counterpane check`, then `counterpane compare`")?;
    Ok(Ended::Fine)
}
