//! What a page says of recordings that a person read off a picture or a printed list.

use counterpane_model::{Cell, Instant, Zone};

/// A recording that a person typed or traced, and what is kept of what it was read from.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadOff {
    /// The night in words.
    pub night: String,
    /// Name of the recording, unique in the night.
    pub recording: String,
    /// Zone of the night.
    pub zone: Zone,
    /// Start of the first epoch.
    pub start: Instant,
    /// What it says of each epoch, as it was typed.
    pub cells: Vec<Cell>,
    /// The pictures that are kept.
    pub pictures: Vec<PictureLine>,
    /// How far two readings were apart, where it was settled from two that are kept.
    pub apart: Option<ReadingsApart>,
}

/// A picture that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PictureLine {
    /// Name of the file as it was received.
    pub file: String,
    /// SHA-256 of what is kept, hexadecimal.
    pub sha256: String,
    /// The picture itself, where the page shall show it.
    pub image: Option<Image>,
}

/// A picture that a page shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    /// How it is written.
    pub kind: ImageKind,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// How a picture is written: only what every browser shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ImageKind {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
}

/// How far two readings of one source were apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingsApart {
    /// Rows, once those that belong together were laid beside each other.
    pub rows: usize,
    /// How many of them differed.
    pub rows_differing: usize,
    /// Minutes of which at least one reading says something.
    pub minutes: f64,
    /// How many of them the two told differently.
    pub minutes_differing: f64,
}
