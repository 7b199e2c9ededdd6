//! What a sheet was read from, brought in with it: its pictures, and the two readings behind a settled one.

use super::Asked;
use super::blanking::Incoming;
use super::reading::open;
use crate::sheets::{Sheet, both, sheet};
use anyhow::{Context as _, bail};
use counterpane_formats::blank::{Blankable, blank, tells};
use counterpane_store::originals::hash_of;
use counterpane_store::{ImportAct, Picture, ReadingKept, Settles, Study};
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// What a file was read from, before anything is stored.
#[derive(Debug, Default)]
pub(super) struct ReadFrom {
    pictures: Vec<Incoming>,
    /// What the decision keeps of the pictures, in the same order.
    kept: Vec<Picture>,
    readings: Vec<PathBuf>,
    settles: Option<Settles>,
    /// What is to be told of it.
    pub(super) told: Told,
}

/// What is to be told of pictures and readings.
#[derive(Clone, Debug, Default)]
pub(crate) struct Told {
    /// What the metadata of each picture tell beside what it shows, as it was received; in the order of the decision.
    pub(crate) tells: Vec<Vec<&'static str>>,
    /// Pictures that the head names and that were not found.
    pub(crate) no_picture: Vec<String>,
    /// Readings that the head names and that were not found.
    pub(crate) no_reading: Vec<String>,
}

impl ReadFrom {
    /// Looks for the pictures of `--picture`, else for those that the head of a sheet names; and for the two readings that a
    /// settled sheet names. Nothing is stored.
    ///
    /// # Errors
    /// A picture of `--picture` is not there; one is no PNG and no JPEG, or breaks off; a reading cannot be read.
    pub(super) fn find(study: &Study, path: &Path, asked: &Asked, sheet: Option<&Sheet>) -> anyhow::Result<ReadFrom> {
        let mut out = ReadFrom::default();
        let mut places = asked.picture.clone();
        if places.is_empty() {
            for name in sheet.map(pictures_named).unwrap_or_default() {
                match place_of(study, path, &name) {
                    Some(place) => places.push(place),
                    None => out.told.no_picture.push(name),
                }
            }
        }
        for place in places {
            out.add_picture(study, &place, asked).with_context(|| place.display().to_string())?;
        }
        if let Some(sheet) = sheet.filter(|s| s.field("pass") == Some("settled")) {
            out.find_readings(study, path, sheet)?;
        }
        Ok(out)
    }

    fn add_picture(&mut self, study: &Study, place: &Path, asked: &Asked) -> anyhow::Result<()> {
        let mut bytes = Vec::new();
        open(place)?.take(PICTURE_BYTES + 1).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > PICTURE_BYTES {
            bail!("it has more than {} MiB; save it smaller", PICTURE_BYTES >> 20);
        }
        let Some(kind @ (Blankable::Png | Blankable::Jpeg)) = Blankable::of(&bytes) else {
            bail!("only PNG and JPEG pictures are kept; save it as one of them first");
        };
        blank(kind, bytes.as_slice(), std::io::sink())?;
        let mut incoming = Incoming::for_import(study, place, asked.blank_identity)?;
        let original = incoming.hash()?;
        if self.kept.iter().any(|p| p.sha256 == original.sha256) {
            return Ok(());
        }
        let file = place.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let blanked = incoming.blanked.clone();
        self.kept.push(Picture { sha256: original.sha256, bytes: original.bytes, file, blanked });
        self.pictures.push(incoming);
        self.told.tells.push(tells(kind, &bytes));
        Ok(())
    }

    /// Finds both readings by name and hash, beside the sheet or among the originals, and says how far they are apart.
    fn find_readings(&mut self, study: &Study, path: &Path, settled: &Sheet) -> anyhow::Result<()> {
        let mut found = Vec::new();
        for (of_hash, of_file) in [("first", "first file"), ("second", "second file")] {
            let Some(sha256) = settled.field(of_hash).filter(|sha| is_hash(sha)) else { continue };
            let file = settled.field(of_file).unwrap_or(of_hash);
            let beside = plain_name(file).then(|| folder_of(path).join(file));
            let beside = beside.filter(|at| at.is_file() && hash_at(at).is_ok_and(|own| own == sha256));
            let kept = || study.originals().holds(sha256).then(|| study.originals().path_of(sha256));
            match beside.or_else(kept) {
                None => self.told.no_reading.push(file.to_owned()),
                Some(at) => {
                    let bytes = std::fs::metadata(&at)?.len();
                    found.push((at, ReadingKept { sha256: sha256.to_owned(), bytes, file: file.to_owned() }));
                }
            }
        }
        let Ok([first, second]) = <[_; 2]>::try_from(found) else { return Ok(()) };
        let read = |of: &(PathBuf, ReadingKept)| sheet(&of.0).with_context(|| format!("the reading {}", of.1.file));
        let both = both(&read(&first)?, &read(&second)?)?;
        self.settles = Some(Settles {
            rows: both.rows as u64,
            rows_differing: both.rows_differing as u64,
            within_ms: (both.within * 60_000.0).round() as i64,
            seconds: both.apart.seconds,
            seconds_differing: both.apart.differing,
            first: first.1,
            second: second.1,
        });
        self.readings = vec![first.0, second.0];
        Ok(())
    }

    /// Puts what is kept of it into the decision.
    pub(super) fn tell(&self, act: &mut ImportAct) {
        act.pictures.clone_from(&self.kept);
        act.settles.clone_from(&self.settles);
    }

    /// Keeps everything among the originals.
    ///
    /// # Errors
    /// A file was changed since it was found, or cannot be written.
    pub(super) fn keep(&mut self, study: &Study) -> anyhow::Result<()> {
        for (incoming, picture) in self.pictures.iter_mut().zip(&self.kept) {
            if incoming.keep(study)?.sha256 != picture.sha256 {
                bail!("the picture {} was changed while it was read; import again", picture.file);
            }
        }
        let readings = self.settles.iter().flat_map(|s| [&s.first, &s.second]);
        for (at, reading) in self.readings.iter().zip(readings) {
            if !study.originals().holds(&reading.sha256)
                && study.originals().keep(std::fs::File::open(at)?)?.sha256 != reading.sha256
            {
                bail!("the reading {} was changed while it was read; import again", reading.file);
            }
        }
        Ok(())
    }

    /// Says whether something of it is missing among the originals, or was changed there.
    pub(super) fn is_damaged(&self, study: &Study) -> bool {
        let readings = self.settles.iter().flat_map(|s| [&s.first.sha256, &s.second.sha256]);
        let all = self.kept.iter().map(|p| &p.sha256).chain(readings);
        all.into_iter().any(|sha256| !study.originals().holds(sha256))
    }
}

/// Pictures up to this size are kept: screenshots and photographs are far smaller, and a report may hold them.
const PICTURE_BYTES: u64 = 64 << 20;

/// Names of pictures in the head of a sheet.
fn pictures_named(sheet: &Sheet) -> Vec<String> {
    let names = sheet.field("picture").unwrap_or_default().split(", ").map(str::trim);
    names.filter(|n| !n.is_empty()).map(str::to_owned).collect()
}

/// Where a picture lies that a head names: beside the sheet, else in the study's folder of pictures. A head names files
/// only: what leads to other folders is not followed.
fn place_of(study: &Study, sheet: &Path, name: &str) -> Option<PathBuf> {
    if !plain_name(name) {
        return None;
    }
    let of_study = study.config().pictures.as_ref().map(|folder| study.root().join(folder));
    let folders = [Some(folder_of(sheet).to_owned()), of_study];
    folders.into_iter().flatten().map(|folder| folder.join(name)).find(|place| place.is_file())
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

fn plain_name(name: &str) -> bool {
    !name.is_empty() && !name.contains(['/', '\\']) && name != ".." && name != "."
}

fn is_hash(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit())
}

fn hash_at(path: &Path) -> std::io::Result<String> {
    Ok(hash_of(std::fs::File::open(path)?)?.sha256)
}
