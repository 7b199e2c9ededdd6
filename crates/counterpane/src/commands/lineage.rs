//! `lineage NIGHT DEVICE`: from epochs back to the lines of the originals that decided them.

pub(crate) mod answer;
mod epochs;
mod sources;

use crate::cli::{Cli, Shape};
use crate::commands::show;
use crate::comparing::lights_on_their_clocks;
use crate::opening;
use crate::output::{Ended, Out, clean};
use crate::wording::{and, count, or};
use anyhow::bail;
use counterpane_model::{Cell, Decided, Instant, MAJORITY, Night, Recording, Scheme, Stage, Zone};
use counterpane_store::{Stored, Study};
use epochs::{Laid, Run};
use sources::Origin;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// Device, unit or scorer whose epochs are followed
    #[arg(value_name = "DEVICE")]
    device: String,
    /// Only epochs in which it says this: W, N1, N2, N3, R, Light, NREM, Asleep, unscored, off or missing
    #[arg(value_name = "STAGE")]
    stage: Option<String>,
    /// Only epochs in which the reference says this: with STAGE, one cell of the matrix
    #[arg(long, value_name = "STAGE")]
    reference: Option<String>,
    /// Scorer of the reference, where the night has several
    #[arg(long, value_name = "CODE")]
    scorer: Option<String>,
    /// Only the epochs of one minute, by the local clock
    #[arg(long, value_name = "HH:MM")]
    at: Option<String>,
    /// Only this epoch, as numbered here, from 1
    #[arg(long, value_name = "N", conflicts_with = "at")]
    epoch: Option<usize>,
    /// Show every stretch, not only the first ten
    #[arg(long)]
    all: bool,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

/// How many stretches are shown without `--all`.
const SHOWN: usize = 10;

/// What was found for a question.
pub(crate) struct Found<'s> {
    pub(crate) night: &'s Night,
    pub(crate) zone: &'s Zone,
    pub(crate) laid: &'s Laid,
    pub(crate) device: &'s Origin,
    pub(crate) reference: Option<&'s Origin>,
    /// The stretches that are shown.
    pub(crate) runs: Vec<Run>,
    /// How many stretches there are.
    pub(crate) total: usize,
    /// Number of epochs that were asked for.
    pub(crate) epochs: usize,
    /// How many of them count in the matrix.
    pub(crate) counted: usize,
    /// What the reference says in them, with the number of epochs of each.
    pub(crate) beside: Vec<(Cell, usize)>,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let said = args.stage.as_deref().map(wanted).transpose()?;
    let beside = args.reference.as_deref().map(wanted).transpose()?;
    let study = opening::to_read(cli)?;
    let night = show::find_night(&study, &args.night)?;
    let zone = Zone::named(&night.zone)?;
    let stored = study.recordings(&night.participant, &night.label)?;
    let decided = study.decided(&night.participant, &night.label)?;
    let key = show::find_counting(&study, &night, &args.device)?;
    let Some(device) = stored.iter().find(|s| s.recording.key == key) else {
        bail!("the night has no recording `{key}`");
    };
    if device.recording.spans.is_empty() {
        bail!(
            "`{key}` holds no stages over time, so no epoch goes back to it; `counterpane show {}` says what it holds",
            args.night
        );
    }
    let reference = reference_of(&stored, device, args.scorer.as_deref())?;
    let counting: Vec<&Recording> = stored.iter().filter(|s| s.counts).map(|s| &s.recording).collect();
    let scoring = reference.map(|r| &r.recording);
    let night = Night { lights: lights_on_their_clocks(&night, scoring, &counting, &decided), ..night };
    let laid = Laid::new(&night, device, reference, &decided);
    let mut asked: Vec<usize> = laid.matching(said.as_ref(), beside.as_ref());
    if let Some(at) = &args.at {
        let at = clock(at)?;
        asked.retain(|i| laid.covers_minute(*i, &zone, &at));
    }
    if let Some(n) = args.epoch {
        if n == 0 || n > laid.grid.n {
            bail!("there is no epoch {n}: the epochs here are numbered from 1 to {}", laid.grid.n);
        }
        asked.retain(|i| i + 1 == n);
    }
    let runs = laid.runs(&asked);
    let total = runs.len();
    let shown: Vec<Run> = runs.into_iter().take(if args.all { usize::MAX } else { SHOWN }).collect();
    let device = origin(&study, device, &decided, shown.iter().flat_map(|r| r.device_spans.clone()))?;
    let reference = reference
        .map(|r| origin(&study, r, &decided, shown.iter().flat_map(|r| r.reference_spans.clone())))
        .transpose()?;
    let found = Found {
        night: &night,
        zone: &zone,
        counted: asked.iter().filter(|i| laid.counts(**i)).count(),
        beside: laid.beside(&asked),
        epochs: asked.len(),
        laid: &laid,
        device: &device,
        reference: reference.as_ref(),
        runs: shown,
        total,
    };
    match args.format {
        Shape::Json => out.json(&answer::of(&found))?,
        Shape::Text => print(&found, args, out)?,
    }
    Ok(Ended::Fine)
}

fn origin(
    study: &Study,
    stored: &Stored,
    decided: &Decided,
    spans: impl Iterator<Item = usize>,
) -> anyhow::Result<Origin> {
    let mut spans: Vec<usize> = spans.collect();
    spans.sort_unstable();
    spans.dedup();
    Origin::new(study, stored, decided, &spans)
}

/// What an epoch may be asked to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wanted {
    /// This class: the stage itself, and what some scheme folds into it.
    Class(Stage),
    /// This, which is no stage.
    Other(Cell),
}

impl Wanted {
    pub(crate) fn fits(self, cell: Cell) -> bool {
        match (self, cell) {
            (Wanted::Other(wanted), cell) => wanted == cell,
            (Wanted::Class(class), Cell::Stage(stage)) => {
                stage == class || Scheme::ALL.iter().any(|scheme| scheme.fold(stage) == Some(class))
            }
            (Wanted::Class(_), _) => false,
        }
    }
}

fn wanted(word: &str) -> anyhow::Result<Wanted> {
    let found = Cell::all().into_iter().find(|c| c.code().eq_ignore_ascii_case(word));
    match found {
        Some(Cell::Stage(stage)) => Ok(Wanted::Class(stage)),
        Some(other) => Ok(Wanted::Other(other)),
        None => {
            let words: Vec<&str> = Cell::all().iter().map(|c| c.code()).collect();
            bail!("`{}` is no stage; write {}", clean(word), or(&words))
        }
    }
}

/// Reads `HH:MM`.
fn clock(text: &str) -> anyhow::Result<String> {
    let parts: Option<(u8, u8)> =
        text.split_once(':').and_then(|(h, m)| Some((h.parse().ok()?, m.parse().ok().filter(|_| m.len() == 2)?)));
    match parts {
        Some((hour @ 0..24, minute @ 0..60)) => Ok(format!("{hour:02}:{minute:02}")),
        _ => bail!("`{}` is no time of day; write it as 23:41", clean(text)),
    }
}

/// The reference that the epochs are counted from: the only one, or the one of `--scorer`.
fn reference_of<'s>(stored: &'s [Stored], device: &Stored, scorer: Option<&str>) -> anyhow::Result<Option<&'s Stored>> {
    let all: Vec<&Stored> = stored
        .iter()
        .filter(|s| s.counts && s.recording.source.is_reference() && !s.recording.spans.is_empty())
        .filter(|s| s.recording.key != device.recording.key)
        .collect();
    let codes: Vec<&str> = all.iter().map(|s| s.recording.source.name()).collect();
    match (scorer, all.as_slice()) {
        (Some(MAJORITY), _) => {
            bail!("a majority has no lines of its own: follow the epochs of one scorer with --scorer: {}", or(&codes))
        }
        (Some(code), all) => match all.iter().find(|s| s.recording.source.name() == code) {
            Some(found) => Ok(Some(found)),
            None => bail!("the night has no other reference by `{}`; it has {}", clean(code), and(&codes)),
        },
        (None, []) => Ok(None),
        (None, [one]) => Ok(Some(one)),
        (None, _) => bail!("the night has several references: name one with --scorer: {}", or(&codes)),
    }
}

fn print(found: &Found<'_>, args: &Args, out: &mut Out) -> anyhow::Result<()> {
    let device = &found.device.name;
    let stage = args.stage.as_deref().map(|s| format!(" said {s}")).unwrap_or_default();
    let beside = match (&args.reference, found.reference) {
        (Some(stage), Some(r)) => format!(" where {} said {stage}", r.name),
        _ => String::new(),
    };
    let minutes = found.epochs as f64 / 2.0;
    let (participant, night) = (clean(&found.night.participant), clean(&found.night.label));
    out.paragraph(format_args!(
        "{participant}/{night}: {}{}{} ({minutes} min)",
        clean(device),
        if stage.is_empty() && beside.is_empty() { ", ".to_owned() } else { format!("{stage}{beside} in ") },
        count(found.epochs as u64, "epoch")
    ))?;
    if let Some(reference) = found.reference.filter(|_| args.reference.is_none() && found.epochs > 0) {
        let said: Vec<String> = found.beside.iter().map(|(cell, n)| format!("{} {n}", cell.code())).collect();
        out.paragraph(format_args!("{} said there: {}", clean(&reference.name), said.join(", ")))?;
    }
    out.paragraph(found.laid.in_words(found.counted))?;
    for origin in std::iter::once(found.device).chain(found.reference) {
        out.line("")?;
        for line in origin.lines(found.zone) {
            out.paragraph(clean(&line))?;
        }
    }
    for run in &found.runs {
        out.line("")?;
        print_run(found, run, out)?;
    }
    if found.total > found.runs.len() {
        out.line("")?;
        let more = found.total - found.runs.len();
        out.say(format_args!(
            "{} more; `--all` shows everything",
            count(more as u64, "stretch").replace("stretchs", "stretches")
        ))?;
    }
    Ok(())
}

fn print_run(found: &Found<'_>, run: &Run, out: &mut Out) -> anyhow::Result<()> {
    let grid = found.laid.grid;
    let (from, until) = (grid.at(run.first), grid.at(run.last + 1));
    let number = |i: usize| (i + 1).to_string();
    let numbers = match run.first == run.last {
        true => format!("epoch {}", number(run.first)),
        false => format!("epochs {} to {}", number(run.first), number(run.last)),
    };
    let beside = match (found.reference, run.reference) {
        (Some(r), Some(cell)) => format!("{} {}, ", r.name, cell.code()),
        _ => String::new(),
    };
    let mut since: Vec<String> = std::iter::once(found.device)
        .chain(found.reference)
        .flat_map(|origin| origin.left_out_within(from, until))
        .map(|decision| format!(", left out by decision {decision}"))
        .collect();
    since.dedup();
    let counts = if run.counted { String::new() } else { format!(" (not in the matrix{})", since.concat()) };
    out.paragraph(clean(&format!(
        "{}-{}  {numbers}: {beside}{} {}{counts}",
        seconds(found, from, true),
        seconds(found, until, true),
        found.device.name,
        run.device.code()
    )))?;
    let mut spans = |origin: &Origin, spans: &[usize], cell: Cell| {
        let deciding = origin.deciding(spans, cell);
        // What reaches into the first or the last of many epochs decided none of them.
        let shown = if run.first == run.last { spans } else { deciding.as_slice() };
        print_spans(found, origin, shown, &deciding, out)
    };
    spans(found.device, &run.device_spans, run.device)?;
    match (found.reference, run.reference) {
        (Some(reference), Some(cell)) => spans(reference, &run.reference_spans, cell),
        _ => Ok(()),
    }
}

/// Returns the local time of day with seconds; where the clocks change in the night, with the offset too if asked for.
fn seconds(found: &Found<'_>, at: Instant, with_offset: bool) -> String {
    let grid = found.laid.grid;
    let changes = found.zone.offset_at(grid.start) != found.zone.offset_at(grid.at(grid.n));
    let time = found.zone.wall_of(at).strftime("%H:%M:%S").to_string();
    let offset = found.zone.text_of(at).chars().skip(19).collect::<String>();
    if with_offset && changes { format!("{time}{offset}") } else { time }
}

/// How many spans of a stretch are shown: the first ones and the last.
const SPANS: usize = 3;

fn print_spans(
    found: &Found<'_>,
    origin: &Origin,
    spans: &[usize],
    deciding: &[usize],
    out: &mut Out,
) -> anyhow::Result<()> {
    if spans.is_empty() {
        return out.paragraph(clean(&format!("  {}: says nothing of this time", origin.name)));
    }
    for (i, span) in spans.iter().enumerate() {
        if spans.len() > SPANS + 1 && i == SPANS - 1 {
            let hidden = spans.len() - SPANS;
            out.paragraph(format_args!("  … {} between", count(hidden as u64, "row")))?;
        }
        if spans.len() > SPANS + 1 && (SPANS - 1..spans.len() - 1).contains(&i) {
            continue;
        }
        let Some(row) = origin.row(*span) else { continue };
        let (from, until) = (seconds(found, row.start, false), seconds(found, row.end, false));
        let part = if deciding.contains(span) { "" } else { " (did not decide)" };
        out.paragraph(clean(&format!("  {}: {from}-{until} `{}`, {}{part}", origin.name, row.label, row.locator)))?;
        if let Some(quote) = &row.quote {
            out.line(format_args!("  | {}", clean(quote)))?;
        }
    }
    Ok(())
}
