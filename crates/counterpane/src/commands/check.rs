//! `check`: the checks of every night, run again, and what they found.

use crate::cli::Cli;
use crate::commands::show;
use crate::opening;
use crate::output::{Ended, Out, clean, severity_style};
use crate::wording::count;
use counterpane_model::{Finding, Severity};
use counterpane_store::{StoreError, StoredFinding};
use schemars::JsonSchema;
use serde::Serialize;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Night to check and list, such as `2026-04-04` or `P01/2026-04-04`; else all
    #[arg(value_name = "NIGHT")]
    night: Option<String>,
    /// How to print
    #[arg(long, value_enum, default_value = "full")]
    format: FindingShape,
}

/// How findings are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum FindingShape {
    /// One line each, for `grep`: severity, code, recording, place, message
    Concise,
    /// With the line of the file, and what to do
    Full,
    /// JSON with a schema in schemas/
    Json,
}

/// What `check --format json` prints.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// Errors that nobody accepted.
    open_errors: usize,
    /// Every finding, by night, severity and recording.
    findings: Vec<Printed>,
}

/// One finding.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Printed {
    /// Code of its kind: `counterpane explain CODE`.
    code: String,
    /// `error`, `warning` or `info`.
    severity: String,
    /// The participant's code.
    participant: Option<String>,
    /// Label of the night.
    night: Option<String>,
    /// Key of the recording.
    recording: Option<String>,
    /// What was found.
    message: String,
    /// Name of the file it points into.
    file: Option<String>,
    /// Place in that file.
    locator: Option<String>,
    /// The user's own line there.
    line: Option<String>,
    /// What to do next.
    help: String,
    /// How many times it was found.
    count: u64,
    /// Why it was accepted, if it was.
    accepted: Option<String>,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let study = match opening::to_write(cli) {
        Ok(mut study) => {
            match args.night.as_ref().map(|n| show::find_night(&study, n)).transpose()? {
                Some(night) => study.recheck_night(&night.participant, &night.label, &opening::checker)?,
                None => study.recheck(&opening::checker)?,
            }
            study
        }
        // A folder that cannot be written is listed as it was checked last.
        Err(e) if is_denied(&e) => {
            let study = opening::to_read(cli)?;
            out.say("the study cannot be written; these are the findings of the last check")?;
            study
        }
        Err(e) => return Err(e),
    };
    let night = args.night.as_ref().map(|n| show::find_night(&study, n)).transpose()?;
    let findings = study.findings(night.as_ref().map(|n| (n.participant.as_str(), n.label.as_str())))?;
    print(&findings, args.format, out)?;
    let open = findings.iter().filter(|f| f.is_open_error()).count();
    Ok(if open == 0 { Ended::Fine } else { Ended::Faulty })
}

fn is_denied(error: &anyhow::Error) -> bool {
    let denied = [std::io::ErrorKind::PermissionDenied, std::io::ErrorKind::ReadOnlyFilesystem];
    error.chain().any(|cause| {
        matches!(cause.downcast_ref::<StoreError>(), Some(StoreError::Io { error, .. }) if denied.contains(&error.kind()))
    })
}

/// Prints findings, and a last line with their number.
pub(crate) fn print(findings: &[StoredFinding], shape: FindingShape, out: &mut Out) -> anyhow::Result<()> {
    let open = findings.iter().filter(|f| f.is_open_error()).count();
    match shape {
        FindingShape::Json => {
            let findings =
                findings.iter().map(|f| printed(&f.finding, f.accepted.as_ref().map(|a| a.reason.clone()))).collect();
            return out.json(&Answer { version: 1, open_errors: open, findings });
        }
        FindingShape::Concise => {
            for f in findings {
                out.record(concise(f))?;
            }
        }
        FindingShape::Full => {
            for f in findings {
                out.paragraph(full(f))?;
            }
        }
    }
    let number = |severity| findings.iter().filter(|f| f.finding.severity == severity).count() as u64;
    let accepted = findings.iter().filter(|f| f.accepted.is_some()).count();
    out.say(format_args!(
        "{} ({open} open, {accepted} accepted), {}, {} of info",
        count(number(Severity::Error), "error"),
        count(number(Severity::Warning), "warning"),
        number(Severity::Info)
    ))
}

/// Returns a finding as JSON says it, with the reason for which it was accepted.
pub(crate) fn printed(f: &Finding, accepted: Option<String>) -> Printed {
    Printed {
        code: f.code.to_string(),
        severity: f.severity.code().into(),
        participant: f.night.as_ref().map(|n| n.0.clone()),
        night: f.night.as_ref().map(|n| n.1.clone()),
        recording: f.recording.clone(),
        message: f.message.clone(),
        file: f.place.as_ref().map(|p| p.file.clone()),
        locator: f.place.as_ref().map(|p| p.locator.to_string()),
        line: f.place.as_ref().map(|p| p.line.clone()),
        help: f.help.clone(),
        count: f.count,
        accepted,
    }
}

/// What the finding speaks of: the recording, else the night.
fn subject(f: &Finding) -> String {
    match (&f.recording, &f.night) {
        (Some(recording), _) => recording.clone(),
        (None, Some((participant, night))) => format!("{participant}/{night}"),
        (None, None) => "the file".into(),
    }
}

/// Returns severity and code.
fn label(f: &Finding) -> String {
    let style = severity_style(f.severity);
    format!("{style}{}[{}]{style:#}", f.severity, f.code)
}

/// Returns the message, with its number where it says more than one.
fn sentence(f: &Finding) -> String {
    // Most messages say their own number.
    let said = f.message.split(|c: char| !c.is_ascii_digit()).any(|word| word == f.count.to_string());
    let times = if f.count > 1 && !said { format!(" ({} times)", f.count) } else { String::new() };
    format!("{}{times}", clean(&f.message))
}

fn concise(stored: &StoredFinding) -> String {
    let f = &stored.finding;
    let accepted = stored.accepted.as_ref().map(|a| format!(" [accepted: {}]", clean(&a.reason))).unwrap_or_default();
    let at = f.place.as_ref().map(|p| format!("{} {}: ", clean(&p.file), clean(&p.locator.to_string())));
    format!("{} {}: {}{}{accepted}", label(f), clean(&subject(f)), at.unwrap_or_default(), sentence(f))
}

fn full(stored: &StoredFinding) -> String {
    let mut text = rendered(&stored.finding);
    if let Some(a) = &stored.accepted {
        text.push_str(&format!("accepted: {} (by {}, {})\n", clean(&a.reason), clean(&a.by), clean(&a.at)));
    }
    text
}

/// Returns a finding with its place, the user's own line and what to do next.
pub(crate) fn rendered(f: &Finding) -> String {
    let mut text = format!("{}: {}\n", label(f), sentence(f));
    text.push_str(&format!("  in {}\n", clean(&subject(f))));
    if let Some(place) = &f.place {
        text.push_str(&format!(" --> {}, {}\n", clean(&place.file), clean(&place.locator.to_string())));
        if !place.line.is_empty() {
            text.push_str(&format!("  | {}\n", clean(&place.line)));
        }
    }
    text.push_str(&format!("help: {}\n", clean(&f.help)));
    text
}
