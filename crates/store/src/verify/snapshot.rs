//! The store as it stands while nobody writes.

use crate::StoreError;
use rusqlite::{Connection, OpenFlags};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// A store that does not change while it is looked at.
#[derive(Debug)]
pub(super) struct Snapshot {
    store: PathBuf,
    /// Holds a copy, where the store itself cannot be read without writing to it.
    copy: Option<tempfile::TempDir>,
    _lock: Option<File>,
}

impl Snapshot {
    /// Waits for a writer to finish, and keeps others away until it is dropped.
    ///
    /// A writer that was killed leaves a journal, and rolling it back would write: then that is done on a
    /// copy.
    pub(super) fn take(root: &Path) -> Result<Snapshot, StoreError> {
        let lock = shared_lock(root)?;
        let (store, journal) = (root.join("study.db"), root.join("study.db-journal"));
        if !journal.exists() || !store.exists() {
            return Ok(Snapshot { store, copy: None, _lock: lock });
        }
        let copy = tempfile::tempdir().map_err(StoreError::io(std::env::temp_dir()))?;
        for from in [&store, &journal] {
            let to = copy.path().join(from.file_name().unwrap_or_default());
            std::fs::copy(from, &to).map_err(StoreError::io(from))?;
            make_writable(&to)?;
        }
        let store = copy.path().join("study.db");
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        // What is wrong with the file is found later, with a name to it.
        let _ = Connection::open_with_flags(&store, flags)
            .and_then(|db| db.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get::<_, i64>(0)));
        Ok(Snapshot { store, copy: Some(copy), _lock: lock })
    }

    /// Where the store stands.
    pub(super) fn store(&self) -> &Path {
        &self.store
    }

    /// What is worth knowing of how it was taken.
    pub(super) fn notes(&self) -> Vec<String> {
        let said = "a command was interrupted while it wrote to study.db; it was looked at as the next command will find it, with the unfinished part rolled back";
        self.copy.iter().map(|_| said.to_owned()).collect()
    }
}

/// Locks the study against writers; `None` where nobody has ever written to it.
fn shared_lock(root: &Path) -> Result<Option<File>, StoreError> {
    let path = root.join(".lock");
    let file = match File::open(&path) {
        Ok(file) => file,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(StoreError::io(&path)(e)),
    };
    for _ in 0..50 {
        match file.try_lock_shared() {
            Ok(()) => return Ok(Some(file)),
            Err(std::fs::TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(40)),
            // A file system without locks has no other writer that heeds them.
            Err(std::fs::TryLockError::Error(_)) => return Ok(None),
        }
    }
    Err(StoreError::Busy)
}

/// A copy bears the permissions of what it was made from, which may be read-only.
pub(super) fn make_writable(path: &Path) -> Result<(), StoreError> {
    let mut permissions = std::fs::metadata(path).map_err(StoreError::io(path))?.permissions();
    #[expect(clippy::permissions_set_readonly_false, reason = "a copy in a folder of our own")]
    permissions.set_readonly(false);
    std::fs::set_permissions(path, permissions).map_err(StoreError::io(path))
}
