//! The raw files of the demo study: two participants, three nights, one scorer and six devices.
//!
//! **Everything here is invented.** No person slept these nights, no laboratory recorded them and no
//! such devices exist; `README.txt` among the files says so too. The nights come from a small model
//! of sleep ([`night`]), the devices from a model of their mistakes ([`devices`]).
//!
//! **Invariant.** [`files`] is a pure function of its seed: no clock, no machine zone, whole numbers
//! only, and its own bounded sampling, so the bytes are the same on every machine.

mod band_a;
mod devices;
mod dice;
mod edf;
mod lord_howe;
mod mat_a;
mod night;
mod order;
mod patch_z;
mod readme;
mod ring_a;
mod ring_b;
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

/// Returns every raw file of the study that belongs to a seed, in order of path.
#[must_use]
pub(crate) fn files(seed: u64) -> Vec<DemoFile> {
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
        let own: Vec<&TrueNight> = nights.iter().filter(|n| n.participant == participant).collect();
        let mut add = |device: &str, text: String| {
            files.push(DemoFile { path: format!("{device}/{participant}.json"), bytes: text.into_bytes() });
        };
        add("ring-a", ring_a::file(seed, participant, &own));
        add("ring-b", ring_b::file(seed, &own));
        add("mat-a", mat_a::file(seed, &own));
    }
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files
}

/// Returns the nights as they were slept, which no file holds in full: for tests.
#[cfg(test)]
pub(crate) fn truth(seed: u64) -> Vec<TrueNight> {
    night::all(seed)
}
