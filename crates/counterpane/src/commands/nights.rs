//! `nights`: the declared nights and what the store holds of each.

use crate::cli::{Cli, Shape};
use crate::opening;
use crate::output::{Ended, Out, clean, table};
use crate::owed::{self, Owed};
use crate::wording::{count, count_of};
use counterpane_store::{NightRow, Study};
use schemars::JsonSchema;
use serde::Serialize;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// List what is still owed: unit by unit, what is not received, not typed twice or not decided
    #[arg(long)]
    missing: bool,
    /// List every unit and scorer on every night
    #[arg(long, conflicts_with = "missing")]
    each: bool,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
    /// How many nights to skip
    #[arg(long, value_name = "N", default_value_t = 0)]
    skip: u64,
    /// How many nights to print
    #[arg(long, value_name = "N", default_value_t = 200)]
    most: u64,
}

/// What `nights --format json` prints.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// Number of declared nights in the study.
    total: u64,
    /// The nights, by participant and label.
    nights: Vec<Row>,
    /// With `--missing` or `--each`: units and scorers by night.
    sources: Option<Vec<Owed>>,
}

/// One night.
#[derive(Debug, Serialize, JsonSchema)]
struct Row {
    /// The participant's code.
    participant: String,
    /// Label of the night.
    night: String,
    /// IANA zone.
    zone: String,
    /// `night`, `day` or `nap`.
    kind: String,
    /// Codes of the scorers whose references are there.
    references: Vec<String>,
    /// Devices whose recordings are there.
    devices: Vec<String>,
    /// Devices of which there are claims only.
    claims_only: Vec<String>,
    /// Sources of which there are notes only, such as a diary.
    diaries: Vec<String>,
    /// Errors that nobody accepted.
    open_errors: u64,
    /// Warnings.
    warnings: u64,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let study = opening::to_read(cli)?;
    let total = study.night_count()?;
    if args.missing || args.each {
        return by_source(&study, args, total, out);
    }
    let rows = study.night_rows(args.skip, args.most)?;
    match args.format {
        Shape::Json => {
            out.json(&Answer { version: 1, total, nights: rows.into_iter().map(row).collect(), sources: None })?
        }
        Shape::Text if rows.is_empty() => {
            out.say("no night is declared yet; add one to study.toml, or import with --new-nights")?
        }
        Shape::Text => {
            let declared =
                |r: &NightRow| study.nights().iter().any(|n| n.participant == r.participant && n.label == r.label);
            let cells: Vec<Vec<String>> = rows.iter().map(|r| cells(r, declared(r))).collect();
            out.raw(&table(
                &["participant", "night", "reference", "devices", "open errors", "warnings"],
                &[4, 5],
                &cells,
                out.width(),
            ))?;
            let shown = rows.len() as u64;
            if args.skip + shown < total {
                out.say(format_args!("{shown} of {}; more with --skip {}", count(total, "night"), args.skip + shown))?;
            }
        }
    }
    Ok(Ended::Fine)
}

fn by_source(study: &Study, args: &Args, total: u64, out: &mut Out) -> anyhow::Result<Ended> {
    let all = owed::all(study)?;
    let owing = all.iter().filter(|o| o.owed.is_some()).count() as u64;
    let known = all.len() as u64;
    let (skip, most) = (usize::try_from(args.skip)?, usize::try_from(args.most)?);
    let chosen: Vec<Owed> = all.into_iter().filter(|o| args.each || o.owed.is_some()).collect();
    let matching = chosen.len() as u64;
    let shown: Vec<Owed> = chosen.into_iter().skip(skip).take(most).collect();
    let last = args.skip + shown.len() as u64;
    match args.format {
        Shape::Json => out.json(&Answer { version: 1, total, nights: Vec::new(), sources: Some(shown) })?,
        Shape::Text => {
            let rows: Vec<Vec<String>> = shown.iter().map(source_cells).collect();
            if !rows.is_empty() {
                let head = ["participant", "night", "source", "exports", "typed", "state", "owed"];
                out.raw(&table(&head, &[3, 4], &rows, out.width()))?;
            }
            out.say(format_args!(
                "{owing} of {} owe something",
                count_of(known, "source and night", "sources and nights")
            ))?;
            if last < matching {
                out.say(format_args!("{last} of {matching} shown; more with --skip {last}"))?;
            }
        }
    }
    Ok(Ended::Fine)
}

fn source_cells(o: &Owed) -> Vec<String> {
    let state = match (o.excluded, o.received, o.open_errors, o.expected) {
        (true, ..) => "excluded",
        (_, 0, ..) => "expected",
        (.., 0, true) => "checked",
        (.., 0, false) => "checked, not expected",
        _ => "received",
    };
    let number = |n: usize| if n == 0 { "-".to_owned() } else { n.to_string() };
    vec![
        clean(&o.participant),
        clean(&o.night),
        clean(&o.source),
        number(o.received),
        number(o.typed),
        state.to_owned(),
        o.owed.clone().unwrap_or_default(),
    ]
}

fn cells(row: &NightRow, declared: bool) -> Vec<String> {
    let claims = row.claims_only.iter().map(|d| format!("{d} (claims)"));
    let devices: Vec<String> = row.devices.iter().cloned().chain(claims).collect();
    let notes = row.diaries.iter().map(|d| format!("{d} (notes)"));
    let references: Vec<String> = row.references.iter().cloned().chain(notes).collect();
    let or_dash = |list: &[String]| if list.is_empty() { "-".to_owned() } else { list.join(", ") };
    vec![
        row.participant.clone(),
        if declared { row.label.clone() } else { format!("{} (not in study.toml)", row.label) },
        or_dash(&references),
        or_dash(&devices),
        row.open_errors.to_string(),
        row.warnings.to_string(),
    ]
}

fn row(row: NightRow) -> Row {
    Row {
        participant: row.participant,
        night: row.label,
        zone: row.zone,
        kind: row.kind,
        references: row.references,
        devices: row.devices,
        claims_only: row.claims_only,
        diaries: row.diaries,
        open_errors: row.open_errors,
        warnings: row.warnings,
    }
}
