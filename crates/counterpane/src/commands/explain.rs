//! `explain CODE`: the page of the catalogue for one code.

use crate::output::{Ended, Out};
use anyhow::bail;
use counterpane_model::Kind;

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
        Some(code) => out.raw(&counterpane_check::catalogue_entry(kind(code)?))?,
        None => {
            for kind in kinds() {
                out.line(format_args!("{:<24} {:<8} {}", kind.code, kind.severity.code(), kind.title))?;
            }
        }
    }
    Ok(Ended::Fine)
}
