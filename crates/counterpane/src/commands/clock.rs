//! `clock`: what a clock showed, and how it is corrected.

use crate::cli::{Cli, Shape};
use crate::commands::show;
use crate::deciding::{decide, length_ms, reason, source_on, time_in};
use crate::importing::{identity_in, picture};
use crate::opening;
use crate::output::{Ended, Out, clean, table};
use crate::wording::{and, count};
use anyhow::{Context as _, bail};
use counterpane_model::{ClockPoint, ClockReading, ClockSetting, Night, Zone};
use counterpane_store::acts::Picture;
use counterpane_store::{Act, ClockSeenAct, ClockSetAct, Study};
use schemars::JsonSchema;
use serde::Serialize;
use std::path::PathBuf;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Args {
    /// Note what a clock showed against the true time
    Add(AddArgs),
    /// List what clocks showed and how they are corrected
    List(ListArgs),
    /// Correct a clock on a night; results are shown with and without
    Set(SetArgs),
}

#[derive(Debug, clap::Args)]
pub(crate) struct AddArgs {
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// Unit, device or scorer whose clock it is
    #[arg(value_name = "SOURCE")]
    source: String,
    /// What the clock showed, such as `22:03:10`
    #[arg(long, value_name = "TIME")]
    shown: String,
    /// The true time at that moment, such as `22:00:05`
    #[arg(long = "true", value_name = "TIME")]
    truth: String,
    /// How finely both could be read, either way
    #[arg(long, value_name = "LENGTH", default_value = "1s")]
    precision: String,
    /// A picture of it, which is kept as an original
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Keep the picture without its metadata: place, camera, names
    #[arg(long, num_args = 0..=1, require_equals = true, default_missing_value = "true", value_name = "YES")]
    blank_identity: Option<bool>,
    /// More in words
    #[arg(value_name = "TEXT", default_value = "")]
    text: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct SetArgs {
    /// Night, such as `2026-04-04`, or `P01/2026-04-04` where several people have it
    #[arg(value_name = "NIGHT")]
    night: String,
    /// Unit, device or scorer whose clock it is
    #[arg(value_name = "SOURCE")]
    source: String,
    /// What is added to all its times, such as `-3min`
    #[arg(long, value_name = "LENGTH", group = "how", allow_hyphen_values = true)]
    shift: Option<String>,
    /// A sync point, its time and the true time, such as `22:03:10=22:00:05`; several make straight lines between them
    #[arg(long = "point", value_name = "SHOWN=TRUE", group = "how")]
    points: Vec<String>,
    /// Take what `clock add` noted of this night as sync points
    #[arg(long, group = "how")]
    as_seen: bool,
    /// Take the clock as it is again
    #[arg(long, group = "how")]
    none: bool,
    /// Why; goes into the decision log and the report
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct ListArgs {
    /// Nights; else all
    #[arg(value_name = "NIGHT")]
    nights: Vec<String>,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

/// What `clock list --format json` prints.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// What clocks showed, by night and decision.
    readings: Vec<ReadingRow>,
    /// Corrections that apply, by night and decision.
    settings: Vec<SettingRow>,
}

/// What a clock showed.
#[derive(Debug, Serialize, JsonSchema)]
struct ReadingRow {
    /// Participant and label of the night.
    night: String,
    /// Unit or scorer.
    source: String,
    /// What it showed, RFC 3339 with offset.
    shown: String,
    /// What time it was, RFC 3339 with offset.
    truth: String,
    /// What must be added to the shown time, milliseconds.
    shift_ms: i64,
    /// How finely both could be read, milliseconds either way.
    precision_ms: i64,
    /// SHA-256 of a picture as it is kept.
    picture: Option<String>,
    /// SHA-256 of the picture as it was received, where something was blanked on the way in.
    picture_received: Option<String>,
    /// Number of the decision.
    decision: u64,
}

/// A correction that applies.
#[derive(Debug, Serialize, JsonSchema)]
struct SettingRow {
    /// Participant and label of the night.
    night: String,
    /// Unit or scorer.
    source: String,
    /// Its time, RFC 3339 with offset, and milliseconds that are added there.
    points: Vec<(String, i64)>,
    /// Why.
    reason: String,
    /// Number of the decision.
    decision: u64,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    match args {
        Args::Add(args) => add(cli, args, out),
        Args::List(args) => list(cli, args, out),
        Args::Set(args) => set(cli, args, out),
    }
}

fn add(cli: &Cli, args: &AddArgs, out: &mut Out) -> anyhow::Result<Ended> {
    let precision_ms = length_ms(&args.precision)?;
    if precision_ms < 0 {
        bail!("a precision is not negative; write it such as 5s");
    }
    let mut study = opening::to_write(cli)?;
    let night = show::find_night(&study, &args.night)?;
    let source = source_on(&study, &night, &args.source)?;
    let (shown, truth) = (time_in(&night, &args.shown)?, time_in(&night, &args.truth)?);
    let blanks = args.blank_identity.unwrap_or(study.config().blank_identity);
    let kept = args.picture.as_ref().map(|p| keep_picture(&study, p, blanks)).transpose()?;
    let act = ClockSeenAct {
        participant: night.participant.clone(),
        night: night.label.clone(),
        source: source.clone(),
        shown,
        truth,
        precision_ms,
        picture: kept,
        text: args.text.trim().to_owned(),
    };
    say_of_picture(&act, args, out)?;
    let n = decide(cli, &mut study, &Act::ClockSeen(act))?;
    let shift = shift_words(truth.ms_since(shown));
    out.say(format_args!(
        "decision {n}: at {} the clock of {source} needed {shift}. Nothing is corrected yet: `counterpane clock set {} {source} --as-seen --reason …` does",
        Zone::named(&night.zone)?.clock_of(truth),
        args.night
    ))?;
    Ok(Ended::Fine)
}

/// Says what is blanked in the picture, or what it tells besides the clock.
fn say_of_picture(act: &ClockSeenAct, args: &AddArgs, out: &mut Out) -> anyhow::Result<()> {
    let (Some(picture), Some(path)) = (&act.picture, &args.picture) else { return Ok(()) };
    if args.blank_identity == Some(true) && picture.blanked.is_none() {
        return out.say("nothing was to blank: the picture tells nothing beside what it shows");
    }
    if let Some(blanked) = &picture.blanked {
        return out.say(format_args!("the picture is kept without {}", and(&blanked.fields)));
    }
    let tells = identity_in(path);
    if tells.is_empty() {
        return Ok(());
    }
    out.say(format_args!(
        "note: the picture is kept with {}, which may name a place or a person; --blank-identity keeps it without",
        and(&tells)
    ))
}

fn keep_picture(study: &Study, path: &std::path::Path, blank_identity: bool) -> anyhow::Result<Picture> {
    let shown = || path.display().to_string();
    if !path.is_file() {
        bail!("{} is not a file; name a picture", path.display());
    }
    let mut incoming = picture(path, blank_identity).with_context(shown)?;
    let original = incoming.keep(study)?;
    let file = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    Ok(Picture { sha256: original.sha256, bytes: original.bytes, file, blanked: incoming.blanked })
}

fn set(cli: &Cli, args: &SetArgs, out: &mut Out) -> anyhow::Result<Ended> {
    let reason = reason(&args.reason)?;
    let mut study = opening::to_write(cli)?;
    let night = show::find_night(&study, &args.night)?;
    let source = source_on(&study, &night, &args.source)?;
    let points = points(&study, &night, &source, args)?;
    let act = ClockSetAct {
        participant: night.participant.clone(),
        night: night.label.clone(),
        source: source.clone(),
        points: points.clone(),
        reason,
    };
    let n = decide(cli, &mut study, &Act::ClockSet(act))?;
    let how = match points.as_slice() {
        [] => "is taken as it is".to_owned(),
        [one] => format!("is corrected by {}", shift_words(one.shift_ms)),
        several => format!("is corrected along {}", count(several.len() as u64, "point")),
    };
    out.say(format_args!(
        "decision {n}: the clock of {source} on {}/{} {how}; `compare` and `report` show both. Take it back with `counterpane withdraw {n} --reason …`",
        night.participant, night.label
    ))?;
    Ok(Ended::Fine)
}

fn points(study: &Study, night: &Night, source: &str, args: &SetArgs) -> anyhow::Result<Vec<ClockPoint>> {
    let mut points = if let Some(shift) = &args.shift {
        vec![ClockPoint { at: night.window.0, shift_ms: length_ms(shift)? }]
    } else if args.as_seen {
        let decided = study.decided(&night.participant, &night.label)?;
        let of = decided.readings.iter().filter(|r| r.source == source);
        let seen: Vec<ClockPoint> = of.map(|r| ClockPoint { at: r.shown, shift_ms: r.shift_ms() }).collect();
        if seen.is_empty() {
            bail!("nothing was noted of the clock of {source} on this night; note it with `counterpane clock add`");
        }
        seen
    } else if args.none {
        Vec::new()
    } else if args.points.is_empty() {
        bail!("say how: --shift=-3min, --point SHOWN=TRUE, --as-seen or --none");
    } else {
        args.points.iter().map(|p| point(night, p)).collect::<anyhow::Result<_>>()?
    };
    points.sort_by_key(|p| p.at);
    for pair in points.windows(2) {
        let [a, b] = pair else { continue };
        if a.at == b.at {
            bail!("two sync points are at {}; take one of them away", b.at);
        }
        if b.at.0 + b.shift_ms <= a.at.0 + a.shift_ms {
            bail!("between {} and {} the corrected clock would run backwards; check the two sync points", a.at, b.at);
        }
    }
    Ok(points)
}

fn point(night: &Night, text: &str) -> anyhow::Result<ClockPoint> {
    let Some((shown, truth)) = text.split_once('=') else {
        bail!(
            "`{}` is not a sync point; write what was shown and the true time, such as 22:03:10=22:00:05",
            clean(text)
        );
    };
    let (shown, truth) = (time_in(night, shown)?, time_in(night, truth)?);
    Ok(ClockPoint { at: shown, shift_ms: truth.ms_since(shown) })
}

/// Returns `-3 min 5 s` or `+0 s`.
fn shift_words(ms: i64) -> String {
    let (minutes, rest) = (ms.abs() / 60_000, ms.abs() % 60_000);
    let sign = if ms < 0 { '-' } else { '+' };
    let seconds = format!("{} s", rest as f64 / 1000.0);
    match (minutes, rest) {
        (0, _) => format!("{sign}{seconds}"),
        (m, 0) => format!("{sign}{m} min"),
        (m, _) => format!("{sign}{m} min {seconds}"),
    }
}

fn list(cli: &Cli, args: &ListArgs, out: &mut Out) -> anyhow::Result<Ended> {
    let study = opening::to_read(cli)?;
    let nights: Vec<Night> = match args.nights.as_slice() {
        [] => study.nights().to_vec(),
        some => some.iter().map(|n| show::find_night(&study, n)).collect::<anyhow::Result<_>>()?,
    };
    let mut answer = Answer { version: 1, readings: Vec::new(), settings: Vec::new() };
    let mut rows = Vec::new();
    for night in &nights {
        let zone = Zone::named(&night.zone)?;
        let name = format!("{}/{}", night.participant, night.label);
        let decided = study.decided(&night.participant, &night.label)?;
        for r in &decided.readings {
            rows.push(reading_cells(&name, &zone, r));
            answer.readings.push(reading_row(&name, &zone, r, &study));
        }
        for s in &decided.clocks {
            rows.push(setting_cells(&name, s));
            let points = s.points.iter().map(|p| (zone.text_of(p.at), p.shift_ms)).collect();
            let (source, reason) = (s.source.clone(), s.reason.clone());
            answer.settings.push(SettingRow { night: name.clone(), source, points, reason, decision: s.decision });
        }
    }
    match args.format {
        Shape::Json => out.json(&answer)?,
        Shape::Text if rows.is_empty() => {
            out.say("nothing is noted of any clock; note what one showed with `counterpane clock add`")?;
        }
        Shape::Text => {
            let head = ["night", "source", "", "shown", "true", "to add", "decision"];
            out.raw(&table(&head, &[6], &rows, out.width()))?;
        }
    }
    Ok(Ended::Fine)
}

fn reading_cells(night: &str, zone: &Zone, r: &ClockReading) -> Vec<String> {
    let clock = |t| zone.wall_of(t).strftime("%H:%M:%S").to_string();
    vec![
        night.to_owned(),
        r.source.clone(),
        "seen".into(),
        clock(r.shown),
        clock(r.truth),
        shift_words(r.shift_ms()),
        r.decision.to_string(),
    ]
}

fn setting_cells(night: &str, s: &ClockSetting) -> Vec<String> {
    let shifts: Vec<String> = s.points.iter().map(|p| shift_words(p.shift_ms)).collect();
    vec![
        night.to_owned(),
        s.source.clone(),
        "set".into(),
        String::new(),
        String::new(),
        shifts.join(", "),
        s.decision.to_string(),
    ]
}

fn reading_row(night: &str, zone: &Zone, r: &ClockReading, study: &Study) -> ReadingRow {
    ReadingRow {
        night: night.to_owned(),
        source: r.source.clone(),
        shown: zone.text_of(r.shown),
        truth: zone.text_of(r.truth),
        shift_ms: r.shift_ms(),
        precision_ms: r.precision_ms,
        picture: r.picture.clone(),
        picture_received: study.received_as(r.decision).map(|b| b.received.clone()),
        decision: r.decision,
    }
}
