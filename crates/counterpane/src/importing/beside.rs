//! Files beside a file that its definition asks for: looked for there, and up to the root of its data set.

use anyhow::{Context as _, bail};
use counterpane_formats::{FormatError, Limits};
use counterpane_import::{Beside, Companion, Definition};
use counterpane_store::{BesideKept, decisions::hash};
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// The file that marks the root of a data set (Brain Imaging Data Structure: bids-specification.readthedocs.io). Without one,
/// nothing above the file's own folder is looked at.
const ROOT_MARK: &str = "dataset_description.json";

/// A file beside the file that is read.
#[derive(Debug)]
pub(super) struct Found {
    /// What the decision keeps of it.
    pub(super) kept: BesideKept,
    /// Its bytes.
    pub(super) bytes: Vec<u8>,
}

impl Found {
    /// Returns it as the definition reads it.
    pub(super) fn companion(&self) -> Companion {
        Companion { name: self.kept.name.clone(), place: self.kept.place.clone(), bytes: self.bytes.clone() }
    }
}

/// Returns the files that a definition asks for and that are there, the nearest first.
///
/// # Errors
/// One cannot be read, is larger than its limit, or two describe the file equally closely.
pub(super) fn find(path: &Path, definition: &Definition, limits: Limits) -> anyhow::Result<Vec<Found>> {
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let parent = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut out = Vec::new();
    for beside in definition.beside(&name) {
        let places = match beside.inherits {
            true => inherited(parent, &beside)?,
            false => vec![beside.name.clone()],
        };
        for place in places {
            let at = parent.join(&place);
            if at.is_file() && at != path {
                let bytes = read(&at, limits).with_context(|| format!("{place}, which describes the file"))?;
                let kept = BesideKept { name: beside.name.clone(), place, sha256: hash(&bytes) };
                out.push(Found { kept, bytes });
            }
        }
    }
    Ok(out)
}

fn read(path: &Path, limits: Limits) -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let limit = limits.beside_bytes;
    std::fs::File::open(path)?.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        let what = format!("a file of {} bytes or more", bytes.len());
        return Err(FormatError::Limit { what, name: "beside_bytes", limit }.into());
    }
    Ok(bytes)
}

/// Returns the places of the files that describe another one, seen from its folder: in each folder those with more parts
/// of its name first.
fn inherited(parent: &Path, wanted: &Beside) -> anyhow::Result<Vec<String>> {
    let mut out = Vec::new();
    let mut up = String::new();
    for folder in folders(parent) {
        let mut here: Vec<(usize, String)> = Vec::new();
        for entry in std::fs::read_dir(&folder).with_context(|| folder.display().to_string())? {
            let name = entry?.file_name().to_string_lossy().into_owned();
            if let Some(parts) = parts_in_common(&name, &wanted.name) {
                here.push((parts, name));
            }
        }
        here.sort_by(|a, b| b.cmp(a));
        if let Some([a, b]) = here.windows(2).find(|pair| pair[0].0 == pair[1].0).and_then(|w| w.first_chunk::<2>()) {
            let [one, other] = [&b.1, &a.1].map(|name| format!("{up}{name}"));
            bail!("{one} and {other} describe the file equally closely; take one of them away or rename it");
        }
        out.extend(here.into_iter().map(|(_, name)| format!("{up}{name}")));
        up.push_str("../");
    }
    Ok(out)
}

/// Returns the folder, and those above it up to the root of its data set; alone where there is no such root.
fn folders(parent: &Path) -> Vec<PathBuf> {
    let Ok(own) = parent.canonicalize() else { return vec![parent.to_owned()] };
    let all: Vec<PathBuf> = own.ancestors().map(Path::to_owned).collect();
    match all.iter().position(|folder| folder.join(ROOT_MARK).is_file()) {
        Some(root) => all.into_iter().take(root + 1).collect(),
        None => vec![own],
    }
}

/// Returns how many parts the name of a describing file has, when each is a part of the other name too, and the last parts
/// and endings are the same: `task-sleep_events.json` describes `sub-01_task-sleep_events.tsv` and has two.
fn parts_in_common(name: &str, wanted: &str) -> Option<usize> {
    let (stem, ending) = name.rsplit_once('.')?;
    let (wanted, same_ending) = wanted.rsplit_once('.')?;
    let (parts, others): (Vec<&str>, Vec<&str>) = (stem.split('_').collect(), wanted.split('_').collect());
    let fits = ending == same_ending && parts.last() == others.last() && parts.iter().all(|p| others.contains(p));
    fits.then_some(parts.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_with_fewer_parts_describes_one_with_more() {
        let check = |name: &str| parts_in_common(name, "sub-01_task-sleep_events.json");
        assert_eq!(check("sub-01_task-sleep_events.json"), Some(3));
        assert_eq!(check("task-sleep_events.json"), Some(2));
        assert_eq!(check("events.json"), Some(1));
        assert_eq!(check("sub-02_task-sleep_events.json"), None);
        assert_eq!(check("task-sleep_eeg.json"), None);
        assert_eq!(check("events.tsv"), None);
    }
}
