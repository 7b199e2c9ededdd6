//! The folder of open recordings.

use crate::common::absent;
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// The folder of open recordings, and the hashes that its list gives.
pub(crate) struct Data {
    root: PathBuf,
    sums: BTreeMap<String, String>,
}

impl Data {
    pub(crate) fn find() -> Option<Data> {
        let how = "docs/testing.md says where the open recordings come from; COUNTERPANE_OPEN_DATA names their folder";
        let Some(root) = std::env::var_os("COUNTERPANE_OPEN_DATA").map(PathBuf::from).filter(|p| p.is_dir()) else {
            absent("open-data", how);
            return None;
        };
        let list = std::fs::read_to_string(root.join("SHA256SUMS")).unwrap();
        let sum = |line: &str| {
            let (sum, name) = line.split_once("  ").unwrap();
            (name.trim_start_matches("./").to_owned(), sum.to_owned())
        };
        Some(Data { sums: list.lines().map(sum).collect(), root })
    }

    /// Returns the path of a file whose bytes are what the list says.
    pub(crate) fn file(&self, name: &str) -> String {
        let path = self.root.join(name);
        let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{name}: {e}"));
        let sum: String = Sha256::digest(&bytes).iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(Some(&sum), self.sums.get(name), "{name} is not the file that the list speaks of");
        path.to_string_lossy().into_owned()
    }

    /// Returns the names of the list that begin and end so, in order.
    pub(crate) fn names(&self, begins: &str, ends: &str) -> Vec<String> {
        self.sums.keys().filter(|n| n.starts_with(begins) && n.ends_with(ends)).cloned().collect()
    }
}
