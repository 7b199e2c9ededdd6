//! Originals, pictures and definitions against their hashes.

use super::{Fault, FaultKind, Proof, count};
use crate::StoreError;
use crate::acts::Kept;
use crate::decisions::Log;
use crate::originals::{Originals, hash_of};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Hashes every file of `originals/` again, and looks for each that a decision names.
pub(super) fn prove(
    root: &Path,
    log: Option<&Log>,
    proof: &mut Proof,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<(), StoreError> {
    let wanted = wanted(log);
    let files = files(&root.join("originals"))?;
    let of: u64 = files.values().map(|f| f.1).sum();
    let mut done = 0;
    let (mut originals, mut blanked, mut definitions, mut more) = (0_u64, 0_u64, 0_u64, 0_u64);
    for (name, (path, _)) in &files {
        let known = wanted.get(name);
        let hashed = File::open(path).and_then(|file| hash_of(Counted { file, done: &mut done, of, progress }));
        match hashed.map(|h| h.sha256 == *name) {
            Err(e) => proof.faults.push(unread(root, path, known, &e)),
            Ok(false) => proof.faults.push(changed(root, path, known)),
            Ok(true) if known.is_none() => more += 1,
            Ok(true) if known.is_some_and(|k| k.is_definition) => definitions += 1,
            Ok(true) if known.is_some_and(|k| k.received.is_some()) => blanked += 1,
            Ok(true) => originals += 1,
        }
    }
    let there: BTreeSet<&String> = files.keys().collect();
    for kept in wanted.values().filter(|k| !there.contains(&k.sha256)) {
        let place = shown(root, &Originals::at(root).path_of(&kept.sha256));
        let message = format!("the file is not there: it was {}", name(kept));
        proof.faults.push(Fault { kind: FaultKind::OriginalMissing, place, message });
    }
    let (files, definitions) = (count(originals, "file"), count(definitions, "definition"));
    let blanked = match blanked {
        0 => String::new(),
        n => format!(", {} as blanked on the way in", count(n, "file")),
    };
    let said = format!("{files} and {definitions} as they were received{blanked}, {}", size(of));
    proof.checked.push(("originals/", said));
    if more > 0 && log.is_some() {
        let are = if more == 1 { "file of originals/ belongs" } else { "files of originals/ belong" };
        proof.notes.push(format!("{more} {are} to no decision: an import was interrupted before it was decided"));
    }
    Ok(())
}

fn changed(root: &Path, path: &Path, known: Option<&Kept>) -> Fault {
    let message = format!("its bytes are not those that its name was made from; {}", was(known));
    Fault { kind: FaultKind::OriginalChanged, place: shown(root, path), message }
}

fn unread(root: &Path, path: &Path, known: Option<&Kept>, error: &std::io::Error) -> Fault {
    let message = format!("it cannot be read ({error}); {}", was(known));
    Fault { kind: FaultKind::OriginalMissing, place: shown(root, path), message }
}

fn was(known: Option<&Kept>) -> String {
    known.map_or_else(|| "no decision names it".to_owned(), |k| format!("it was {}", name(k)))
}

/// Returns the name of a file, with the hash that it had before it was blanked.
fn name(kept: &Kept) -> String {
    let before =
        kept.received.as_ref().map(|sha| format!(", blanked on the way in; as received its SHA-256 was {sha}"));
    format!("{}{}", kept.name, before.unwrap_or_default())
}

/// Every file that a decision needs, by hash.
fn wanted(log: Option<&Log>) -> BTreeMap<String, Kept> {
    let decisions = log.map(Log::decisions).unwrap_or_default();
    // The first name counts: later ones are the same file received again.
    let mut out = BTreeMap::new();
    for kept in decisions.iter().flat_map(|d| d.act.kept()) {
        out.entry(kept.sha256.clone()).or_insert(kept);
    }
    out
}

/// The files below `originals/` by name, with path and size; copies that were never finished are left out.
fn files(folder: &Path) -> Result<BTreeMap<String, (PathBuf, u64)>, StoreError> {
    let mut out = BTreeMap::new();
    if !folder.is_dir() {
        return Ok(out);
    }
    for shelf in std::fs::read_dir(folder).map_err(StoreError::io(folder))? {
        let shelf = shelf.map_err(StoreError::io(folder))?.path();
        if !shelf.is_dir() {
            continue;
        }
        for file in std::fs::read_dir(&shelf).map_err(StoreError::io(&shelf))? {
            let path = file.map_err(StoreError::io(&shelf))?.path();
            let bytes = std::fs::metadata(&path).map_or(0, |m| m.len());
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            out.insert(name, (path, bytes));
        }
    }
    Ok(out)
}

fn shown(root: &Path, path: &Path) -> String {
    path.strip_prefix(root).unwrap_or(path).display().to_string()
}

/// Returns a number of bytes as people say it.
fn size(bytes: u64) -> String {
    match bytes {
        0..10_000 => format!("{bytes} bytes"),
        10_000..10_000_000 => format!("{} kB", bytes / 1000),
        _ => format!("{} MB", bytes / 1_000_000),
    }
}

/// A file that tells how far it was read.
struct Counted<'a> {
    file: File,
    done: &'a mut u64,
    of: u64,
    progress: &'a mut dyn FnMut(u64, u64),
}

impl Read for Counted<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let n = self.file.read(buffer)?;
        *self.done += n as u64;
        (self.progress)(*self.done, self.of);
        Ok(n)
    }
}
