//! `sheet trace`: the page on which a picture is traced.

use crate::cli::Cli;
use crate::commands::show::find_night;
use crate::deciding::source_on;
use crate::opening;
use crate::output::{Ended, Out};
use crate::tracing::{Clock, Known, page};
use crate::writing::{refuse_to_overwrite, refuse_to_replace, write_whole};
use anyhow::{Context as _, bail};
use counterpane_model::{Instant, Night, Zone};
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// File to write
    #[arg(short, long, value_name = "FILE", default_value = "trace.html")]
    output: PathBuf,
    /// Unit whose screen it is; the page then names it
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(long, value_name = "NIGHT")]
    night: Option<String>,
    /// Who reads the picture; else whoever decides
    #[arg(long, value_name = "NAME")]
    reader: Option<String>,
    /// 2 for a second reading by somebody who has not seen the first
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=2))]
    pass: u8,
    /// Write over a file that is there
    #[arg(long)]
    replace: bool,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    // A page about nothing in particular needs no study.
    let asks = args.unit.is_some() || args.night.is_some() || cli.study.is_some();
    let folder = if asks { Some(opening::folder(cli)?) } else { opening::folder(cli).ok() };
    let mut known = match &folder {
        Some(_) => of_study(cli, args)?,
        None => Known::default(),
    };
    if let Some(reader) = args.reader.as_ref().or(cli.author.as_ref()) {
        known.reader.clone_from(reader);
    }
    known.pass = args.pass.to_string();
    let written = page(&known)?;
    refuse_to_overwrite(&args.output, folder.as_deref().unwrap_or(Path::new(".")))?;
    refuse_to_replace(&args.output, args.replace)?;
    write_whole(&args.output, written.as_bytes()).with_context(|| args.output.display().to_string())?;
    out.say(format_args!("wrote {}; open it in a browser, it needs no network", args.output.display()))?;
    Ok(Ended::Fine)
}

/// Returns what the study says of the unit and the night.
fn of_study(cli: &Cli, args: &Args) -> anyhow::Result<Known> {
    let study = opening::to_read(cli)?;
    let mut known = Known { reader: study.config().author.clone().unwrap_or_default(), ..Known::default() };
    let night = args.night.as_deref().map(|text| find_night(&study, text)).transpose()?;
    if let Some(night) = &night {
        known.night.clone_from(&night.label);
        known.participant.clone_from(&night.participant);
        known.zone.clone_from(&night.zone);
        known.clock = Some(clock(night)?);
    }
    known.unit = match (&args.unit, &night) {
        (None, _) => String::new(),
        (Some(unit), Some(night)) => source_on(&study, night, unit)?,
        (Some(unit), None) if study.config().unit(unit).is_some() => unit.clone(),
        (Some(unit), None) => {
            bail!("there is no unit `{unit}` in study.toml; for a device or a scorer give --night too")
        }
    };
    Ok(known)
}

/// Returns how the wall clock ran in the window of a night.
fn clock(night: &Night) -> anyhow::Result<Clock> {
    let zone = Zone::named(&night.zone)?;
    let (from, until) = night.window;
    let stretches = zone.stretches(from, until);
    let first = stretches.first().map_or(0, |s| s.offset_seconds);
    let minutes = |at: Instant| (at.0 - from.0) as f64 / 60_000.0;
    let shifts = stretches.iter().skip(1);
    Ok(Clock {
        begins: (from.0 + i64::from(first) * 1000).rem_euclid(86_400_000) as f64 / 60_000.0,
        shifts: shifts.map(|s| (minutes(s.from), f64::from(s.offset_seconds - first) / 60.0)).collect(),
    })
}
