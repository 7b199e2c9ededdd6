//! `definition list, show, draft, test, schema`: the importers.

mod drafting;

use crate::cli::Cli;
use crate::definitions;
use crate::opening;
use crate::output::{Ended, Out, table};
use crate::trial;
use anyhow::bail;
use std::path::PathBuf;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Args {
    /// List the importer definitions that the study can use
    List,
    /// Print the text of a definition
    Show {
        /// Id of the definition
        #[arg(value_name = "ID")]
        id: String,
    },
    /// Print the JSON Schema of definitions, for editors
    Schema,
    /// Print how to write a definition: docs/definitions.md
    Guide,
    /// Propose a definition for files that no definition fits; what each word means stays yours to write
    Draft(drafting::Args),
    /// Try a definition on its samples: goldens, and what every definition must pass
    Test {
        /// Folder of an importer, or a folder of such folders
        #[arg(value_name = "DIR")]
        dir: PathBuf,
    },
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    // Definitions can be looked at outside a study too.
    let study: Option<PathBuf> = opening::folder(cli).ok();
    let all = definitions::all(study.as_deref())?;
    match args {
        Args::List => {
            let mut rows = Vec::new();
            for text in all.values() {
                let place = if text.own { "study" } else { "shipped" };
                let title = text
                    .parse()
                    .map_or_else(|_| "has a mistake; see `definition show`".to_owned(), |d| d.title().to_owned());
                rows.push(vec![text.id.clone(), place.to_owned(), title]);
            }
            out.raw(&table(&["id", "from", "reads"], &[], &rows, out.width()))?;
        }
        Args::Show { id } => match all.get(id) {
            Some(text) => {
                out.raw(&text.text)?;
                text.parse()?;
            }
            None => {
                let ids: Vec<&str> = all.keys().map(String::as_str).collect();
                bail!("there is no definition `{id}`; there are {}", crate::wording::and(&ids))
            }
        },
        Args::Draft(args) => return drafting::run(cli, args, out),
        Args::Schema => out.raw(&counterpane_import::schema())?,
        Args::Guide => out.raw(include_str!("../../../../docs/definitions.md"))?,
        Args::Test { dir } => return test(dir, out),
    }
    Ok(Ended::Fine)
}

fn test(dir: &std::path::Path, out: &mut Out) -> anyhow::Result<Ended> {
    let verdicts = trial::run(dir)?;
    for verdict in &verdicts {
        out.paragraph(trial::words(verdict))?;
    }
    out.say(trial::total(&verdicts))?;
    Ok(if verdicts.iter().all(|v| v.failed.is_empty()) { Ended::Fine } else { Ended::Faulty })
}
