//! `note NIGHT KIND`: something that happened in a night, as the reviewer knows it.

use crate::cli::Cli;
use crate::commands::show;
use crate::deciding::{decide, length_ms, source_on, time_in};
use crate::opening;
use crate::output::{Ended, Out};
use anyhow::bail;
use counterpane_model::{NoteKind, Zone};
use counterpane_store::{Act, NoteAct};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// What happened
    #[arg(value_name = "KIND", value_parser = KINDS)]
    kind: String,
    /// When it happened or began, such as `02:10`
    #[arg(long, value_name = "TIME")]
    at: String,
    /// When it ended
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// How finely the time is known, either way
    #[arg(long, value_name = "LENGTH", default_value = "1min")]
    precision: String,
    /// Unit, device or scorer that it concerns; else the participant
    #[arg(long, value_name = "NAME")]
    source: Option<String>,
    /// More in words
    #[arg(value_name = "TEXT", default_value = "")]
    text: String,
}

/// Lights and the ends of a recording are no notes: they decide which epochs count.
const KINDS: [&str; 5] = ["out-of-bed", "alarm", "fell-off", "alcohol", "other"];

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let kind: NoteKind = args.kind.parse()?;
    if kind == NoteKind::Other && args.text.trim().is_empty() {
        bail!("say what happened, such as: note {} other --at {} \"the dog barked\"", args.night, args.at);
    }
    let mut study = opening::to_write(cli)?;
    let night = show::find_night(&study, &args.night)?;
    let source = args.source.as_ref().map(|s| source_on(&study, &night, s)).transpose()?;
    let at = time_in(&night, &args.at)?;
    let until = args.until.as_ref().map(|t| time_in(&night, t)).transpose()?;
    if until.is_some_and(|u| u <= at) {
        bail!("it ends before it begins; write the dates too where midnight lies between");
    }
    let precision_ms = length_ms(&args.precision)?;
    if precision_ms < 0 {
        bail!("a precision is not negative; write it such as 5min");
    }
    let act = NoteAct {
        participant: night.participant.clone(),
        night: night.label.clone(),
        source,
        at,
        until,
        precision_ms,
        kind,
        text: args.text.trim().to_owned(),
    };
    let n = decide(cli, &mut study, &Act::Note(act))?;
    out.say(format_args!(
        "decision {n}: noted {} at {} of {}/{}; `show` and the report draw it",
        kind.code(),
        Zone::named(&night.zone)?.clock_of(at),
        night.participant,
        night.label
    ))?;
    Ok(Ended::Fine)
}
