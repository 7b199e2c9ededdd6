//! Files that commands write beside a study: pages and sheets.

use anyhow::{Context as _, bail};
use std::io::Write as _;
use std::path::Path;

/// Refuses what a page or a sheet must not take the place of: a device, a folder, anything that belongs to a study.
pub(crate) fn refuse_to_overwrite(path: &Path, study: &Path) -> anyhow::Result<()> {
    if std::fs::symlink_metadata(path).is_ok_and(|m| !m.is_file()) {
        bail!("{} is not a regular file; name another one", path.display());
    }
    let whole = std::path::absolute(path)?;
    let folder = whole.parent().map(|p| p.canonicalize().unwrap_or_else(|_| p.to_owned())).unwrap_or_default();
    let study = study.canonicalize().unwrap_or_else(|_| study.to_owned());
    let name = whole.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let of_study = name.starts_with("study.") || name.starts_with("decisions.") || name.starts_with('.');
    if folder.starts_with(study.join("originals"))
        || folder.starts_with(study.join("importers"))
        || (folder == study && of_study)
    {
        bail!("{} belongs to the study; name another file", path.display());
    }
    Ok(())
}

/// Refuses to write over a file that is there, unless --replace says so: a sheet is somebody's work.
pub(crate) fn refuse_to_replace(path: &Path, replace: bool) -> anyhow::Result<()> {
    if path.exists() && !replace {
        bail!("{} is there already; name another file, or write over it with --replace", path.display());
    }
    Ok(())
}

/// Writes a file so that a reader finds all of it or what was there before.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = path.file_name().context("name a file, not a folder")?.to_string_lossy().into_owned();
    let part = folder.join(format!(".{name}.part"));
    let mut file = std::fs::File::create(&part)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    std::fs::rename(&part, path)?;
    Ok(())
}
