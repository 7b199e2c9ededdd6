//! `sheet new, trace, compare`: reading stages off a screen.

pub(crate) mod compare;
mod new;
mod trace;

use crate::cli::Cli;
use crate::output::{Ended, Out};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Args {
    /// Lay two readings of one picture beside each other, and settle what differs
    Compare(compare::Args),
    /// Write a blank sheet for the stages of one night, with what the study knows
    New(new::Args),
    /// Write a page on which a picture of stages is traced into a sheet, without any network
    Trace(trace::Args),
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    match args {
        Args::Compare(args) => compare::run(cli, args, out),
        Args::New(args) => new::run(cli, args, out),
        Args::Trace(args) => trace::run(cli, args, out),
    }
}
