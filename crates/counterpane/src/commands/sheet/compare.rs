//! `sheet compare`: two readings of one picture, and the sheet that both lead to.

use crate::cli::Cli;
use crate::opening;
use crate::output::{Ended, Out, clean};
use crate::sheets::{Sheet, both, sheet};
use crate::wording::count;
use crate::writing::{refuse_to_overwrite, write_whole};
use anyhow::{Context as _, bail};
use counterpane_store::originals::hash_of;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The first reading
    #[arg(value_name = "FIRST")]
    first: PathBuf,
    /// The second, by somebody who has not seen the first
    #[arg(value_name = "SECOND")]
    second: PathBuf,
    /// File in which the differences are settled: written when it is not there, else read
    #[arg(long, value_name = "FILE")]
    settle: Option<PathBuf>,
    /// Settled sheet to write, once each difference is settled with a reason
    #[arg(short, long, value_name = "FILE", requires = "settle")]
    output: Option<PathBuf>,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let read = |path: &Path| sheet(path).with_context(|| path.display().to_string());
    let (first, second) = (read(&args.first)?, read(&args.second)?);
    let both = both(&first, &second)?;
    let differences = both.differences();
    if first.field("pass") == second.field("pass") {
        out.say("note: both sheets say the same `pass`; are they two readings?")?;
    }
    for (number, (one, other)) in (1..).zip(&differences) {
        out.record(format_args!("{number}\t{}\t{}", clean(one), clean(other)))?;
    }
    let share = 100.0 * both.rows_differing as f64 / both.rows.max(1) as f64;
    out.say(format_args!(
        "{} of {} differ ({share:.1} %), in stage, in a row that one lacks, or by more than {} min, the two precisions together",
        both.rows_differing,
        count(both.rows as u64, "row"),
        both.within
    ))?;
    let folder = opening::folder(cli).unwrap_or_else(|_| PathBuf::from("."));
    let answers = match &args.settle {
        None => Vec::new(),
        Some(path) if !path.exists() => {
            refuse_to_overwrite(path, &folder)?;
            write_whole(path, both.questions().as_bytes()).with_context(|| path.display().to_string())?;
            out.say(format_args!("wrote {}: settle each difference there, with a reason", path.display()))?;
            Vec::new()
        }
        Some(path) => {
            let text = std::fs::read_to_string(path).with_context(|| path.display().to_string())?;
            both.answers(&text).with_context(|| path.display().to_string())?
        }
    };
    let settled = answers.iter().filter(|a| !a.take.is_empty() && !a.reason.is_empty()).count();
    if settled < differences.len() {
        let open = differences.len() - settled;
        out.say(format_args!("{} not settled yet", count(open as u64, "difference")))?;
        return Ok(Ended::Faulty);
    }
    if let Some(path) = &args.output {
        let head = head(args, &first, &second)?;
        let Some(text) = both.sheet(&head, &answers) else { bail!("a difference is not settled") };
        refuse_to_overwrite(path, &folder)?;
        if path.exists() {
            bail!("{} is there already; name another file", path.display());
        }
        write_whole(path, text.as_bytes()).with_context(|| path.display().to_string())?;
        out.say(format_args!("wrote {}; import both readings and then this one", path.display()))?;
    }
    Ok(Ended::Fine)
}

/// Returns the head of the settled sheet: of the first, with both readers and the hashes of both files.
fn head(args: &Args, first: &Sheet, second: &Sheet) -> anyhow::Result<Vec<(&'static str, String)>> {
    let text = |sheet: &Sheet, field: &str| sheet.field(field).unwrap_or_default().to_owned();
    let mut out: Vec<(&'static str, String)> =
        ["unit", "participant", "night", "zone", "picture"].map(|field| (field, text(first, field))).into();
    let readers = [first, second].map(|s| text(s, "reader"));
    out.push(("reader", readers.join(" and ").trim_matches([' ']).to_owned()));
    out.push(("pass", "settled".into()));
    let coarser = |a: &Sheet, b: &Sheet| {
        let minutes = |s: &Sheet| s.field("precision").and_then(|p| p.parse::<f64>().ok()).unwrap_or(0.0);
        if minutes(a) >= minutes(b) { text(a, "precision") } else { text(b, "precision") }
    };
    out.push(("precision", coarser(first, second)));
    for (field, path) in [("first", &args.first), ("second", &args.second)] {
        out.push((field, hash_of(&mut std::fs::File::open(path)?)?.sha256));
    }
    Ok(out)
}
