//! Copies of files without what identifies a person: headers of EDF, metadata of pictures.
//!
//! What is measured, drawn or scored is not touched: samples, annotations and pixels stay byte for byte.

mod edf;
mod jpeg;
mod png;
mod tells;

pub use tells::tells;

use std::io::{Read, Write};

/// Kinds of files in which something can be blanked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Blankable {
    /// EDF, EDF+, BDF, BDF+.
    Edf,
    /// JPEG pictures.
    Jpeg,
    /// PNG pictures.
    Png,
}

impl Blankable {
    /// Tells the kind from the first bytes of a file, at least eight; `None` where nothing can be blanked.
    ///
    /// ```
    /// # use counterpane_formats::blank::Blankable;
    /// assert_eq!(Blankable::of(b"0       "), Some(Blankable::Edf));
    /// assert_eq!(Blankable::of(b"{\"a\": 1}"), None);
    /// ```
    #[must_use]
    pub fn of(head: &[u8]) -> Option<Blankable> {
        if head.starts_with(b"0       ") || head.starts_with(b"\xffBIOSEMI") {
            Some(Blankable::Edf)
        } else if head.starts_with(&jpeg::BEGINNING) {
            Some(Blankable::Jpeg)
        } else if head.starts_with(&png::SIGNATURE) {
            Some(Blankable::Png)
        } else {
            None
        }
    }
}

/// Why a file could not be blanked. Then nothing of it must be kept.
#[derive(Debug, thiserror::Error)]
pub enum BlankError {
    /// The file is not built as its kind is.
    #[error("{0}")]
    Broken(String),
    /// A picture of more bytes than can be held.
    #[error("a picture of more than {} MiB; save it smaller", PICTURE_BYTES >> 20)]
    TooLarge,
    /// The machine cannot read or write.
    #[error("{0}")]
    Io(#[from] std::io::Error),
}

/// Pictures up to this size are read.
const PICTURE_BYTES: u64 = 256 << 20;

/// Copies a file without what identifies a person, and returns what was blanked, in words; nothing where there was
/// nothing to blank, and then the copy is byte for byte the same.
///
/// EDF is streamed: memory does not grow with it. A picture is held in memory.
///
/// # Errors
/// The file is broken, or the machine cannot read or write it.
pub fn blank(kind: Blankable, mut from: impl Read, mut to: impl Write) -> Result<Vec<String>, BlankError> {
    if kind == Blankable::Edf {
        return edf::blank(&mut from, &mut to);
    }
    let mut bytes = Vec::new();
    from.take(PICTURE_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > PICTURE_BYTES {
        return Err(BlankError::TooLarge);
    }
    let (copy, what) = if kind == Blankable::Jpeg { jpeg::blank(&bytes)? } else { png::blank(&bytes)? };
    to.write_all(&copy)?;
    Ok(what)
}

/// Adds a name to a list once.
fn told(what: &mut Vec<String>, name: &str) {
    if !what.iter().any(|w| w == name) {
        what.push(name.to_owned());
    }
}

fn broken<T>(problem: impl Into<String>) -> Result<T, BlankError> {
    Err(BlankError::Broken(problem.into()))
}
