//! `load MANIFEST`: many files at once, as a list says.

use crate::cli::Cli;
use crate::importing::{Asked, Brought, bring_in};
use crate::opening;
use crate::output::{Ended, Out, clean};
use crate::wording::{and, count};
use anyhow::{Context as _, bail};
use counterpane_model::Severity;
use counterpane_store::Study;
use serde::Deserialize;
use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// List of files: TOML with `[[file]]` tables, or CSV with a header line. Paths are relative to it.
    /// Keys and columns are those of `import`: path, device, unit, scorer, participant, night, zone, start,
    /// end, lights_off, lights_on, precision, definition, new_nights,
    /// blank_identity, picture
    #[arg(value_name = "MANIFEST")]
    manifest: PathBuf,
    /// Read every file and report, and store nothing
    #[arg(long)]
    dry_run: bool,
    /// Raise or lower a limit of the readers, such as rows=2000000 or row_bytes=128MiB; docs/limits.md lists them
    #[arg(long, value_name = "NAME=VALUE")]
    limit: Vec<String>,
}

/// A list of files.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Manifest {
    /// Version of the list's form: 1.
    version: u32,
    /// What holds for every file that does not say otherwise.
    #[serde(default)]
    defaults: Asked,
    /// The files.
    #[serde(rename = "file")]
    files: Vec<Asked>,
}

/// How a load went.
#[derive(Default)]
struct Sum {
    brought: u64,
    recordings: u64,
    before: u64,
    left_out: u64,
    warnings: u64,
    blanked: u64,
    named: u64,
    /// Pictures whose metadata tell something, and that are kept with it.
    telling: u64,
    unfound: Vec<String>,
    faulty: Vec<String>,
    failed: Vec<String>,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let mut entries = entries(&args.manifest)?;
    let folder = args.manifest.parent().unwrap_or(Path::new(".")).to_owned();
    let mut study = opening::to_write(cli)?;
    let by = opening::author(cli, &study).unwrap_or_else(|| opening::NOBODY.into());
    let bar = progress(entries.len() as u64);
    let mut sum = Sum::default();
    for entry in &mut entries {
        entry.limit.clone_from(&args.limit);
        entry.picture.iter_mut().for_each(|p| *p = folder.join(&*p));
        let path = folder.join(entry.path.as_deref().unwrap_or(Path::new("")));
        bar.set_message(clean(&path.display().to_string()));
        one(&mut study, &path, entry, args.dry_run, &by, &mut sum);
        bar.inc(1);
    }
    bar.finish_and_clear();
    tell(&sum, entries.len() as u64, args.dry_run, out)?;
    Ok(if sum.failed.is_empty() && sum.faulty.is_empty() { Ended::Fine } else { Ended::Faulty })
}

/// Brings one file in: all of it or nothing. What goes wrong is told at the end, and the rest goes on.
fn one(study: &mut Study, path: &Path, asked: &Asked, dry_run: bool, by: &str, sum: &mut Sum) {
    let name = clean(&path.display().to_string());
    match bring_in(study, path, asked, dry_run, by) {
        // The first line says what is wrong; `import` of the file alone says what to do.
        Err(e) => sum.failed.push(format!("{name}: {}", first_line(&crate::output::chain(&e)))),
        Ok(Brought::Nothing { why, .. }) => sum.failed.push(format!("{name}: {}", first_line(&why))),
        Ok(Brought::In(file)) => {
            sum.left_out += file.left_out.len() as u64;
            sum.blanked += u64::from(file.act.blanked.is_some());
            sum.named += u64::from(!file.identity.is_empty());
            let told = file.act.pictures.iter().zip(&file.read_from.tells);
            sum.telling += told.filter(|(p, tells)| p.blanked.is_none() && !tells.is_empty()).count() as u64;
            let unfound = [&file.read_from.no_picture[..], &file.read_from.no_reading].concat();
            if !unfound.is_empty() {
                sum.unfound.push(format!("{name}: {}", clean(&and(&unfound))));
            }
            sum.recordings += file.recordings.len() as u64;
            if file.recordings.is_empty() {
                sum.before += 1
            } else {
                sum.brought += 1
            }
            let of = |severity| file.findings.iter().filter(move |f| f.severity == severity);
            sum.warnings += of(Severity::Warning).count() as u64;
            let codes: Vec<&str> = of(Severity::Error).map(|f| f.code.as_ref()).collect();
            if !codes.is_empty() {
                let mut codes = codes;
                codes.sort_unstable();
                codes.dedup();
                sum.faulty.push(format!("{name}: {}", codes.join(", ")));
            }
        }
    }
}

fn first_line(text: &str) -> &str {
    text.lines().next().unwrap_or_default()
}

/// Files with faults that are named; the rest is counted.
const NAMED: usize = 8;

fn tell(sum: &Sum, files: u64, dry_run: bool, out: &mut Out) -> anyhow::Result<()> {
    let verb = if dry_run { "would bring in" } else { "brought in" };
    out.paragraph(format_args!(
        "{}: {verb} {} with {}, {} imported before in the same way, {} that could not be imported",
        count(files, "file"),
        sum.brought,
        count(sum.recordings, "recording"),
        sum.before,
        sum.failed.len()
    ))?;
    list("could not be imported (nothing of them is stored)", &sum.failed, out)?;
    list("hold errors that are open now", &sum.faulty, out)?;
    list("with pictures or readings that were not found", &sum.unfound, out)?;
    if sum.left_out > 0 {
        out.paragraph(format_args!(
            "{} left out that study.toml does not declare; new_nights = true takes them",
            count(sum.left_out, "night")
        ))?;
    }
    if sum.blanked > 0 {
        out.say(format_args!("{} blanked on the way in", count(sum.blanked, "file")))?;
    }
    if sum.named > 0 {
        out.paragraph(format_args!(
            "{} with a person named in the header, which the copy in originals/ keeps; blank_identity = true blanks it on the way in",
            count(sum.named, "file")
        ))?;
    }
    if sum.telling > 0 {
        out.paragraph(format_args!(
            "{} with metadata that tell a place, a person, a device or a time, which the copy in originals/ keeps; blank_identity = true keeps it without",
            count(sum.telling, "picture")
        ))?;
    }
    if sum.warnings > 0 || !sum.faulty.is_empty() {
        out.say(format_args!("{}; `counterpane check` lists everything", count(sum.warnings, "warning")))?;
    }
    if !sum.failed.is_empty() {
        out.say("mend what is named and give the same list again: what is in already is passed over")?;
    }
    Ok(())
}

fn list(what: &str, lines: &[String], out: &mut Out) -> anyhow::Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    out.line(format_args!("{} {what}:", count(lines.len() as u64, "file")))?;
    for line in lines.iter().take(NAMED) {
        out.paragraph(format_args!("  {line}"))?;
    }
    if lines.len() > NAMED {
        out.line(format_args!("  and {} more", lines.len() - NAMED))?;
    }
    Ok(())
}

fn progress(files: u64) -> indicatif::ProgressBar {
    if !std::io::stderr().is_terminal() {
        return indicatif::ProgressBar::hidden();
    }
    let style = indicatif::ProgressStyle::with_template("{pos}/{len} {wide_bar} {eta} {msg}");
    let bar = indicatif::ProgressBar::new(files);
    if let Ok(style) = style { bar.with_style(style) } else { bar }
}

fn entries(path: &Path) -> anyhow::Result<Vec<Asked>> {
    let shown = path.display();
    let text = std::fs::read_to_string(path).with_context(|| shown.to_string())?;
    let is_csv = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv"));
    let entries = if is_csv { from_csv(&text) } else { from_toml(&text) }.with_context(|| shown.to_string())?;
    if entries.is_empty() {
        bail!("{shown}: the list names no file");
    }
    Ok(entries)
}

fn from_toml(text: &str) -> anyhow::Result<Vec<Asked>> {
    let manifest: Manifest = toml::from_str(text)?;
    if manifest.version != 1 {
        bail!("version {} is not known; this counterpane reads version 1", manifest.version);
    }
    if manifest.defaults.path.is_some() {
        bail!("`path` stands in [defaults]; it belongs into a [[file]] table");
    }
    let named = |(i, e): (usize, Asked)| {
        let entry = e.or(&manifest.defaults);
        if entry.path.is_some() { Ok(entry) } else { bail!("[[file]] number {} has no `path`", i + 1) }
    };
    manifest.files.into_iter().enumerate().map(named).collect()
}

/// Reads the list as CSV; an empty field is left out.
fn from_csv(text: &str) -> anyhow::Result<Vec<Asked>> {
    let mut reader =
        csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let mut entries = Vec::new();
    for row in reader.deserialize::<Asked>() {
        let row = row?;
        if row.path.as_ref().is_none_or(|p| p.as_os_str().is_empty()) {
            bail!("row {} has no `path`", entries.len() + 1);
        }
        entries.push(row);
    }
    Ok(entries)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_forms_say_the_same() {
        let toml = "version = 1\n[defaults]\nparticipant = \"P01\"\nunit = \"ring-a-1\"\n[[file]]\npath = \"a.json\"\n[[file]]\npath = \"b.edf\"\nscorer = \"S1\"\nnew_nights = true\n";
        let csv = "path,unit,scorer,participant,new_nights\na.json,ring-a-1,,P01,\nb.edf,,S1,P01,true\n";
        let said = |entries: Vec<Asked>| format!("{entries:?}");
        assert_eq!(said(from_toml(toml).unwrap()), said(from_csv(csv).unwrap()));
    }

    #[test]
    fn a_misspelt_key_or_column_is_named() {
        let toml = from_toml("version = 1\n[[file]]\npath = \"a\"\nunti = \"x\"\n").map_err(|e| e.to_string());
        assert!(toml.is_err_and(|e| e.contains("unknown field `unti`")));
        let csv = from_csv("path,unti\na,x\n").map_err(|e| e.to_string());
        assert!(csv.is_err_and(|e| e.contains("unknown field `unti`")));
    }
}
