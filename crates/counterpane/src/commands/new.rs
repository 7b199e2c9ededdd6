//! `new DIR`: an empty study with a commented study.toml.

use crate::cli::Cli;
use crate::output::{Ended, Out};
use anyhow::bail;
use counterpane_model::Zone;
use counterpane_store::Study;
use std::path::PathBuf;

/// Name and version of this program, as stores and reports carry it.
pub(crate) const TOOL: &str = concat!("counterpane ", env!("CARGO_PKG_VERSION"));

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Folder to make
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    /// IANA zone of the nights, such as `Australia/Lord_Howe`; there is no default
    #[arg(long, value_name = "ZONE")]
    zone: String,
    /// Name of the study, for titles; else the folder's name
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    Zone::named(&args.zone)?;
    let folder = args.dir.file_name().map(|n| n.to_string_lossy().into_owned());
    let Some(name) = args.name.clone().or(folder) else { bail!("give the study a name with --name") };
    let quoted = counterpane_store::config::quoted;
    let mut text = TEMPLATE.replace("{name}", &quoted(&name)).replace("{zone}", &quoted(&args.zone));
    if let Some(author) = &cli.author {
        text = text.replace("# author = \"reviewer\"", &format!("author = {}", quoted(author)));
    }
    let study = Study::create(&args.dir, &text, TOOL)?;
    out.say(format_args!(
        "made the study in {}; next: declare a participant, a device and a night in study.toml, then `counterpane import FILE`",
        study.root().display()
    ))?;
    Ok(Ended::Fine)
}

const TEMPLATE: &str = r#"# A study of counterpane. Lines that begin with # are comments: take the # away to use one.
# The store, study.db, follows this file; change it whenever the study changes.

version = 1
name = {name}
# Zone of every night that names no other (IANA name).
zone = {zone}
# Who decides, where a command does not say it with --author.
# author = "reviewer"
# Blank what identifies a person in files on their way in: patient and staff in EDF headers, metadata of pictures.
# blank_identity = true
# Folder of pictures that sheets name and that do not lie beside them, seen from this one.
# pictures = "../screens"

# The people under test, by a code only. Never write a name here.
# [[participant]]
# code = "P01"
# group = "older than 60"  # by which results can be told apart

# The devices under test, and the physical pieces of them.
# `definition` is the importer that reads the device's exports: `counterpane definition list`.
# [[device]]
# name = "ring-a"
# definition = "ring-a"
# What the report says of how it gives its data; state what you know, and leave out the rest.
# route = "export button of its app, sent by mail" # how its data is got
# steps = 4                # what this takes for one night,
# minutes = 2.5            # and how many minutes
# finest_step = "30 s"     # how finely it tells stages apart in time
# lost = "the naps"        # what it shows and the export lacks
# obtained = "bought"      # or "lent", or "given"
# note = "needs an account"
#
# [[unit]]
# name = "ring-a-1"
# device = "ring-a"
# participant = "P01"      # where it is always the same person
# files = ["ring-a-*.json"] # a file of such a name is this unit's: `counterpane import FILE` needs no more
# zone = "Europe/Berlin"   # of wall times in its files, where neither the file nor the night gives it
# new_nights = true        # nights of its files that are not declared are declared by the import
# offset = "+01:00"        # what its clock had on some nights, where it did not follow the nights' zone: old rules
# offset_from = "2026-03-29"
# offset_to = "2026-04-05"
# offset_reason = "the phone does not know this year's rules"

# Who scores the reference: a person, or a program.
# [[scorer]]
# code = "S1"
# scored_by = "human"      # or "algorithm"
# definition = "edf-stages"
# files = ["psg-*.edf"]

# The nights. The label is the date of the evening; the night runs from noon to noon, local time.
# [[night]]
# participant = "P01"
# label = "2026-04-04"
# lights_off = "22:40"     # where the reference does not carry them
# lights_on = "06:55"
# zone = "Europe/Berlin"   # where it is not the study's
# itinerary = [{ from = "2026-04-04 23:30", zone = "Asia/Dubai" }] # a night flight: local time of the zone before
# kind = "night"           # night, day or nap
# window = ["2026-04-04 20:00", "2026-04-05 10:00"]

# A unit on a night, with what may change from night to night.
# [[wearing]]
# unit = "ring-a-1"
# participant = "P01"
# night = "2026-04-04"
# site = "finger"
# side = "left"
# firmware = "1.0"
# app = "1.0"
# zone = "UTC+05:30"       # where its clock did not follow the night's zone: old rules, or the zone of home

# How comparisons are made, laid down before results are seen. The decision log notes it when it is first seen and at each
# change, and whether anybody had looked at results by then. `compare` follows it; an option of a command goes before it, and
# the results then say that they are exploratory.
# [protocol]
# primary = "kappa"        # the measure that the study is about: accuracy, kappa, mean sensitivity, sensitivity STAGE,
#                          # difference sleep, difference STAGE (minutes, device minus reference)
# scheme = "four"          # the classes: sleep-wake, three, four or five; without it, the finest of each device
# window = "lights"        # or "scored": first to last scored epoch of the reference
# missing = "left-out"     # epochs that a device does not give, in the primary measure; or "wrong"
# export = "first"         # which of several exports of a night counts; or "newest"
# flag_unscored = 5        # mark a night with more of its window without a pair of stages than this, per cent
# exclude_unscored = 20    # and leave it out above this
# devices = ["ring-a"]     # what the study is about; without it, every device
# scorer = "majority"      # the reference of every night: a scorer's code, or the majority of its scorers
# tie = "S1"               # whose word settles a tie of the majority; without it, a tied epoch is unscored

# Limits of the readers that are to be other than usual, for files that are larger than most.
# [limits]
# rows = 2000000000
# row_bytes = "128 MiB"
"#;

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_store::Config;
    use std::path::Path;

    fn filled(template: &str) -> String {
        template.replace("{name}", "\"t\"").replace("{zone}", "\"Australia/Lord_Howe\"")
    }

    #[test]
    fn the_template_is_a_study() {
        assert!(Config::parse(Path::new("study.toml"), &filled(TEMPLATE)).is_ok());
    }

    #[test]
    fn each_commented_key_of_the_template_exists() {
        let prose = |l: &&str| !l.contains(" = ") && !l.starts_with("# [");
        let uncommented: String = filled(TEMPLATE)
            .lines()
            .filter(|l| !(l.starts_with("# ") && prose(l)) && *l != "#")
            .map(|l| format!("{}\n", l.strip_prefix("# ").unwrap_or(l)))
            .collect();
        let parsed = Config::parse(Path::new("study.toml"), &uncommented).map_err(|e| e.to_string());
        assert!(parsed.is_ok(), "{parsed:?}");
    }
}
