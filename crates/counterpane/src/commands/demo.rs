//! `demo [DIR]`: an invented study from its raw files to its report, by the ordinary commands.

use crate::cli::Cli;
use crate::output::{Ended, Out};
use anyhow::{Context as _, bail};
use clap::Parser as _;
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Folder to make
    #[arg(value_name = "DIR", default_value = "counterpane-demo")]
    dir: PathBuf,
    /// Seed of the invented nights
    #[arg(long, value_name = "N", default_value_t = crate::demo::SEED)]
    seed: u64,
    /// Least size of the larger of the two invented phone dumps, in millions of bytes
    #[arg(long, value_name = "MB", default_value_t = crate::demo::DUMP_MB)]
    dump_mb: u64,
}

pub(crate) fn run(args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    if args.dir.exists() && std::fs::read_dir(&args.dir).map_or(true, |mut d| d.next().is_some()) {
        if !is_a_demo_and_nothing_else(&args.dir) {
            bail!(
                "{} is not empty, and not a demo alone; name another folder, or empty it yourself",
                args.dir.display()
            );
        }
        std::fs::remove_dir_all(&args.dir).with_context(|| args.dir.display().to_string())?;
    }
    out.say("Everything in this demo is invented: no person, no device, no night of it exists.")?;
    write_raw(args, &args.dir.join("raw"), out)?;
    for step in crate::demo::steps() {
        out.say(format_args!("\n{}", step.why))?;
        perform(&step, &args.dir, out)?;
    }
    let dir = args.dir.display();
    out.say(format_args!("\nThe report: {dir}/report.html (open it in a browser)"))?;
    out.say(format_args!("The study: {dir}/study (try `counterpane --study {dir}/study check`)"))?;
    out.say("A study of your own: `counterpane new my-study --zone …`")?;
    Ok(Ended::Fine)
}

fn write_raw(args: &Args, raw: &Path, out: &mut Out) -> anyhow::Result<()> {
    let open = |path: &str| {
        let path = raw.join(path);
        std::fs::create_dir_all(path.parent().unwrap_or(raw))?;
        File::create(&path).with_context(|| path.display().to_string())
    };
    let files = crate::demo::files(args.seed)?;
    for file in &files {
        open(&file.path)?.write_all(&file.bytes).with_context(|| file.path.clone())?;
    }
    let dumps = crate::demo::dumps(args.seed, args.dump_mb);
    for dump in &dumps {
        let mut file = BufWriter::new(open(&dump.path)?);
        dump.write(&mut file).and_then(|()| file.flush()).with_context(|| dump.path.clone())?;
    }
    out.say(format_args!("wrote {} raw files to {}", files.len() + dumps.len(), raw.display()))?;
    Ok(())
}

/// Says whether a folder holds a demo that this program wrote, and nothing beside it.
fn is_a_demo_and_nothing_else(dir: &Path) -> bool {
    let Ok(entries) = std::fs::read_dir(dir) else { return false };
    let known = ["raw", "report.html", "study"];
    let only_known = entries.flatten().all(|e| known.iter().any(|k| e.file_name().to_str() == Some(k)));
    let first_line = |bytes: &[u8]| bytes.split(|b| *b == b'\n').next().map(<[u8]>::to_vec);
    let readme = first_line(crate::demo::readme(crate::demo::SEED).as_bytes());
    let theirs = std::fs::read(dir.join("raw/README.txt")).ok().and_then(|b| first_line(&b));
    only_known && readme.is_some() && readme == theirs
}

fn perform(step: &crate::demo::Step, dir: &Path, out: &mut Out) -> anyhow::Result<()> {
    use crate::demo::Do;
    let study = dir.join("study");
    match &step.act {
        Do::Command { words, faulty } => {
            let folder = dir.to_string_lossy();
            let place = |w: &String| {
                let raw = w.replace("{raw}", &format!("{folder}/raw"));
                raw.replace("{study}", &format!("{folder}/study")).replace("{dir}", &folder)
            };
            let mut words: Vec<String> = words.iter().map(place).collect();
            if words.first().is_some_and(|w| w != "new") {
                words.splice(0..0, ["--study".to_owned(), format!("{folder}/study")]);
            }
            out.say(format_args!("$ counterpane {}", shown(&words)))?;
            let argv = std::iter::once("counterpane".to_owned()).chain(words);
            let cli = Cli::try_parse_from(argv).context("a step of the demo")?;
            let ended = super::run(&cli, out)?;
            let expected = if *faulty { Ended::Faulty } else { Ended::Fine };
            if ended != expected {
                bail!("this step of the demo should have ended otherwise; the demo is broken");
            }
        }
        Do::Write { path, text } => {
            let path = study.join(path);
            out.say(format_args!("writes {}", path.display()))?;
            std::fs::create_dir_all(path.parent().unwrap_or(&study))?;
            std::fs::write(&path, text).with_context(|| path.display().to_string())?;
        }
        Do::Append { path, text } => {
            let path = study.join(path);
            out.say(format_args!("adds to {}", path.display()))?;
            let mut whole = std::fs::read_to_string(&path).with_context(|| path.display().to_string())?;
            whole.push_str(text);
            std::fs::write(&path, whole).with_context(|| path.display().to_string())?;
        }
    }
    Ok(())
}

/// Returns words as a person would type them in a shell.
fn shown(words: &[String]) -> String {
    let plain = |w: &str| !w.is_empty() && w.chars().all(|c| c.is_alphanumeric() || "-_./:=+,".contains(c));
    let quoted = |w: &String| if plain(w) { w.clone() } else { format!("'{}'", w.replace('\'', "'\\''")) };
    words.iter().map(quoted).collect::<Vec<_>>().join(" ")
}
