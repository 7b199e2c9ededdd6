//! What is typed on the command line.

use crate::commands::Command;
use clap::{Parser, ValueEnum};
use std::path::PathBuf;

/// Brings sleep trackers' exports into one timezone-correct epoch store, checks them, and compares
/// them with a polysomnogram scored by a person.
///
/// A study is a folder that holds study.toml. Make one with `counterpane new DIR`, then import files,
/// look at a night with `show`, at its faults with `check`, and publish with `compare` and `report`.
/// `counterpane demo` does all of it with invented data.
///
/// Not a medical device. Stages of consumer devices are estimates and no diagnosis; somebody with a
/// sleep complaint should see a clinician. Nothing leaves this machine.
#[derive(Debug, Parser)]
#[command(name = "counterpane", version, max_term_width = 100, disable_help_subcommand = true)]
pub(crate) struct Cli {
    /// The study's folder; else the nearest one upward that holds study.toml
    #[arg(long, global = true, value_name = "DIR", env = "COUNTERPANE_STUDY")]
    pub(crate) study: Option<PathBuf>,

    /// Who decides, for the decision log; else `author` of study.toml
    #[arg(long, global = true, value_name = "NAME", env = "COUNTERPANE_AUTHOR")]
    pub(crate) author: Option<String>,

    #[command(subcommand)]
    pub(crate) command: Command,
}

/// How data is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Shape {
    /// Tables for people
    Text,
    /// JSON with a schema in schemas/
    Json,
}
