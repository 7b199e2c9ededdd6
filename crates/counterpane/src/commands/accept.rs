//! `accept CODE NIGHT`: an error that the reviewer has looked at and lets stand.

use crate::cli::Cli;
use crate::commands::{explain, show};
use crate::deciding::{decide, reason};
use crate::opening;
use crate::output::{Ended, Out, clean};
use crate::wording::{and, count};
use anyhow::bail;
use counterpane_model::Accepted;
use counterpane_store::{Act, StoredFinding};

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
    /// Only the one at this place, as `check` prints it after the file, such as `line 12:1`
    #[arg(long, value_name = "PLACE")]
    at: Option<String>,
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
        .filter(|f| args.at.is_none() || place_of(f) == args.at)
        .collect();
    if open.is_empty() {
        let others: Vec<String> = study
            .findings(Some((&night.participant, &night.label)))?
            .iter()
            .filter(|f| f.is_open_error())
            .map(in_a_list)
            .collect();
        let at = args.at.as_ref().map(|at| format!(" at `{}`", clean(at))).unwrap_or_default();
        bail!("no open `{}`{at} is there to accept; open errors of {}: {}", args.code, args.night, and(&others));
    }
    one_only(args, &open)?;
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
            locator: args.at.clone(),
            reason: args.reason.clone(),
        };
        decide(cli, &mut study, &act)?;
    }
    out.say(format_args!(
        "accepted {} of `{}` in {}/{}; {then}",
        count(open.iter().map(|f| f.finding.count).sum(), "finding"),
        args.code,
        night.participant,
        night.label
    ))?;
    out.say("next: `counterpane check`, then `counterpane compare`")?;
    Ok(Ended::Fine)
}

/// Refuses a place that does not name one finding and no other.
fn one_only(args: &Args, open: &[StoredFinding]) -> anyhow::Result<()> {
    let Some(at) = &args.at else { return Ok(()) };
    let at = clean(at);
    if open.len() > 1 {
        let sources: Vec<String> = open.iter().map(|f| f.finding.recording.clone().unwrap_or_default()).collect();
        bail!("`{at}` is a place in several recordings: name one with --source: {}", and(&sources));
    }
    match open.first().map(|f| f.finding.count) {
        Some(n) if n > 1 => bail!(
            "the finding at `{at}` stands for {n} of its kind, and the places of the others are not listed; look at the \
             file, and accept them together, without --at"
        ),
        _ => Ok(()),
    }
}

fn place_of(finding: &StoredFinding) -> Option<String> {
    finding.finding.place.as_ref().map(|p| p.locator.to_string())
}

fn in_a_list(finding: &StoredFinding) -> String {
    let of = finding.finding.recording.as_deref().unwrap_or("the night");
    let at = place_of(finding).map(|at| format!(" at `{}`", clean(&at))).unwrap_or_default();
    format!("{} of {of}{at}", finding.finding.code)
}
