//! An archive that was looked over before anything of it is unpacked.
//!
//! **Invariant.** Nothing is ever written under the name of a member. What unpacks to more than its own entry
//! says, or to much more than it takes, is stopped while it is read.

use crate::{FormatError, Limits, shorten};
use std::cell::Cell;
use std::io::{self, Read, Seek, SeekFrom};
use zip::read::{ZipFile, ZipReadOptions};
use zip::result::ZipError;
use zip::{CompressionMethod, ZipArchive};

/// Bytes that a member may unpack to whatever it takes: short texts shrink a lot.
const ANY_RATIO: u64 = 16 << 20;

/// A file in an archive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Member {
    /// Path inside the archive, with `/`.
    pub name: String,
    /// Bytes of it, as the archive says; reading it stops there.
    pub bytes: u64,
    /// Bytes that it takes in the archive.
    pub compressed: u64,
}

/// An archive whose entries are named, apart from each other, and few enough.
#[derive(Debug)]
pub(crate) struct Archive<R> {
    zip: ZipArchive<R>,
    /// Files in the order of their names, each with its number.
    members: Vec<(Member, usize)>,
    limits: Limits,
}

impl<R: Read + Seek> Archive<R> {
    /// Looks over an archive.
    ///
    /// # Errors
    /// It is no archive; it has too many entries; entries share bytes or a name, or lead out of the archive.
    pub(crate) fn open(mut input: R, limits: Limits) -> Result<Archive<R>, FormatError> {
        if let Some(entries) = entries(&mut input)?
            && entries > limits.members
        {
            let what = format!("an archive of {entries} members");
            return Err(FormatError::Limit { what, name: "members", limit: limits.members });
        }
        input.rewind()?;
        let mut zip = ZipArchive::new(input).map_err(|e| error(e, "it"))?;
        if zip.has_duplicate_names() {
            return Err(untrusted("two of its members have one name, so that it is not clear which one is meant"));
        }
        if zip.has_overlapping_entries().map_err(|e| error(e, "it"))? {
            return Err(untrusted("some of its members share bytes, as in archives that are made to grow without end"));
        }
        let mut members = Vec::new();
        for n in 0..zip.len() {
            let entry = zip.by_index_data(n).map_err(|e| error(e, "a member"))?;
            let name = entry.name().map_err(|e| error(e, "the name of a member"))?.into_owned();
            if entry.enclosed_name().is_none() || leads_out(&name) {
                let name = shorten::cut(&name, 80);
                return Err(untrusted(&format!("the name of its member `{name}` leads out of the archive")));
            }
            if entry.is_file() {
                members.push((Member { name, bytes: entry.size(), compressed: entry.compressed_size() }, n));
            }
        }
        members.sort_by(|a, b| a.0.name.cmp(&b.0.name));
        Ok(Archive { zip, members, limits })
    }

    /// Returns the files in it, in the order of their names.
    pub(crate) fn members(&self) -> impl Iterator<Item = &Member> {
        self.members.iter().map(|(member, _)| member)
    }

    /// Returns the place of a member in [`Archive::members`].
    pub(crate) fn find(&self, name: &str) -> Option<usize> {
        self.members.binary_search_by(|(m, _)| m.name.as_str().cmp(name)).ok()
    }

    /// Opens the n-th file; `budget` is what all members may still unpack to.
    ///
    /// # Errors
    /// As [`Archive::entry`], or it claims more than the limits allow.
    pub(crate) fn read<'a>(&'a mut self, n: usize, budget: &'a Cell<u64>) -> Result<Unpack<'a>, FormatError> {
        let Some((member, _)) = self.members.get(n) else { return Err(FormatError::Empty) };
        let (limits, left) = (self.limits, member.bytes);
        if left > budget.get() {
            return Err(FormatError::Limit { what: claim(member), name: "bytes", limit: limits.bytes });
        }
        let inner = self.entry(n)?;
        Ok(Unpack { left, inner: Box::new(inner), budget, limits, trouble: None })
    }

    /// Opens the n-th file without watching what it unpacks to; it was read to its end by [`Archive::read`] before.
    ///
    /// # Errors
    /// It is encrypted or packed in a way that is not known, its two headers contradict each other, or its ratio
    /// is beyond the limit.
    pub(crate) fn entry(&mut self, n: usize) -> Result<ZipFile<'_, R>, FormatError> {
        let Some((member, index)) = self.members.get(n) else { return Err(FormatError::Empty) };
        let ratio = self.limits.ratio.saturating_mul(member.compressed.max(1));
        if member.bytes > ANY_RATIO && member.bytes > ratio {
            let what = claim(member) + " so that its ratio";
            return Err(FormatError::Limit { what, name: "ratio", limit: self.limits.ratio });
        }
        let entry = self.zip.by_index_data(*index).map_err(|e| error(e, &member.name))?;
        if entry.encrypted() {
            return Err(FormatError::Locked { what: format!("the member `{}`", member.name) });
        }
        let method = entry.compression();
        if !matches!(method, CompressionMethod::Stored | CompressionMethod::Deflated) {
            let why = format!("it is packed by a method that is not read here ({method}); pack it as an ordinary ZIP");
            return Err(FormatError::Request { what: member.name.clone(), why });
        }
        let options = ZipReadOptions::new().enforce_header_consistency(true);
        self.zip.by_index_with_options(*index, options).map_err(|e| error(e, &member.name))
    }
}

fn claim(member: &Member) -> String {
    format!("`{}` of {} bytes, packed into {},", member.name, member.bytes, member.compressed)
}

/// A member being unpacked.
pub(crate) struct Unpack<'a> {
    inner: Box<dyn Read + 'a>,
    /// Bytes that it may still give.
    left: u64,
    budget: &'a Cell<u64>,
    limits: Limits,
    trouble: Option<FormatError>,
}

impl Unpack<'_> {
    /// Returns the reason for which reading ended, in place of the error that a reader made of it.
    pub(crate) fn trouble(&mut self) -> Option<FormatError> {
        self.trouble.take()
    }

    fn refuse(&mut self, trouble: FormatError) -> io::Error {
        let text = trouble.to_string();
        self.trouble = Some(trouble);
        io::Error::other(text)
    }
}

impl Read for Unpack<'_> {
    fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
        let got = match self.inner.read(room) {
            Ok(got) => got as u64,
            Err(e) if e.kind() == io::ErrorKind::Interrupted => return Err(e),
            Err(e) => return Err(self.refuse(untrusted(&format!("its bytes are damaged: {e}")))),
        };
        if got > self.left {
            return Err(self.refuse(untrusted("a member unpacks to more than the archive says")));
        }
        self.left -= got;
        let Some(budget) = self.budget.get().checked_sub(got) else {
            let limit = self.limits.bytes;
            let what = "what the members unpack to".to_owned();
            return Err(self.refuse(FormatError::Limit { what, name: "bytes", limit }));
        };
        self.budget.set(budget);
        Ok(got as usize)
    }
}

fn untrusted(found: &str) -> FormatError {
    FormatError::NotThis { expected: "an archive (ZIP) that can be trusted", found: found.to_owned() }
}

fn error(error: ZipError, what: &str) -> FormatError {
    match error {
        ZipError::Io(error) if error.kind() != io::ErrorKind::UnexpectedEof => FormatError::Io(error),
        ZipError::Io(_) => untrusted(&format!("{what} breaks off")),
        ZipError::UnsupportedArchive(ZipError::PASSWORD_REQUIRED) => FormatError::Locked { what: what.to_owned() },
        other => {
            let found = shorten::cut(&other.to_string(), 160);
            FormatError::NotThis { expected: "an archive (ZIP)", found: format!("{what}: {found}") }
        }
    }
}

/// Returns whether a name is a path that begins elsewhere or climbs up.
fn leads_out(name: &str) -> bool {
    let mut letters = name.chars();
    let drive = letters.next().is_some_and(|c| c.is_ascii_alphabetic()) && letters.next() == Some(':');
    drive || name.starts_with(['/', '\\']) || name.split(['/', '\\']).any(|part| part == "..")
}

/// Returns how many entries the end of an archive claims, before a list of them is made; `None` when it
/// has no end that is known.
fn entries<R: Read + Seek>(input: &mut R) -> io::Result<Option<u64>> {
    let size = input.seek(SeekFrom::End(0))?;
    // The record of 22 bytes may have a comment of 65,535 bytes behind it and the longer one's pointer before.
    let tail = size.min(22 + 65_535 + 20);
    input.seek(SeekFrom::Start(size - tail))?;
    let mut bytes = Vec::new();
    input.by_ref().take(tail).read_to_end(&mut bytes)?;
    let Some(at) = bytes.windows(4).rposition(|w| w == b"PK\x05\x06") else { return Ok(None) };
    let number = |from: &[u8], at: usize, len: usize| -> Option<u64> {
        let digits = from.get(at..at + len)?;
        Some(digits.iter().rev().fold(0, |n, b| n << 8 | u64::from(*b)))
    };
    let entries = number(&bytes, at + 10, 2);
    if entries != Some(0xffff) {
        return Ok(entries);
    }
    let pointer = at.checked_sub(20).filter(|p| bytes[*p..].starts_with(b"PK\x06\x07"));
    let Some(end) = pointer.and_then(|p| number(&bytes, p + 8, 8)) else { return Ok(entries) };
    let mut record = [0; 56];
    input.seek(SeekFrom::Start(end.min(size)))?;
    let got = crate::source::read_full(input, &mut record)?;
    Ok(number(&record[..got], 32, 8).or(entries))
}
