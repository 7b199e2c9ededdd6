//! `explain CODE`: the page of the catalogue for one code.

use crate::output::{Ended, Out, severity_style};
use anyhow::bail;
use counterpane_model::{Kind, Severity};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Code of a finding, such as `spans-overlap`; without one, all codes are listed
    #[arg(value_name = "CODE")]
    code: Option<String>,
}

/// Returns every kind of finding, those of import and those of check, by code.
pub(crate) fn kinds() -> Vec<&'static Kind> {
    let checks = counterpane_check::CHECKS.iter().map(|c| &c.kind);
    let mut all: Vec<&'static Kind> = counterpane_import::KINDS.iter().copied().chain(checks).collect();
    all.sort_unstable_by_key(|k| k.code);
    all
}

/// Returns the kind of a code.
pub(crate) fn kind(code: &str) -> anyhow::Result<&'static Kind> {
    let kinds = kinds();
    match kinds.iter().find(|k| k.code == code) {
        Some(kind) => Ok(kind),
        None => {
            let codes: Vec<&str> = kinds.iter().map(|k| k.code).collect();
            bail!("there is no code `{code}`; there are {}", crate::wording::and(&codes))
        }
    }
}

pub(crate) fn run(args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    match &args.code {
        Some(code) => page(kind(code)?, out)?,
        None => {
            for severity in [Severity::Error, Severity::Warning, Severity::Info] {
                out.paragraph(format_args!("{}: {}", severity.code(), counterpane_check::meaning(severity)))?;
                for kind in kinds().into_iter().filter(|k| k.severity == severity) {
                    out.paragraph(format_args!("  {:<24} {}", kind.code, kind.title))?;
                }
                out.line("")?;
            }
            out.paragraph("`counterpane explain CODE` has the page of one; all of them are in docs/findings.md.")?;
        }
    }
    Ok(Ended::Fine)
}

fn page(kind: &Kind, out: &mut Out) -> anyhow::Result<()> {
    let page = counterpane_check::page_of(kind);
    let style = severity_style(kind.severity);
    out.paragraph(format_args!("{style}{}{style:#} {}: {}", kind.severity, kind.code, page.title))?;
    out.paragraph(format_args!("\n{}", page.severity))?;
    for (heading, text) in
        [("Why it matters", &page.why), ("What to do", &page.help), ("Once accepted", &page.accepted)]
    {
        out.paragraph(format_args!("\n{heading}: {text}"))?;
    }
    out.line("\nExample:")?;
    for line in kind.example.lines() {
        out.paragraph(format_args!("  {line}"))?;
    }
    Ok(())
}
