//! `originals/`: every file exactly as received, written once, named by its SHA-256.

use crate::StoreError;
use crate::decisions::hex;
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// How the names of copies begin that are still being written.
const UNNAMED: &str = ".incoming-";

/// An original that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Original {
    /// SHA-256 of its bytes, 64 hexadecimal digits.
    pub sha256: String,
    /// Number of bytes.
    pub bytes: u64,
}

/// The folder of originals.
#[derive(Clone, Debug)]
pub struct Originals {
    root: PathBuf,
}

impl Originals {
    /// Names the folder; it is made when the first original is kept.
    #[must_use]
    pub fn at(study: &Path) -> Originals {
        Originals { root: study.join("originals") }
    }

    /// Returns where the original of a hash is kept, whether or not it is there.
    #[must_use]
    pub fn path_of(&self, sha256: &str) -> PathBuf {
        self.root.join(sha256.get(..2).unwrap_or("")).join(sha256)
    }

    /// Returns the bytes of an original as a file to be read, after proving that they are what they were.
    ///
    /// `file` is the name it was received under, for the message.
    ///
    /// # Errors
    /// It is not there, is not what it was, or the machine cannot read it.
    pub fn open(&self, sha256: &str, file: &str) -> Result<File, StoreError> {
        use std::io::Seek as _;
        let path = self.path_of(sha256);
        if !path.is_file() {
            return Err(StoreError::OriginalMissing { file: file.to_owned(), sha256: sha256.to_owned() });
        }
        let mut opened = File::open(&path).map_err(StoreError::io(&path))?;
        if hash_of(&mut opened).map_err(StoreError::io(&path))?.sha256 != sha256 {
            return Err(StoreError::OriginalChanged { file: file.to_owned(), sha256: sha256.to_owned() });
        }
        opened.rewind().map_err(StoreError::io(&path))?;
        Ok(opened)
    }

    /// Says whether the original of a hash is there and is what it was.
    #[must_use]
    pub fn holds(&self, sha256: &str) -> bool {
        self.open(sha256, "").is_ok()
    }

    /// Removes what interrupted imports left behind: copies that never got their name.
    pub(crate) fn sweep(&self) {
        let Ok(entries) = std::fs::read_dir(&self.root) else { return };
        for entry in entries.flatten().filter(|e| e.file_name().to_string_lossy().starts_with(UNNAMED)) {
            // What cannot be removed now is removed by the next one.
            let _ = std::fs::remove_file(entry.path());
        }
    }

    /// Copies bytes into the folder, makes them durable, and returns their hash and length. What is there
    /// already is left as it is, unless it was changed on disk: then the true bytes take its place.
    ///
    /// # Errors
    /// The bytes cannot be read from `source` or written; then nothing is kept.
    pub fn keep(&self, mut source: impl Read) -> Result<Original, StoreError> {
        let failed = || StoreError::io(&self.root);
        std::fs::create_dir_all(&self.root).map_err(failed())?;
        let mut copy = tempfile::Builder::new().prefix(UNNAMED).tempfile_in(&self.root).map_err(failed())?;
        let original = copy_and_hash(&mut source, copy.as_file_mut()).map_err(failed())?;
        let path = self.path_of(&original.sha256);
        if self.holds(&original.sha256) {
            return Ok(original);
        }
        let folder = self.root.join(original.sha256.get(..2).unwrap_or(""));
        std::fs::create_dir_all(&folder).map_err(StoreError::io(&folder))?;
        copy.as_file().sync_all().map_err(failed())?;
        let mut permissions = copy.as_file().metadata().map_err(failed())?.permissions();
        permissions.set_readonly(true);
        copy.as_file().set_permissions(permissions).map_err(failed())?;
        copy.persist(&path).map_err(|e| StoreError::Io { path: path.clone(), error: e.error })?;
        // The name must survive a power cut as well as the bytes.
        sync_folder(&folder)?;
        sync_folder(&self.root)?;
        Ok(original)
    }
}

/// Reads to the end and returns hash and length.
///
/// # Errors
/// The machine cannot read.
pub fn hash_of(mut source: impl Read) -> std::io::Result<Original> {
    copy_and_hash(&mut source, &mut std::io::sink())
}

fn copy_and_hash(source: &mut impl Read, target: &mut impl Write) -> std::io::Result<Original> {
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 1 << 18];
    let mut bytes = 0;
    loop {
        let n = match source.read(&mut buffer) {
            Ok(0) => break,
            Ok(n) => n,
            Err(e) if e.kind() == std::io::ErrorKind::Interrupted => continue,
            Err(e) => return Err(e),
        };
        hasher.update(&buffer[..n]);
        target.write_all(&buffer[..n])?;
        bytes += n as u64;
    }
    Ok(Original { sha256: hex(&hasher.finalize()), bytes })
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> Result<(), StoreError> {
    File::open(folder).and_then(|f| f.sync_all()).map_err(StoreError::io(folder))
}

#[cfg(not(unix))]
fn sync_folder(_folder: &Path) -> Result<(), StoreError> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_original_is_kept_once_and_reads_back() {
        let dir = tempfile::tempdir().unwrap();
        let originals = Originals::at(dir.path());
        let first = originals.keep(&b"abc"[..]).unwrap();
        // SHA-256 of "abc": FIPS 180-2, appendix B.1.
        assert_eq!(first.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(originals.keep(&b"abc"[..]).unwrap(), first);
        let mut text = String::new();
        originals.open(&first.sha256, "abc").unwrap().read_to_string(&mut text).unwrap();
        assert_eq!(text, "abc");
    }

    #[test]
    fn a_changed_original_is_noticed_and_healed_by_the_true_one() {
        let dir = tempfile::tempdir().unwrap();
        let originals = Originals::at(dir.path());
        let kept = originals.keep(&b"abc"[..]).unwrap();
        let path = originals.path_of(&kept.sha256);
        std::fs::remove_file(&path).unwrap();
        assert!(matches!(originals.open(&kept.sha256, "f"), Err(StoreError::OriginalMissing { .. })));
        std::fs::write(&path, b"abd").unwrap();
        assert!(matches!(originals.open(&kept.sha256, "f"), Err(StoreError::OriginalChanged { .. })));
        originals.keep(&b"abc"[..]).unwrap();
        assert!(originals.holds(&kept.sha256));
    }

    #[test]
    fn a_source_that_fails_leaves_nothing_behind() {
        struct Breaks;
        impl Read for Breaks {
            fn read(&mut self, _: &mut [u8]) -> std::io::Result<usize> {
                Err(std::io::Error::other("the cable came out"))
            }
        }
        let dir = tempfile::tempdir().unwrap();
        assert!(Originals::at(dir.path()).keep(Breaks).is_err());
        assert_eq!(std::fs::read_dir(dir.path().join("originals")).unwrap().count(), 0);
    }
}
