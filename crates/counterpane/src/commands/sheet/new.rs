//! `sheet new`: a blank sheet to read a screen, or a lab's printed list, into.

use crate::cli::Cli;
use crate::commands::show::find_night;
use crate::deciding::source_on;
use crate::opening;
use crate::output::{Ended, Out};
use crate::sheets::{Blank, Form, TYPED_TIMES, book, plain};
use crate::writing::{refuse_to_overwrite, refuse_to_replace, write_whole};
use anyhow::{Context as _, bail};
use counterpane_model::Zone;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
#[command(after_help = TYPED_TIMES)]
pub(crate) struct Args {
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// Unit whose screen is read, or a device that has one unit
    #[arg(value_name = "UNIT", required_unless_present = "scorer")]
    unit: Option<String>,
    /// In place of a unit: the scorer whose printed list of epochs is typed
    #[arg(long, value_name = "CODE", conflicts_with = "unit")]
    scorer: Option<String>,
    /// File to write: .xlsx is a workbook, .tsv plain text; else a workbook named after night and unit
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Who reads; else whoever decides
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
    let study = opening::to_read(cli)?;
    let night = find_night(&study, &args.night)?;
    let source = source_on(&study, &night, args.scorer.as_deref().or(args.unit.as_deref()).unwrap_or_default())?;
    let form = if study.config().scorer(&source).is_some() { Form::Epochs } else { Form::Changes };
    if form == Form::Epochs && args.scorer.is_none() {
        bail!("`{source}` is a scorer: write --scorer {source} for the sheet of a printed list");
    }
    if form == Form::Changes && args.scorer.is_some() {
        bail!("`{source}` is not a scorer of study.toml; leave --scorer out for the sheet of a screen");
    }
    let reader = args.reader.clone().or_else(|| opening::author(cli, &study)).unwrap_or_default();
    let mut known = std::collections::BTreeMap::from([
        ("participant", night.participant.clone()),
        ("night", night.label.clone()),
        ("zone", night.zone.clone()),
        ("reader", reader),
        ("pass", args.pass.to_string()),
        (if form == Form::Epochs { "scorer" } else { "unit" }, source.clone()),
    ]);
    let zone = Zone::named(&night.zone)?;
    let lights = [("lights off", night.lights.off), ("lights on", night.lights.on)];
    // The offset goes along: a time that happened twice stays the one that was meant.
    known.extend(lights.into_iter().filter_map(|(name, at)| Some((name, zone.text_of(at?)))));
    let output = args.output.clone().unwrap_or_else(|| {
        PathBuf::from(format!("{}-{}-{source}-pass{}.xlsx", night.participant, night.label, args.pass))
    });
    let blank = Blank { form, known };
    let bytes = match output.extension().and_then(|e| e.to_str()) {
        Some("xlsx") => book(&blank)?,
        Some("tsv") => plain(&blank).into_bytes(),
        _ => bail!("{}: name a file that ends in .xlsx or .tsv", output.display()),
    };
    refuse_to_overwrite(&output, study.root())?;
    refuse_to_replace(&output, args.replace)?;
    write_whole(&output, &bytes).with_context(|| output.display().to_string())?;
    out.say(format_args!("wrote {}; fill it in, then `counterpane import {}`", output.display(), output.display()))?;
    Ok(Ended::Fine)
}
