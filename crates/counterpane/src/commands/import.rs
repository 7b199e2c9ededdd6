//! `import FILE…`: files into the store.

mod read_from;

use crate::cli::{Cli, Shape};
use crate::commands::check;
use crate::importing::{Asked, Brought, File, bring_in, stretch};
use crate::opening;
use crate::output::{Ended, Out, clean};
use crate::preview;
use crate::sheets::TYPED_TIMES;
use crate::wording::{and, and_more, count};
use anyhow::{Context as _, bail};
use counterpane_model::Severity;
use counterpane_model::night::minutes_by_mark;
use counterpane_store::{NewRecording, Study};
use schemars::JsonSchema;
use serde::Serialize;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
#[command(after_help = TYPED_TIMES)]
pub(crate) struct Args {
    /// Files to bring in
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
    #[command(flatten)]
    asked: Asked,
    /// Read and report, and store nothing
    #[arg(long)]
    dry_run: bool,
    /// Say too by which facts the definition was recognised; --dry-run says it always
    #[arg(long, short)]
    verbose: bool,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

/// What `import --format json` prints.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// Whether nothing was stored because --dry-run was given.
    dry_run: bool,
    /// The files, in the order given.
    files: Vec<FileAnswer>,
}

/// One file.
#[derive(Debug, Serialize, JsonSchema)]
struct FileAnswer {
    /// Name of the file.
    file: String,
    /// SHA-256 of the bytes that are kept.
    sha256: String,
    /// SHA-256 of the file as it was received, where something was blanked on the way in.
    received_sha256: Option<String>,
    /// What was blanked on the way in.
    blanked: Vec<String>,
    /// Id of the definition that read it.
    definition: String,
    /// Why that one: `asked` (--definition), `usual` (study.toml) or `fits`.
    definition_by: &'static str,
    /// The facts of the file that hold, where it was recognised by them.
    facts: Vec<String>,
    /// Files beside it that were read with it, seen from its folder.
    beside: Vec<String>,
    /// Pictures that are kept with it, as the source of its rows.
    pictures: Vec<read_from::PictureAnswer>,
    /// Pictures that its head names and that were not found.
    pictures_missing: Vec<String>,
    /// The two readings that it follows from, where it is a settled sheet and both were found.
    settles: Option<read_from::SettlesAnswer>,
    /// Recordings that were stored, or would be.
    recordings: Vec<RecordingAnswer>,
    /// Nights that an earlier import took in the same way.
    taken_before: Vec<String>,
    /// Evenings of nights in the file that are not declared and were left out.
    left_out: Vec<String>,
    /// Rows of the file, and what became of them; the parts add up to `rows`.
    rows: u64,
    /// Rows that became spans.
    span_rows: u64,
    /// Rows that became claims.
    claim_rows: u64,
    /// Rows that became notes.
    note_rows: u64,
    /// Rows that became a finding and nothing else.
    faulty_rows: u64,
    /// Rows that were left out on purpose, by rule.
    ignored_rows: std::collections::BTreeMap<String, u64>,
    /// Header fields that identify a person; their values are not stored.
    identity_fields: Vec<String>,
    /// Number of errors that import found.
    errors: u64,
    /// Number of warnings that import found.
    warnings: u64,
    /// What import and the checks found; in a dry run what can be said of each recording by itself.
    findings: Vec<check::Printed>,
}

/// One recording.
#[derive(Debug, Serialize, JsonSchema)]
struct RecordingAnswer {
    /// Its key; empty in a dry run.
    key: String,
    /// Label of the night.
    night: String,
    /// How its times were known.
    time_basis: String,
    /// Number of spans.
    spans: usize,
    /// Number of claims.
    claims: usize,
    /// First instant, RFC 3339, UTC.
    start: Option<String>,
    /// Last instant, RFC 3339, UTC.
    end: Option<String>,
    /// Minutes in each mark.
    minutes: std::collections::BTreeMap<String, f64>,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    if args.files.len() > 1 && !args.asked.picture.is_empty() {
        bail!(
            "--picture belongs to one file; import the files one by one, or name their pictures in a list for `load`"
        );
    }
    let mut study = opening::to_write(cli)?;
    let by = opening::author(cli, &study).unwrap_or_else(|| opening::NOBODY.into());
    let mut ended = Ended::Fine;
    let mut answers = Vec::new();
    for file in &args.files {
        let done = one(&mut study, file, args, &by, out).with_context(|| clean(&file.display().to_string()))?;
        if done.errors > 0 {
            ended = Ended::Faulty;
        }
        answers.push(done);
    }
    if args.format == Shape::Json {
        out.json(&Answer { version: 1, dry_run: args.dry_run, files: answers })?;
    }
    Ok(ended)
}

/// Brings one file in and says so; the answer is for `--format json`.
fn one(study: &mut Study, path: &Path, args: &Args, by: &str, out: &mut Out) -> anyhow::Result<FileAnswer> {
    let brought = match bring_in(study, path, &args.asked, args.dry_run, by)? {
        Brought::In(brought) => brought,
        Brought::Nothing { why, findings } => {
            for f in findings.iter().take(20) {
                out.say(check::rendered(f))?;
            }
            bail!("{why}");
        }
    };
    if args.format == Shape::Text {
        let (id, why) = (&brought.act.definition, brought.why.words());
        out.paragraph(clean(&format!("{}: read by `{id}`{why}", path.display())))?;
        if args.verbose || args.dry_run {
            let facts = brought.why.facts();
            if !facts.is_empty() {
                out.paragraph(format_args!("  recognised: {}", clean(&and(facts))))?;
            }
        }
        if !brought.act.beside.is_empty() {
            out.paragraph(format_args!("  described by {}", clean(&and(&places(&brought)))))?;
        }
        say_beside(&brought, out)?;
        read_from::say(&brought, args.dry_run, out)?;
        for (recording, key) in brought.recordings.iter().zip(&brought.keys) {
            out.paragraph(sentence(recording, key, args.dry_run))?;
        }
        for key in brought.keys.iter().filter(|k| k.contains('#')) {
            say_what_counts(study, key, out)?;
        }
        if args.dry_run {
            preview::show(&brought, &sample_of(path)?, out)?;
        }
        for f in brought.findings.iter().filter(|f| f.severity != Severity::Info) {
            out.paragraph(check::rendered(f).trim_end())?;
        }
        if args.dry_run {
            preview::sum(&brought, out)?;
        }
    }
    Ok(file_answer(&brought))
}

/// Says of a recording that stands beside another export of its night which of the two counts, where it is the other one.
fn say_what_counts(study: &Study, key: &str, out: &mut Out) -> anyhow::Result<()> {
    let mut parts = key.splitn(3, '/');
    let (Some(participant), Some(night)) = (parts.next(), parts.next()) else { return Ok(()) };
    let standing = study.recordings(participant, night)?;
    let Some(own) = standing.iter().find(|s| s.recording.key == key && !s.counts) else { return Ok(()) };
    if let Some(counting) = standing.iter().find(|s| s.counts && s.recording.source == own.recording.source) {
        out.say(format_args!(
            "  note: the earlier export {} counts; `counterpane prefer {} --reason …` lets this one count",
            clean(&counting.recording.key),
            clean(key)
        ))?;
    }
    Ok(())
}

/// Returns where the files stand that were read with it, seen from its folder.
fn places(brought: &File) -> Vec<String> {
    brought.act.beside.iter().map(|b| b.place.clone()).collect()
}

/// Bytes of a file that a dry run looks up places in; beyond this it shows places without their words.
const LOOKED_AT: u64 = 32 << 20;

fn sample_of(path: &Path) -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    if std::fs::metadata(path)?.len() <= LOOKED_AT {
        bytes = std::fs::read(path)?;
    }
    Ok(bytes)
}

/// Says what is not data: nights taken before, nights left out, fields that identify a person.
fn say_beside(brought: &File, out: &mut Out) -> anyhow::Result<()> {
    if !brought.taken_before.is_empty() {
        out.say(format_args!("  imported before in the same way ({}); nothing to do", and(&brought.taken_before)))?;
    }
    let left_out = &brought.left_out;
    if !left_out.is_empty() {
        out.say(format_args!(
            "  left out {} that study.toml does not declare: {}; take them with --new-nights",
            count(left_out.len() as u64, "night"),
            and_more(left_out)
        ))?;
    }
    if !brought.around.is_empty() {
        out.say(format_args!(
            "  left out what lies around the declared windows of {}; widen `window` in study.toml to take it",
            and_more(&brought.around)
        ))?;
    }
    if brought.restored {
        out.say("  its original was missing or changed on disk, and is whole again")?;
    }
    if !brought.others.is_empty() {
        out.say(format_args!(
            "  note: the same file was imported for {} before; is it the right participant?",
            and(&brought.others)
        ))?;
    }
    if let Some(blanked) = &brought.act.blanked {
        out.say(format_args!(
            "  blanked on the way in: {}; the file as received had the hash {}, and what is kept {}",
            and(&blanked.fields),
            blanked.received.get(..12).unwrap_or_default(),
            brought.act.original.get(..12).unwrap_or_default()
        ))?;
    }
    if let Some(why) = &brought.act.clock_reason {
        out.say(format_args!("  the unit's clock was at {}", clean(why)))?;
    }
    if let Some(why) = brought.unblanked {
        out.say(format_args!("  {why}"))?;
    }
    if let Some(n) = brought.kept_whole {
        out.say(format_args!(
            "  note: decision {n} keeps this file as it was received, and that copy stays in originals/; `counterpane withdraw {n} --reason …` takes back only what was read from it"
        ))?;
    }
    if !brought.identity.is_empty() {
        let how = match brought.unblanked {
            Some(_) => "take the recording out of the archive first if it must not",
            None => "--blank-identity blanks it on the way in",
        };
        out.say(format_args!(
            "  its header names a person by {}; the store takes nothing of it, and the copy in originals/ keeps it: {how}",
            and(&brought.identity)
        ))?;
    }
    for night in &brought.new_nights {
        out.say(format_args!("  declares the night {} of {}", night.label, night.participant))?;
    }
    Ok(())
}

fn sentence(new: &NewRecording, key: &str, dry_run: bool) -> String {
    let r = &new.recording;
    let minutes: Vec<String> =
        minutes_by_mark(&r.spans).iter().map(|(mark, minutes)| format!("{mark} {minutes:.1}")).collect();
    let what = if r.is_notes_only() {
        count(r.notes.len() as u64, "note")
    } else if r.spans.is_empty() {
        count(r.claims.len() as u64, "claim")
    } else {
        format!("{}, {}; minutes: {}", count(r.spans.len() as u64, "span"), stretch(r), minutes.join(", "))
    };
    let key = if key.is_empty() { format!("{}/{}", r.participant, r.night) } else { key.to_owned() };
    let verb = if dry_run { "would store" } else { "stored" };
    format!("  {verb} {}: {what} (times: {})", clean(&key), r.time_basis.code())
}

fn file_answer(b: &File) -> FileAnswer {
    let number = |severity| b.findings.iter().filter(|f| f.severity == severity).count() as u64;
    FileAnswer {
        file: b.act.file.clone(),
        sha256: b.act.original.clone(),
        received_sha256: b.act.blanked.as_ref().map(|x| x.received.clone()),
        blanked: b.act.blanked.as_ref().map(|x| x.fields.clone()).unwrap_or_default(),
        definition: b.act.definition.clone(),
        definition_by: b.why.code(),
        facts: b.why.facts().to_vec(),
        beside: places(b),
        pictures: read_from::pictures(b),
        pictures_missing: b.read_from.no_picture.clone(),
        settles: read_from::settles(b),
        recordings: b.recordings.iter().zip(&b.keys).map(|(r, key)| recording_answer(r, key)).collect(),
        taken_before: b.taken_before.clone(),
        left_out: b.left_out.clone(),
        rows: b.tally.rows,
        span_rows: b.tally.spans,
        claim_rows: b.tally.claims,
        note_rows: b.tally.notes,
        faulty_rows: b.tally.faulty,
        ignored_rows: b.tally.ignored.clone(),
        identity_fields: b.identity.clone(),
        errors: number(Severity::Error),
        warnings: number(Severity::Warning),
        findings: b.findings.iter().map(|f| check::printed(f, None)).collect(),
    }
}

fn recording_answer(new: &NewRecording, key: &str) -> RecordingAnswer {
    let r = &new.recording;
    RecordingAnswer {
        key: key.to_owned(),
        night: r.night.clone(),
        time_basis: r.time_basis.code().to_owned(),
        spans: r.spans.len(),
        claims: r.claims.len(),
        start: r.bounds().map(|b| b.0.utc_text()),
        end: r.bounds().map(|b| b.1.utc_text()),
        minutes: minutes_by_mark(&r.spans).into_iter().map(|(mark, m)| (mark.code().to_owned(), m)).collect(),
    }
}
