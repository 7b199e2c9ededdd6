//! `sheet new, trace`: reading stages off a screen.

mod new;
mod trace;

use crate::cli::Cli;
use crate::output::{Ended, Out};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Args {
    /// Write a blank sheet for the stages of one night, with what the study knows
    New(new::Args),
    /// Write a page on which a picture of stages is traced into a sheet, without any network
    Trace(trace::Args),
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    match args {
        Args::New(args) => new::run(cli, args, out),
        Args::Trace(args) => trace::run(cli, args, out),
    }
}
