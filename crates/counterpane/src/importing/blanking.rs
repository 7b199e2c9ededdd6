//! Files on their way in: as they are, or without what identifies a person.

use super::reading::open;
use anyhow::{Context as _, bail};
use counterpane_formats::blank::{Blankable, blank};
use counterpane_store::originals::hash_of;
use counterpane_store::{Blanked, Original, Study};
use std::fs::File;
use std::io::{Read as _, Seek as _};
use std::path::Path;

const NOT_REACHED: &str =
    "nothing was blanked: that reaches the header of EDF, EDF+, BDF and BDF+, and this is none; it is kept as received";
const NOBODY: &str = "nothing was to blank: its header names nobody";

/// A file as it is read and kept, and what was blanked in it.
#[derive(Debug)]
pub(crate) struct Incoming {
    file: File,
    /// What was blanked; `None` where it is kept as received.
    pub(crate) blanked: Option<Blanked>,
    /// Why nothing was blanked, where that was asked for.
    pub(crate) unblanked: Option<&'static str>,
}

impl Incoming {
    /// Opens a file as an import takes it: without what identifies a person where the command, the list of files or the
    /// study asks for it. Where none says anything, a file that was blanked once is blanked again: it would bring back
    /// what was taken out on purpose.
    ///
    /// # Errors
    /// As for [`Incoming::blanked`].
    pub(crate) fn for_import(study: &Study, path: &Path, asked: Option<bool>) -> anyhow::Result<Incoming> {
        let blanks = match asked.or(study.config().blank_identity.then_some(true)) {
            Some(said) => said,
            None => study.blanks_anything() && study.blanked_before(&hash_of(open(path)?)?.sha256),
        };
        if blanks { Incoming::blanked(path) } else { Incoming::as_it_is(path) }
    }

    /// Opens a file as it is.
    pub(crate) fn as_it_is(path: &Path) -> anyhow::Result<Incoming> {
        Ok(Incoming { file: open(path)?, blanked: None, unblanked: None })
    }

    /// Opens a file without what identifies a person. A file in which nothing can be blanked, or has to be, is taken as it is.
    ///
    /// # Errors
    /// It is broken where it would have to be blanked.
    pub(crate) fn blanked(path: &Path) -> anyhow::Result<Incoming> {
        let mut file = open(path)?;
        let mut head = Vec::new();
        file.by_ref().take(16).read_to_end(&mut head)?;
        file.rewind()?;
        let Some(kind) = Blankable::of(&head) else {
            return Ok(Incoming { file, blanked: None, unblanked: Some(NOT_REACHED) });
        };
        // A scratch file without a name: it is gone with the program, whatever ends it.
        let mut copy = tempfile::tempfile().context("a scratch file; TMPDIR names another place for it")?;
        let fields = blank(kind, &mut file, &mut copy)
            .with_context(|| "it cannot be blanked; mend it, or leave --blank-identity out to take it as it is")?;
        file.rewind()?;
        if fields.is_empty() {
            return Ok(Incoming { file, blanked: None, unblanked: Some(NOBODY) });
        }
        let received = hash_of(&mut file)?.sha256;
        copy.rewind()?;
        Ok(Incoming { file: copy, blanked: Some(Blanked { received, fields }), unblanked: None })
    }

    /// Returns the file from its beginning.
    pub(crate) fn again(&mut self) -> anyhow::Result<&mut File> {
        self.file.rewind()?;
        Ok(&mut self.file)
    }

    /// Returns hash and length of what is kept.
    pub(crate) fn hash(&mut self) -> anyhow::Result<Original> {
        Ok(hash_of(self.again()?)?)
    }

    /// Keeps it among the originals.
    pub(crate) fn keep(&mut self, study: &Study) -> anyhow::Result<Original> {
        let originals = study.originals();
        Ok(originals.keep(self.again()?)?)
    }
}

/// Returns what `--blank-identity` would blank in a picture; nothing where it cannot be told.
pub(crate) fn identity_in(picture: &Path) -> Vec<String> {
    let incoming = Incoming::blanked(picture).ok().and_then(|i| i.blanked);
    incoming.map(|b| b.fields).unwrap_or_default()
}

/// Refuses a picture of a kind whose metadata cannot be blanked.
pub(crate) fn picture(path: &Path, blank_identity: bool) -> anyhow::Result<Incoming> {
    if !blank_identity {
        return Incoming::as_it_is(path);
    }
    let mut head = Vec::new();
    open(path)?.take(16).read_to_end(&mut head)?;
    match Blankable::of(&head) {
        Some(Blankable::Jpeg | Blankable::Png) => Incoming::blanked(path),
        _ => bail!("{}: only JPEG and PNG pictures can be blanked; save it as one of them first", path.display()),
    }
}
