//! `counterpane`: brings sleep trackers' exports into one epoch store and compares them with a scored
//! polysomnogram.
//!
//! **Invariant.** This crate holds the commands, the terminal, the clock and the exit codes, and no
//! rule of the trade: what a stage, a zone or a statistic is stands in the other crates. Data goes to
//! stdout and talk to stderr. Only here is the clock read.

mod cli;
mod commands;
mod comparing;
mod deciding;
mod definitions;
mod demo;
#[cfg(test)]
mod generated;
mod history;
mod importing;
mod opening;
mod output;
mod owed;
mod preview;
mod recognising;
mod sheets;
mod tracing;
mod trial;
mod wording;
mod writing;

use clap::Parser as _;
use std::process::ExitCode;

fn main() -> ExitCode {
    let cli = cli::Cli::parse();
    let mut out = output::Out::new();
    match commands::run(&cli, &mut out) {
        Ok(outcome) => outcome.into(),
        Err(error) if output::is_broken_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            output::error(&error);
            ExitCode::from(2)
        }
    }
}
