//! `definition list` and `definition show`: the importers.

use crate::cli::Cli;
use crate::definitions;
use crate::opening;
use crate::output::{Ended, Out, table};
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
        Args::Schema => out.raw(&counterpane_import::schema())?,
    }
    Ok(Ended::Fine)
}
