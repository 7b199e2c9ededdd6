//! `definition draft FILE…`: a definition proposed from a sample, with its evidence and what is left to do.

use crate::cli::Cli;
use crate::opening;
use crate::output::{Ended, Out, clean};
use crate::wording::{and, count};
use anyhow::{Context as _, bail};
use counterpane_import::{Choice, Draft, DraftOptions, SampleFile, draft, files_with_stages, shipped};
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Samples of one kind of file, several nights are better than one; an archive; or the folder of an export
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
    /// Folder in which `importers` is written; else the study's
    #[arg(short = 'o', long = "output", value_name = "DIR")]
    output: Option<PathBuf>,
    /// Id of the definition; else the name of the first file
    #[arg(long, value_name = "NAME")]
    id: Option<String>,
    /// Say that wall times without a zone are in the zone of their night
    #[arg(long)]
    zone_of_night: bool,
    /// Answer what the sample leaves open, such as `zone=night` or `means=evening`; the draft lists what can be chosen
    #[arg(long, value_name = "KEY=VALUE", value_parser = answer)]
    choose: Vec<(String, String)>,
    /// Write over an earlier draft of this name
    #[arg(long)]
    replace: bool,
}

fn answer(text: &str) -> Result<(String, String), String> {
    match text.split_once('=').map(|(key, value)| (key.trim(), value.trim())) {
        Some((key, value)) if !key.is_empty() && !value.is_empty() => Ok((key.to_owned(), value.to_owned())),
        _ => Err("write it as KEY=VALUE, such as `zone=night`".to_owned()),
    }
}

/// A sample shows its structure long before this; a larger file is to be cut.
const LARGEST: u64 = 256 << 20;

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let root = match &args.output {
        Some(dir) => dir.clone(),
        None => opening::folder(cli).context("say with -o in which folder `importers` is to be written")?,
    };
    let id = id(args)?;
    let folder = root.join("importers").join(&id);
    let target = folder.join("importer.toml");
    if target.exists() && !args.replace {
        bail!("{} is there already; choose another name with --id, or write over it with --replace", target.display());
    }
    let files = match args.files.as_slice() {
        [folder] if folder.is_dir() => of_folder(folder, out)?,
        files => files.to_vec(),
    };
    let bytes = files.iter().map(|f| read(f)).collect::<anyhow::Result<Vec<_>>>()?;
    let names: Vec<String> = files.iter().map(|f| name_of(f)).collect();
    let samples: Vec<SampleFile<'_>> =
        names.iter().zip(&bytes).map(|(name, bytes)| SampleFile { name, bytes }).collect();
    let options = DraftOptions { id: id.clone(), zone_of_night: args.zone_of_night, answers: args.choose.clone() };
    let drafted = draft(&samples, &options).with_context(|| clean(&and(&names)))?;
    write(&folder, &names[0], &drafted)?;
    say_found(&drafted, &target, &id, out)?;
    say_left(&drafted, &target, out)?;
    say_next(args, &files, &drafted, &folder, &id, out)?;
    Ok(Ended::Fine)
}

/// Files of a folder that are looked at; a larger one is no export of one person.
const MOST_FILES: usize = 2000;

/// Finds the files of a folder that hold the stages.
fn of_folder(folder: &Path, out: &mut Out) -> anyhow::Result<Vec<PathBuf>> {
    let mut paths = Vec::new();
    collect(folder, 0, &mut paths)?;
    paths.sort();
    let small = |p: &PathBuf| std::fs::metadata(p).is_ok_and(|m| m.len() > 0 && m.len() <= LARGEST / 4);
    paths.retain(small);
    let bytes = paths.iter().map(|f| read(f)).collect::<anyhow::Result<Vec<_>>>()?;
    let below = |p: &PathBuf| {
        let parts = p.strip_prefix(folder).unwrap_or(p).components();
        parts.map(|c| c.as_os_str().to_string_lossy().into_owned()).collect::<Vec<_>>().join("/")
    };
    let names: Vec<String> = paths.iter().map(below).collect();
    let samples: Vec<SampleFile<'_>> =
        names.iter().zip(&bytes).map(|(name, bytes)| SampleFile { name, bytes }).collect();
    let found =
        files_with_stages(&samples, &DraftOptions::default()).with_context(|| clean(&folder.display().to_string()))?;
    let shown: Vec<String> = found.iter().take(3).map(|n| clean(&names[*n])).collect();
    let more = if found.len() > 3 { " and others" } else { "" };
    out.paragraph(format_args!(
        "the stages stand in {} of {}: {}{more}",
        count(found.len() as u64, "file"),
        clean(&folder.display().to_string()),
        and(&shown)
    ))?;
    Ok(found.into_iter().map(|n| paths[n].clone()).collect())
}

/// Lists the files below a folder; links are not followed, and hidden files are left out.
fn collect(folder: &Path, depth: usize, into: &mut Vec<PathBuf>) -> anyhow::Result<()> {
    let shown = || clean(&folder.display().to_string());
    for entry in std::fs::read_dir(folder).with_context(shown)? {
        let entry = entry.with_context(shown)?;
        let kind = entry.file_type().with_context(shown)?;
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        if kind.is_dir() && depth < 8 {
            collect(&entry.path(), depth + 1, into)?;
        } else if kind.is_file() {
            into.push(entry.path());
        }
        if into.len() > MOST_FILES {
            bail!("{} holds more than {MOST_FILES} files: name those with the stages", shown());
        }
    }
    Ok(())
}

fn read(path: &Path) -> anyhow::Result<Vec<u8>> {
    let name = || clean(&path.display().to_string());
    let size = std::fs::metadata(path).with_context(name)?.len();
    if size > LARGEST {
        bail!("{} is larger than {} MiB: cut a sample of a few nights out of it", name(), LARGEST >> 20);
    }
    std::fs::read(path).with_context(name)
}

fn name_of(path: &Path) -> String {
    path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Returns the id: as asked for, else the name of the first file in lower-case letters, digits and dashes.
fn id(args: &Args) -> anyhow::Result<String> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if let Some(id) = &args.id {
        if id.is_empty() || !id.chars().all(plain) || id.starts_with('-') {
            bail!(
                "`{}` cannot be the id of a definition; use small letters, digits and dashes, such as `my-ring`",
                clean(id)
            );
        }
        return Ok(id.clone());
    }
    let stem = args.files.first().and_then(|f| f.file_stem()).map(|s| s.to_string_lossy().to_ascii_lowercase());
    let spaced: String = stem.unwrap_or_default().chars().map(|c| if plain(c) { c } else { ' ' }).collect();
    let id = spaced.split(' ').filter(|w| !w.is_empty()).collect::<Vec<_>>().join("-");
    let id = id.trim_matches('-').to_owned();
    if id.is_empty() || shipped().iter().any(|(known, _)| *known == id) {
        bail!("the name of the file gives no id of its own; choose one with --id");
    }
    Ok(id)
}

/// Writes the definition, its sample, and what the sample gives.
fn write(folder: &Path, name: &str, drafted: &Draft) -> anyhow::Result<()> {
    let samples = folder.join("samples");
    let put = |path: PathBuf, bytes: &[u8]| std::fs::write(&path, bytes).with_context(|| path.display().to_string());
    std::fs::create_dir_all(&samples).with_context(|| samples.display().to_string())?;
    put(folder.join("importer.toml"), drafted.toml.as_bytes())?;
    if let Some(sample) = &drafted.sample {
        put(samples.join(name), sample)?;
        put(samples.join(name).with_extension("toml"), bindings(drafted).as_bytes())?;
    }
    if let Some(tried) = &drafted.tried {
        put(folder.join("as-drafted.txt"), format!("{AS_DRAFTED}{}", tried.text).as_bytes())?;
    }
    Ok(())
}

const AS_DRAFTED: &str = "What the sample gives as drafted, with every word read as `unscored`: look at the times. Times without a zone \
are\nshown as if in UTC, and a night or a start that the file lacks is invented.\n\n";

/// Returns what the command line would say of the sample, for `definition test`.
fn bindings(drafted: &Draft) -> String {
    let mut out = String::from(
        "# What the command line would say of the sample; all of it is invented until you write what is true.\n",
    );
    out.push_str("participant = \"P01\"\nzone = \"UTC\"\n");
    for need in &drafted.needs {
        out.push_str(match *need {
            "--night" => "night = \"2026-01-15\"\n",
            "--start" => "start = \"2026-01-15 22:00\"\n",
            _ => "",
        });
    }
    out
}

fn say_found(drafted: &Draft, target: &Path, id: &str, out: &mut Out) -> anyhow::Result<()> {
    out.line(format_args!("drafted `{id}`: {}", clean(&target.display().to_string())))?;
    for found in &drafted.found {
        out.paragraph(format_args!("  {}", clean(found)))?;
    }
    if let Some(tried) = &drafted.tried {
        // With layers, each block sees the rows of the others and leaves them aside.
        let aside = tried.rows.saturating_sub(tried.good + tried.faulty);
        let rest =
            if aside > 0 { format!(", and {aside} are left aside by `keep` or as `ignored`") } else { String::new() };
        out.paragraph(format_args!(
            "  tried on the sample: {} of {} become spans or claims{rest}; see as-drafted.txt beside it",
            tried.good,
            count(tried.rows, "row")
        ))?;
        for error in tried.errors.iter().take(5) {
            out.paragraph(format_args!("  the sample itself has: {}", clean(error)))?;
        }
    }
    Ok(())
}

fn say_left(drafted: &Draft, target: &Path, out: &mut Out) -> anyhow::Result<()> {
    out.line("left to do:")?;
    let lines: Vec<&str> = drafted.toml.lines().collect();
    let asked = |number: &u64| drafted.choices.iter().any(|c| c.lines.contains(number));
    let place = |number: &u64| usize::try_from(*number).ok().and_then(|n| lines.get(n.checked_sub(1)?)).copied();
    for choice in &drafted.choices {
        say_choice(choice, out)?;
    }
    if !drafted.choices.is_empty() {
        out.paragraph("  either edit these lines, or draft again with your choices and --replace")?;
    }
    // A table whose place is asked is refused at its name, a few lines above.
    let near = |number: &u64| {
        asked(number) || drafted.choices.iter().flat_map(|c| &c.lines).any(|l| *l > *number && *l <= number + 3)
    };
    for number in drafted.open.iter().filter(|n| !near(n)) {
        out.line(format_args!("  choose at line {number}: {}", clean(place(number).unwrap_or_default())))?;
    }
    if drafted.words > 0 {
        out.paragraph(format_args!(
            "  write what {} {}, at the end of {}",
            count(drafted.words as u64, "word"),
            if drafted.words == 1 { "means" } else { "mean" },
            clean(&name_of(target))
        ))?;
    }
    match &drafted.sample {
        Some(_) => {
            out.paragraph("  look at the sample in samples/: it is cut from your file and holds what your file holds")?
        }
        None => out.paragraph("  put a small sample into samples/: your file cannot be cut")?,
    }
    Ok(())
}

fn say_choice(choice: &Choice, out: &mut Out) -> anyhow::Result<()> {
    let places: Vec<String> = choice.lines.iter().take(4).map(u64::to_string).collect();
    let more = if choice.lines.len() > 4 { " and more" } else { "" };
    let places = format!("{}{more}", places.join(", "));
    let line = if choice.lines.len() == 1 { "line" } else { "lines" };
    out.paragraph(format_args!("  choose `{}` ({line} {places}): {}", choice.key, clean(&choice.why)))?;
    for (said, note) in &choice.options {
        let plain = |c: char| c.is_alphanumeric() || "/._-+:".contains(c);
        let said = clean(said);
        let said =
            if said.chars().all(plain) { format!("{}={said}", choice.key) } else { format!("'{}={said}'", choice.key) };
        let note = if note.is_empty() { String::new() } else { format!("  {}", clean(note)) };
        out.paragraph(format_args!("    --choose {said}{note}"))?;
    }
    Ok(())
}

fn say_next(
    args: &Args,
    files: &[PathBuf],
    drafted: &Draft,
    folder: &Path,
    id: &str,
    out: &mut Out,
) -> anyhow::Result<()> {
    let study = args.output.as_ref().map(|dir| format!("--study {} ", shell(dir))).unwrap_or_default();
    let more: Vec<String> = drafted
        .needs
        .iter()
        .map(|need| match *need {
            "--night" => " --night DATE".to_owned(),
            other => format!(" {other} TIME"),
        })
        .collect();
    out.line("then:")?;
    out.line(format_args!("$ counterpane definition test {}", shell(folder)))?;
    out.line(format_args!(
        "$ counterpane {study}import {} --definition {id} --unit UNIT{} --dry-run",
        files.first().map(|f| shell(f)).unwrap_or_default(),
        more.concat()
    ))?;
    Ok(())
}

/// Returns a path as a shell takes it.
fn shell(path: &Path) -> String {
    let text = clean(&path.display().to_string());
    let plain = |c: char| c.is_alphanumeric() || "/._-+:@".contains(c);
    if text.chars().all(plain) { text } else { format!("'{}'", text.replace('\'', "'\\''")) }
}
