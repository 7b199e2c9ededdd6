//! `exclude NIGHT`: a stretch, a recording or a night that is left out on purpose.

use crate::cli::Cli;
use crate::commands::show;
use crate::deciding::{decide, reason, source_on, time_in};
use crate::opening;
use crate::output::{Ended, Out};
use anyhow::bail;
use counterpane_model::{Looked, Zone};
use counterpane_store::{Act, ExcludeAct};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// Unit, device or scorer that is left out; else everything of the night
    #[arg(long, value_name = "NAME")]
    source: Option<String>,
    /// Start of the stretch, such as `02:10`; else the whole night
    #[arg(long, value_name = "TIME", requires = "until")]
    from: Option<String>,
    /// End of the stretch, such as `03:00`
    #[arg(long, value_name = "TIME", requires = "from")]
    until: Option<String>,
    /// Whether this is decided before or after looking at results that it touches; the report says so
    #[arg(long, value_name = "WHEN", value_parser = ["before", "after"])]
    looked: String,
    /// Why it is left out; goes into the decision log and the report
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let reason = reason(&args.reason)?;
    let mut study = opening::to_write(cli)?;
    let night = show::find_night(&study, &args.night)?;
    let source = args.source.as_ref().map(|s| source_on(&study, &night, s)).transpose()?;
    let stretch = match (&args.from, &args.until) {
        (Some(from), Some(until)) => Some((time_in(&night, from)?, time_in(&night, until)?)),
        _ => None,
    };
    if let Some((from, until)) = stretch
        && from >= until
    {
        bail!("the stretch ends before it begins; write the dates too where midnight lies between");
    }
    let looked: Looked = args.looked.parse()?;
    let act = ExcludeAct {
        participant: night.participant.clone(),
        night: night.label.clone(),
        source: source.clone(),
        stretch,
        looked,
        reason,
    };
    let same = study.decided(&night.participant, &night.label)?;
    if let Some(e) = same.exclusions.iter().find(|e| e.source == act.source && e.stretch == act.stretch) {
        bail!("decision {} leaves that out already: {}", e.decision, e.reason);
    }
    let n = decide(cli, &mut study, &Act::Exclude(act))?;
    let zone = Zone::named(&night.zone)?;
    let what = source.unwrap_or_else(|| "everything".to_owned());
    let when = stretch
        .map_or_else(String::new, |(from, until)| format!(" from {} to {}", zone.clock_of(from), zone.clock_of(until)));
    out.say(format_args!(
        "decision {n}: {what} of {}/{} is left out{when}; `compare` and `report` show results with and without it. Take it back with `counterpane withdraw {n} --reason …`",
        night.participant, night.label
    ))?;
    Ok(Ended::Fine)
}
