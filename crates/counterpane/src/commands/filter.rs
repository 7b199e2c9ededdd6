//! `__filter`, hidden: the child process in which the filter of a definition runs.

use crate::output::Ended;
use anyhow::Context as _;

/// Serves the rows of the parent until it closes the pipe; nothing here is for a person to type.
pub(crate) fn run() -> anyhow::Result<Ended> {
    counterpane_import::run_filter(std::io::BufReader::new(std::io::stdin()), std::io::stdout())
        .context("the filter's process ended")?;
    Ok(Ended::Fine)
}
