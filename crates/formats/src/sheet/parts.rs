//! Parts of a workbook, which are XML members of an archive.

use crate::xml::pull::{Input, Pull};
use crate::zip::archive::Archive;
use crate::{FormatError, Limits, TextOptions};
use quick_xml::XmlVersion;
use quick_xml::events::BytesStart;
use std::cell::Cell;
use std::io::{Read, Seek};
use zip::read::ZipFile;

/// An opened workbook, of either kind.
pub(super) struct Parts<R> {
    archive: Archive<R>,
    pub(super) limits: Limits,
    budget: Cell<u64>,
}

impl<R: Read + Seek> Parts<R> {
    pub(super) fn new(archive: Archive<R>, limits: Limits) -> Parts<R> {
        Parts { archive, limits, budget: Cell::new(limits.bytes) }
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.archive.find(name).is_some()
    }

    /// Reads a part, when there is one of this name.
    pub(super) fn read<T>(
        &mut self,
        name: &str,
        with: impl FnOnce(&mut Pull<'_>) -> Result<T, FormatError>,
    ) -> Result<Option<T>, FormatError> {
        let Some(n) = self.archive.find(name) else { return Ok(None) };
        let limits = self.limits;
        // A part may be read several times; only one reading at a time takes room.
        self.budget.set(limits.bytes);
        let mut unpack = self.archive.read(n, &self.budget).map_err(|e| e.in_member(name))?;
        let result = Input::new(&mut unpack).map_err(FormatError::from).and_then(|mut input| {
            let mut pull = Pull::open(&mut input, &TextOptions::default(), limits)?;
            with(&mut pull)
        });
        result.map(Some).map_err(|e| unpack.trouble().unwrap_or(e).in_member(name))
    }

    /// Opens a part that was read to its end by [`Parts::read`] before, so that its size and its sum are known to
    /// be those that the archive says.
    pub(super) fn again(&mut self, name: &str) -> Result<Option<ZipFile<'_, R>>, FormatError> {
        let Some(n) = self.archive.find(name) else { return Ok(None) };
        self.archive.entry(n).map(Some).map_err(|e| e.in_member(name))
    }
}

/// Returns the value of an attribute by its name behind any prefix, or with it when it is written with one.
pub(super) fn attribute(tag: &BytesStart<'_>, name: &str) -> Option<String> {
    let is = |key: &str| key == name || (!name.contains(':') && key.rsplit(':').next() == Some(name));
    let found = tag.attributes().with_checks(false).filter_map(Result::ok).find(|a| is(a.key.into_inner()))?;
    Some(found.normalized_value(XmlVersion::Implicit1_0).ok()?.into_owned())
}
