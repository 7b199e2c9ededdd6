//! `plan mean, difference, limits, icc`: how many people and nights a study needs.

mod answer;
mod difference;
mod icc;
mod limits;
mod mean;
mod simulate;
mod spread;

#[cfg(test)]
pub(crate) use answer::Answer;

use crate::cli::{Cli, Shape};
use crate::output::{Ended, Out};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    #[command(subcommand)]
    question: Question,
    /// How to print
    #[arg(long, value_enum, default_value = "text", global = true)]
    format: Shape,
}

#[derive(Debug, clap::Subcommand)]
enum Question {
    /// People and nights that tell one device from another
    Difference(difference::Args),
    /// People that pin down an intraclass correlation
    Icc(icc::Args),
    /// People that pin down limits of agreement of whole-night measures
    Limits(limits::Args),
    /// People and nights that pin down a mean, such as that of kappa
    Mean(mean::Args),
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let answer = match &args.question {
        Question::Difference(asked) => difference::answer(cli, asked)?,
        Question::Icc(asked) => icc::answer(asked)?,
        Question::Limits(asked) => limits::answer(cli, asked)?,
        Question::Mean(asked) => mean::answer(cli, asked)?,
    };
    match args.format {
        Shape::Json => out.json(&answer)?,
        Shape::Text => answer.print(out)?,
    }
    Ok(Ended::Fine)
}
