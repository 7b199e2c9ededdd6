//! The raw files of the demo study: two participants, three nights, one scorer and nine devices.
//!
//! **Everything here is invented.** No person slept these nights, no laboratory recorded them and no
//! such devices exist; `README.txt` among the files says so too. The nights come from a small model
//! of sleep ([`night`]), the devices from a model of their mistakes ([`devices`]).
//!
//! **Invariant.** [`files`] is a pure function of its seed: no clock, no machine zone, whole numbers
//! only, and its own bounded sampling, so the bytes are the same on every machine. (Day numbers of a
//! workbook are one division of two whole numbers.) So are [`dumps`], which are too big to stand in memory.

mod band_a;
mod band_b;
mod devices;
mod dice;
mod edf;
mod facts;
mod lord_howe;
mod mat_a;
mod night;
mod order;
mod patch_a;
mod patch_z;
mod readme;
mod ring_a;
mod ring_b;
mod ring_c;
mod steps;
mod watch_a;

#[cfg(test)]
mod tests;

use night::TrueNight;
pub(crate) use steps::{Do, Step, steps};

/// A raw file of the demo study.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct DemoFile {
    /// Path below the folder of the raw files, with `/`, such as `psg/P01_2026-04-03.edf`.
    pub(crate) path: String,
    /// What the file holds.
    pub(crate) bytes: Vec<u8>,
}

/// The seed of the study that `counterpane demo` writes.
pub(crate) const SEED: u64 = 20_260_404;

/// Codes of the participants.
pub(crate) const PARTICIPANTS: [&str; 2] = ["P01", "P02"];

/// A raw file of the demo study that is written as it is made.
pub(crate) struct Dump {
    /// Path below the folder of the raw files, as in [`DemoFile`].
    pub(crate) path: String,
    seed: u64,
    participant: &'static str,
    bytes: u64,
}

/// How long the dump of a phone is unless somebody asks for another size, in millions of bytes.
pub(crate) const DUMP_MB: u64 = 24;

impl Dump {
    /// Writes the file.
    ///
    /// # Errors
    /// `out` cannot be written to.
    pub(crate) fn write(&self, out: &mut impl std::io::Write) -> std::io::Result<()> {
        let nights = night::all(self.seed);
        ring_c::write(out, self.seed, self.participant, &of(&nights, self.participant), self.bytes)
    }
}

/// Returns the dumps: the first participant's of at least so many millions of bytes, the second one's, whose
/// phone is new, of a tenth of that.
#[must_use]
pub(crate) fn dumps(seed: u64, mb: u64) -> Vec<Dump> {
    let dump = |(participant, bytes)| Dump { path: format!("ring-c/{participant}.xml"), seed, participant, bytes };
    PARTICIPANTS.into_iter().zip([mb.saturating_mul(1_000_000), mb.saturating_mul(100_000)]).map(dump).collect()
}

/// Returns what `README.txt` says: its first line tells a demo from anything else.
#[must_use]
pub(crate) fn readme(seed: u64) -> String {
    readme::text(seed)
}

fn of<'n>(nights: &'n [TrueNight], participant: &str) -> Vec<&'n TrueNight> {
    nights.iter().filter(|n| n.participant == participant).collect()
}

/// Returns every raw file of the study that belongs to a seed but the [`dumps`], in order of path.
///
/// # Errors
/// An archive or a workbook cannot be written: none that is known of.
pub(crate) fn files(seed: u64) -> anyhow::Result<Vec<DemoFile>> {
    let nights = night::all(seed);
    let mut files = vec![DemoFile { path: "README.txt".into(), bytes: readme::text(seed).into_bytes() }];
    for night in &nights {
        let name = format!("{}_{}", night.participant, night.evening);
        let mut add = |path: String, bytes: Vec<u8>| files.push(DemoFile { path, bytes });
        add(format!("psg/{name}.edf"), edf::file(night));
        add(format!("watch-a/{name}.csv"), watch_a::file(seed, night).into_bytes());
        add(format!("band-a/{name}.tsv"), band_a::file(seed, night).into_bytes());
        add(format!("patch-z/{name}.jsonl"), patch_z::file(seed, night).into_bytes());
    }
    for participant in PARTICIPANTS {
        let own = of(&nights, participant);
        let mut add = |device: &str, ending: &str, bytes: Vec<u8>| {
            files.push(DemoFile { path: format!("{device}/{participant}.{ending}"), bytes });
        };
        add("band-b", "zip", band_b::file(seed, participant, &own)?);
        add("mat-a", "json", mat_a::file(seed, &own).into_bytes());
        add("patch-a", "xlsx", patch_a::file(seed, participant, &own)?);
        add("ring-a", "json", ring_a::file(seed, participant, &own).into_bytes());
        add("ring-b", "json", ring_b::file(seed, &own).into_bytes());
    }
    files.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(files)
}

/// Returns the nights as they were slept, which no file holds in full: for tests.
#[cfg(test)]
pub(crate) fn truth(seed: u64) -> Vec<TrueNight> {
    night::all(seed)
}
