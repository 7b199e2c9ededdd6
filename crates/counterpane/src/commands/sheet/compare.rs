//! `sheet compare`: two readings of one source, and the sheet that both lead to.

use crate::cli::{Cli, Shape};
use crate::opening;
use crate::output::{Ended, Out, table};
use crate::sheets::{Both, Form, Settled, Sheet, both, sheet};
use crate::wording::{count, per_cent};
use crate::writing::{refuse_to_overwrite, refuse_to_replace, write_whole};
use anyhow::{Context as _, bail};
use counterpane_store::originals::hash_of;
use schemars::JsonSchema;
use serde::Serialize;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The first reading
    #[arg(value_name = "FIRST")]
    first: PathBuf,
    /// The second, by somebody who has not seen the first
    #[arg(value_name = "SECOND")]
    second: PathBuf,
    /// File in which the differences are settled: written when it is not there, else read
    #[arg(long, value_name = "FILE")]
    settle: Option<PathBuf>,
    /// Settled sheet to write, once each difference is settled with a reason
    #[arg(short, long, value_name = "FILE", requires = "settle")]
    output: Option<PathBuf>,
    /// Write over a settled sheet that is there
    #[arg(long, requires = "output")]
    replace: bool,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

/// What `sheet compare --format json` prints.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// The two readings.
    readings: [Reading; 2],
    /// Rows, once those that belong together are laid beside each other.
    rows: usize,
    /// How many of them differ.
    rows_differing: usize,
    /// Minutes up to which times do not differ: the two precisions together.
    within_minutes: f64,
    /// Minutes of which at least one reading says something.
    minutes: f64,
    /// How many of them the two tell differently, precision or not.
    minutes_differing: f64,
    /// What differs, in the order of the sheet: rows, totals, and fields of the head that are read off the source.
    differences: Vec<DifferenceRow>,
    /// How many differences are settled with a reason.
    settled: usize,
}

/// One of the two readings.
#[derive(Debug, Serialize, JsonSchema)]
struct Reading {
    /// Name of the file.
    file: String,
    /// SHA-256 of its bytes.
    sha256: String,
    /// Who read, where the head says it.
    reader: Option<String>,
    /// Which pass it is, where the head says it.
    pass: Option<String>,
}

/// A difference.
#[derive(Debug, Serialize, JsonSchema)]
struct DifferenceRow {
    /// Its number, from 1, as in the file of `--settle`.
    number: usize,
    /// Kind of line: `head`, `shown`, `change` or `epochs`.
    kind: &'static str,
    /// What the first reading says; `(no row)` for nothing.
    first: String,
    /// What the second reading says; `(no row)` for nothing.
    second: String,
    /// What was taken: `first`, `second`, `none`, or a row of its own.
    take: Option<String>,
    /// Why.
    reason: Option<String>,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let read = |path: &Path| sheet(path).with_context(|| path.display().to_string());
    let (first, second) = (read(&args.first)?, read(&args.second)?);
    let both = both(&first, &second)?;
    if first.field("pass") == second.field("pass") {
        out.say("note: both sheets say the same `pass`; are they two readings?")?;
    }
    let folder = opening::folder(cli).unwrap_or_else(|_| PathBuf::from("."));
    let answers = answers(args, &both, &folder, out)?;
    let settled = answers.iter().filter(|a| a.is_whole()).count();
    let open = both.differences().len() - settled;
    match args.format {
        Shape::Json => out.json(&answer(args, [&first, &second], &both, &answers)?)?,
        Shape::Text => print(&both, &answers, out)?,
    }
    if open > 0 {
        out.say(format_args!("{} not settled yet", count(open as u64, "difference")))?;
        return Ok(Ended::Faulty);
    }
    if let Some(path) = &args.output {
        let head = head(args, &first, &second)?;
        let Some(text) = both.sheet(&head, &answers) else { bail!("a difference is not settled") };
        refuse_to_overwrite(path, &folder)?;
        refuse_to_replace(path, args.replace)?;
        write_whole(path, text.as_bytes()).with_context(|| path.display().to_string())?;
        out.say(format_args!("wrote {}; import it with both readings beside it", path.display()))?;
    }
    Ok(Ended::Fine)
}

/// Returns what was decided of each difference; writes the file in which that is done when it is not there.
fn answers(args: &Args, both: &Both, folder: &Path, out: &mut Out) -> anyhow::Result<Vec<Settled>> {
    let open = vec![Settled::default(); both.differences().len()];
    let Some(path) = &args.settle else { return Ok(open) };
    if path.exists() {
        let text = std::fs::read_to_string(path).with_context(|| path.display().to_string())?;
        return both.answers(&text).with_context(|| path.display().to_string());
    }
    if !open.is_empty() {
        refuse_to_overwrite(path, folder)?;
        write_whole(path, both.questions().as_bytes()).with_context(|| path.display().to_string())?;
        out.say(format_args!("wrote {}: settle each difference there, with a reason", path.display()))?;
    }
    Ok(open)
}

fn print(both: &Both, answers: &[Settled], out: &mut Out) -> anyhow::Result<()> {
    let asked = answers.iter().any(|a| !a.take.is_empty());
    let rows = (1..).zip(both.differences()).zip(answers).map(|((number, d), answer)| {
        let mut row = vec![format!("{number}"), d.first.to_owned(), d.second.to_owned()];
        row.extend(asked.then(|| if answer.is_whole() { answer.take.clone() } else { "open".into() }));
        row
    });
    let rows: Vec<Vec<String>> = rows.collect();
    if !rows.is_empty() {
        let head = ["", "first reading", "second reading", "taken"];
        out.raw(&table(&head[..if asked { 4 } else { 3 }], &[0], &rows, out.width()))?;
    }
    let (apart, minutes) = both.apart.minutes();
    out.say(format_args!(
        "{} of {} differ ({:.1} %): in stage, in extent, in a row that one lacks, or by more than {} min, the two precisions together",
        both.rows_differing,
        count(both.rows as u64, "row"),
        per_cent(both.rows_differing as f64, both.rows as f64),
        both.within
    ))?;
    out.say(format_args!("{apart:.1} of {minutes:.1} min are told differently ({:.1} %)", per_cent(apart, minutes)))
}

fn answer(args: &Args, sheets: [&Sheet; 2], both: &Both, answers: &[Settled]) -> anyhow::Result<Answer> {
    let said = |text: &str| Some(text.to_owned()).filter(|t| !t.is_empty());
    let reading = |path: &PathBuf, sheet: &Sheet| -> anyhow::Result<Reading> {
        let (reader, pass) = (sheet.field("reader"), sheet.field("pass"));
        Ok(Reading {
            file: name(path),
            sha256: hash(path)?,
            reader: reader.map(str::to_owned),
            pass: pass.map(str::to_owned),
        })
    };
    let [first, second] = sheets;
    let differences = (1..).zip(both.differences()).zip(answers).map(|((number, d), a)| DifferenceRow {
        number,
        kind: d.kind,
        first: d.first.to_owned(),
        second: d.second.to_owned(),
        take: said(&a.take),
        reason: said(&a.reason),
    });
    Ok(Answer {
        version: 1,
        readings: [reading(&args.first, first)?, reading(&args.second, second)?],
        rows: both.rows,
        rows_differing: both.rows_differing,
        within_minutes: both.within,
        minutes: both.apart.minutes().1,
        minutes_differing: both.apart.minutes().0,
        differences: differences.collect(),
        settled: answers.iter().filter(|a| a.is_whole()).count(),
    })
}

/// Returns the head of the settled sheet: of the first, with both readers, and with the names and hashes of both files, by which
/// the import finds them again.
fn head(args: &Args, first: &Sheet, second: &Sheet) -> anyhow::Result<Vec<(&'static str, String)>> {
    let text = |sheet: &Sheet, field: &str| sheet.field(field).unwrap_or_default().to_owned();
    let mut out: Vec<(&'static str, String)> = first.form.whose().iter().map(|f| (*f, text(first, f))).collect();
    let readers = [first, second].map(|s| text(s, "reader"));
    let named: Vec<&str> = readers.iter().map(String::as_str).filter(|r| !r.is_empty()).collect();
    out.push(("reader", named.join(" and ")));
    out.push(("pass", "settled".into()));
    if first.form == Form::Changes {
        let minutes = |s: &Sheet| s.field("precision").and_then(|p| p.parse::<f64>().ok()).unwrap_or(0.0);
        let coarser = if minutes(first) >= minutes(second) { first } else { second };
        out.push(("precision", text(coarser, "precision")));
        out.push(("picture", text(first, "picture")));
    }
    for (field, of_file, path) in [("first", "first file", &args.first), ("second", "second file", &args.second)] {
        out.push((field, hash(path)?));
        out.push((of_file, name(path)));
    }
    Ok(out)
}

fn hash(path: &Path) -> anyhow::Result<String> {
    Ok(hash_of(&mut std::fs::File::open(path)?)?.sha256)
}

fn name(path: &Path) -> String {
    path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}
