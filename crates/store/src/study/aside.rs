//! Studies whose folder is only read, with a store that stands elsewhere: what proofs are made on.

use super::{Study, connect, hash};
use crate::decisions::Log;
use crate::originals::Originals;
use crate::{Access, Config, StoreError};
use std::path::Path;

impl Study {
    /// Opens the study of a folder with a store that stands elsewhere and may be written; one that is not
    /// there is made, empty, and every decision is then pending. Nothing is written in the folder.
    ///
    /// New decisions must not be taken on it: they would be logged in the folder.
    ///
    /// # Errors
    /// `study.toml` or the log has a mistake, or the store cannot be written.
    pub fn open_aside(root: &Path, store: &Path) -> Result<Study, StoreError> {
        let mut study = Study::inspect(root, store, Access::Write)?;
        // What is proven is lost with the process anyhow.
        study.db.pragma_update(None, "synchronous", "OFF")?;
        study.follow_config()?;
        Ok(study)
    }

    /// Opens the study of a folder with a store that stands somewhere, without a lock and without mending
    /// or following anything.
    pub(crate) fn inspect(root: &Path, store: &Path, access: Access) -> Result<Study, StoreError> {
        let root = std::path::absolute(root).map_err(StoreError::io(root))?;
        let toml = root.join("study.toml");
        let text = std::fs::read_to_string(&toml).map_err(StoreError::io(&toml))?;
        let config = Config::parse(&toml, &text)?;
        let nights = config.resolved_nights()?;
        let log = Log::open(&root.join("decisions.jsonl"))?;
        let db = connect(store, access)?;
        let config_sha256 = hash(text.as_bytes());
        Ok(Study { originals: Originals::at(&root), root, config, config_sha256, nights, log, db, _lock: None })
    }
}
