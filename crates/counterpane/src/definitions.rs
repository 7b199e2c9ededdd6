//! The definitions that a study can use: those of this program, and the study's own.

use anyhow::{Context as _, bail};
use counterpane_import::{Definition, shipped};
use std::collections::BTreeMap;
use std::path::Path;

/// A definition before it is parsed.
#[derive(Clone, Debug)]
pub(crate) struct Text {
    /// Its id: the name of its folder.
    pub(crate) id: String,
    /// The text of `importer.toml`.
    pub(crate) text: String,
    /// Where it stands, for messages.
    pub(crate) file: String,
    /// Whether it is the study's own.
    pub(crate) own: bool,
}

impl Text {
    /// Parses it.
    pub(crate) fn parse(&self) -> anyhow::Result<Definition> {
        Definition::parse(&self.id, &self.text).map_err(|e| anyhow::anyhow!("{}", e.render(&self.file)))
    }
}

/// Returns every definition by id; the study's own take the place of shipped ones of the same id.
pub(crate) fn all(study: Option<&Path>) -> anyhow::Result<BTreeMap<String, Text>> {
    let mut out = BTreeMap::new();
    for (id, text) in shipped() {
        let file = format!("importers/{id}/importer.toml (shipped)");
        out.insert((*id).to_owned(), Text { id: (*id).to_owned(), text: (*text).to_owned(), file, own: false });
    }
    let Some(folder) = study.map(|s| s.join("importers")).filter(|f| f.is_dir()) else { return Ok(out) };
    for entry in std::fs::read_dir(&folder).with_context(|| folder.display().to_string())? {
        let path = entry?.path().join("importer.toml");
        if !path.is_file() {
            continue;
        }
        let id = path.parent().and_then(Path::file_name).map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let text = std::fs::read_to_string(&path).with_context(|| path.display().to_string())?;
        let file = path.display().to_string();
        out.insert(id.clone(), Text { id, text, file, own: true });
    }
    Ok(out)
}

/// Returns the definition of an id, parsed.
pub(crate) fn named(study: Option<&Path>, id: &str) -> anyhow::Result<Definition> {
    let all = all(study)?;
    match all.get(id) {
        Some(text) => text.parse(),
        None => {
            let ids: Vec<&str> = all.keys().map(String::as_str).collect();
            bail!("there is no definition `{id}`; there are {}", crate::wording::and(&ids))
        }
    }
}
