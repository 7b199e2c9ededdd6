//! `verify`: proof that nothing of a study was lost, bent or changed outside of counterpane.

mod again;
pub(crate) mod answer;

use crate::cli::{Cli, Shape};
use crate::opening;
use crate::output::{Ended, Out, clean};
use crate::wording::{count, count_of};
use again::{Cause, Compared};
use counterpane_store::verify::{Fault, FaultKind, Proof, verify};
use std::collections::BTreeMap;
use std::io::IsTerminal as _;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Read every original again by its definition, and compare the rows with those of the store
    #[arg(long)]
    full: bool,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let folder = opening::folder(cli)?;
    let bar = bar();
    let mut proof = verify(&folder, &mut |done, of| {
        bar.set_length(of);
        bar.set_position(done);
    })?;
    let again = match args.full && proof.can_go_on() {
        true => Some(again::read_again(&folder, &mut proof, &bar)?),
        false => None,
    };
    bar.finish_and_clear();
    let proven = proof.faults.is_empty() && again.as_ref().is_none_or(|a| a.differences.is_empty());
    match args.format {
        Shape::Json => out.json(&answer::of(&proof, again.as_ref(), proven))?,
        Shape::Text => print(args, &proof, again.as_ref(), proven, out)?,
    }
    Ok(if proven { Ended::Fine } else { Ended::Faulty })
}

fn bar() -> indicatif::ProgressBar {
    if !std::io::stderr().is_terminal() {
        return indicatif::ProgressBar::hidden();
    }
    let style = indicatif::ProgressStyle::with_template("{percent} % {wide_bar} {eta} {msg}");
    let bar = indicatif::ProgressBar::new(0);
    if let Ok(style) = style { bar.with_style(style) } else { bar }
}

fn print(args: &Args, proof: &Proof, again: Option<&Compared>, proven: bool, out: &mut Out) -> anyhow::Result<()> {
    for (what, said) in &proof.checked {
        out.paragraph(format_args!("{what:<16} {}", clean(said)))?;
    }
    if let Some(again) = again {
        let (n, said) = (again.decisions, count(again.decisions, "decision"));
        let all = if n == 1 { "was" } else { "were" };
        out.paragraph(format_args!("{:<16} {said} {all} carried out again in a scratch store", "read again"))?;
    }
    for note in &proof.notes {
        out.paragraph(format_args!("note: {}", clean(note)))?;
    }
    print_faults(&proof.faults, out)?;
    if let Some(again) = again {
        print_differences(again, out)?;
    } else if args.full {
        out.say("the rows were not compared: mend what is named above first")?;
    }
    let faults = proof.faults.len() as u64 + again.map_or(0, Compared::total);
    if !proven {
        return out.say(format_args!("not proven: {}", count(faults, "difference")));
    }
    let store = match proof.pending {
        0 => "the store holds what was decided".to_owned(),
        n => format!("the store lacks {} of the log, which the next command applies", count(n, "decision")),
    };
    match args.full {
        true => out.say(format_args!("proven: the originals give what is stored; {store}")),
        false => out.say(format_args!(
            "proven: the log is whole, the originals are what they were, {store}; `--full` also reads every original again"
        )),
    }
}

/// How many faults of one kind are printed; JSON gives all.
const PRINTED: usize = 20;

fn print_faults(faults: &[Fault], out: &mut Out) -> anyhow::Result<()> {
    let mut of_kind: BTreeMap<FaultKind, usize> = BTreeMap::new();
    for fault in faults {
        let n = of_kind.entry(fault.kind).or_default();
        *n += 1;
        if *n <= PRINTED {
            print_fault(fault, out)?;
        }
    }
    for (kind, n) in of_kind.into_iter().filter(|(_, n)| *n > PRINTED) {
        out.line("")?;
        let more = count((n - PRINTED) as u64, "difference");
        out.paragraph(format_args!("and {more} more of {}; `--format json` gives all", kind.code()))?;
    }
    Ok(())
}

fn print_fault(fault: &Fault, out: &mut Out) -> anyhow::Result<()> {
    out.line("")?;
    let (kind, place, message) = (fault.kind.code(), clean(&fault.place), clean(&fault.message));
    out.paragraph(format_args!("difference[{kind}]: {place}: {message}"))?;
    out.paragraph(format_args!("  help: {}", fault.kind.help()))
}

fn print_differences(again: &Compared, out: &mut Out) -> anyhow::Result<()> {
    for (difference, cause) in &again.differences {
        out.line("")?;
        let rows = count(difference.rows, "row");
        out.paragraph(format_args!(
            "difference[rows-differ]: {}: {rows} of table `{}`",
            clean(&difference.place),
            difference.table
        ))?;
        let not_there = || "no such row".to_owned();
        let side = |row: &Option<String>| row.as_deref().map_or_else(not_there, clean);
        out.paragraph(format_args!("  stored: {}", side(&difference.stored)))?;
        out.paragraph(format_args!("  by its original: {}", side(&difference.derived)))?;
        out.paragraph(format_args!("  cause: {}", cause.words()))?;
    }
    if again.more > 0 {
        let more = count_of(again.more, "row differs", "rows differ");
        out.paragraph(format_args!("and {more} elsewhere"))?;
    }
    if again.differences.iter().any(|(_, cause)| *cause == Cause::Unknown) {
        out.paragraph("  help: find out who or what changed study.db; `counterpane rebuild` makes it anew")?;
    } else if !again.differences.is_empty() {
        out.paragraph("  help: `counterpane rebuild` makes study.db anew, as this program reads the originals")?;
    }
    Ok(())
}
