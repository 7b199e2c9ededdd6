//! The commands, one file each.

pub(crate) mod accept;
pub(crate) mod agree;
pub(crate) mod check;
pub(crate) mod clock;
pub(crate) mod compare;
pub(crate) mod definition;
pub(crate) mod demo;
pub(crate) mod exclude;
pub(crate) mod explain;
pub(crate) mod filter;
pub(crate) mod import;
pub(crate) mod lineage;
pub(crate) mod load;
pub(crate) mod new;
pub(crate) mod nights;
pub(crate) mod note;
pub(crate) mod plan;
pub(crate) mod prefer;
pub(crate) mod query;
pub(crate) mod rebuild;
pub(crate) mod report;
pub(crate) mod sheet;
pub(crate) mod show;
pub(crate) mod verify;
pub(crate) mod withdraw;

use crate::cli::Cli;
use crate::output::{Ended, Out};

/// What can be done.
#[derive(Debug, clap::Subcommand)]
pub(crate) enum Command {
    /// Accept an error of a night, with a reason
    Accept(accept::Args),
    /// Compare two plain label files, without a study
    Agree(agree::Args),
    /// Run the checks and list what they found
    Check(check::Args),
    /// Note what a clock showed, and correct it
    #[command(subcommand)]
    Clock(clock::Args),
    /// Compare devices with the reference
    Compare(compare::Args),
    /// List and show importer definitions
    #[command(subcommand)]
    Definition(definition::Args),
    /// Take an invented study from raw files to its report
    Demo(demo::Args),
    /// Leave out a stretch, a recording or a night, with a reason
    Exclude(exclude::Args),
    /// Say what a finding means and what to do about it
    Explain(explain::Args),
    /// Run the filter of a definition; started by the program itself
    #[command(name = counterpane_import::FILTER_COMMAND, hide = true)]
    Filter,
    /// Bring files into the store
    Import(Box<import::Args>),
    /// Go back from epochs to the lines of the originals
    Lineage(lineage::Args),
    /// Bring many files in, as a list says
    Load(load::Args),
    /// Make an empty study
    New(new::Args),
    /// List the nights and what is there of each
    Nights(nights::Args),
    /// Note something that happened in a night
    Note(note::Args),
    /// Say how many people and nights a study needs
    Plan(plan::Args),
    /// Let another export of a night count
    Prefer(prefer::Args),
    /// Ask the store in SQL; it can only read
    Query(query::Args),
    /// Make the store anew from originals, decisions and study.toml
    Rebuild(rebuild::Args),
    /// Write the comparison as one HTML file
    Report(report::Args),
    /// Read stages off a screen
    #[command(subcommand)]
    Sheet(sheet::Args),
    /// Show one night as a table and a hypnogram
    Show(show::Args),
    /// Prove that nothing of the study was lost or changed
    Verify(verify::Args),
    /// Take a decision back: an import, an exclusion, a note, any other
    Withdraw(withdraw::Args),
}

/// Runs the command that was typed.
pub(crate) fn run(cli: &Cli, out: &mut Out) -> anyhow::Result<Ended> {
    match &cli.command {
        Command::Accept(args) => accept::run(cli, args, out),
        Command::Agree(args) => agree::run(args, out),
        Command::Check(args) => check::run(cli, args, out),
        Command::Clock(args) => clock::run(cli, args, out),
        Command::Compare(args) => compare::run(cli, args, out),
        Command::Definition(args) => definition::run(cli, args, out),
        Command::Demo(args) => demo::run(args, out),
        Command::Exclude(args) => exclude::run(cli, args, out),
        Command::Explain(args) => explain::run(args, out),
        Command::Filter => filter::run(),
        Command::Import(args) => import::run(cli, args, out),
        Command::Lineage(args) => lineage::run(cli, args, out),
        Command::Load(args) => load::run(cli, args, out),
        Command::New(args) => new::run(cli, args, out),
        Command::Nights(args) => nights::run(cli, args, out),
        Command::Note(args) => note::run(cli, args, out),
        Command::Plan(args) => plan::run(cli, args, out),
        Command::Prefer(args) => prefer::run(cli, args, out),
        Command::Query(args) => query::run(cli, args, out),
        Command::Rebuild(args) => rebuild::run(cli, args, out),
        Command::Report(args) => report::run(cli, args, out),
        Command::Sheet(args) => sheet::run(cli, args, out),
        Command::Show(args) => show::run(cli, args, out),
        Command::Verify(args) => verify::run(cli, args, out),
        Command::Withdraw(args) => withdraw::run(cli, args, out),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_command_file_is_listed_alphabetically() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/commands");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            // A folder holds parts of the command whose name it bears.
            .filter_map(|e| e.unwrap().file_name().to_string_lossy().strip_suffix(".rs").map(str::to_owned))
            .filter(|n| n != "mod")
            .collect();
        files.sort_unstable();
        let source = include_str!("mod.rs");
        let listed: Vec<&str> =
            source.lines().filter_map(|l| l.strip_prefix("pub(crate) mod ")?.strip_suffix(';')).collect();
        assert_eq!(
            listed, files,
            "list every file of src/commands in commands/mod.rs, alphabetically: mod, Command and run"
        );
    }
}
