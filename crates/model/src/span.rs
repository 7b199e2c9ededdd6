//! What a source says about a night: spans, claims and notes.

use crate::stage::UnknownWord;
use crate::{Instant, Locator, Mark, Stage};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// `[start, end)` with one mark, at the source's own resolution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Span {
    /// First instant.
    pub start: Instant,
    /// First instant after it.
    pub end: Instant,
    /// What the source says.
    pub mark: Mark,
    /// The source's own word for it, such as `light` or `Sleep stage 2`.
    pub label: String,
    /// Where the source says so.
    pub locator: Locator,
}

impl Span {
    /// Returns the length in milliseconds; zero or negative when the source contradicts itself.
    #[must_use]
    pub fn length_ms(&self) -> i64 {
        self.end.ms_since(self.start)
    }
}

/// What a claim is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Minutes in one stage.
    Minutes(Stage),
    /// Total sleep time, minutes.
    TotalSleep,
    /// Time in bed, minutes.
    TimeInBed,
    /// Minutes from lights off, or from what the source takes for it, to the first sleep.
    SleepLatency,
    /// Minutes awake after the first sleep.
    WakeAfterOnset,
    /// Number of awakenings.
    Awakenings,
    /// Sleep efficiency, per cent.
    Efficiency,
    /// First time of the night that the source shows, milliseconds since 1970 UTC.
    Start,
    /// Last time of the night that the source shows, milliseconds since 1970 UTC.
    End,
}

impl Quantity {
    /// Every quantity.
    #[must_use]
    pub fn all() -> Vec<Quantity> {
        use Quantity::{Awakenings, Efficiency, End, SleepLatency, Start, TimeInBed, TotalSleep, WakeAfterOnset};
        let rest = [TotalSleep, TimeInBed, SleepLatency, WakeAfterOnset, Awakenings, Efficiency, Start, End];
        Stage::ALL.map(Quantity::Minutes).into_iter().chain(rest).collect()
    }

    /// Returns the word that definitions and the store use, such as `minutes N3` or `total-sleep`.
    #[must_use]
    pub fn code(self) -> String {
        match self {
            Quantity::Minutes(stage) => format!("minutes {stage}"),
            Quantity::TotalSleep => "total-sleep".into(),
            Quantity::TimeInBed => "time-in-bed".into(),
            Quantity::SleepLatency => "sleep-latency".into(),
            Quantity::WakeAfterOnset => "wake-after-onset".into(),
            Quantity::Awakenings => "awakenings".into(),
            Quantity::Efficiency => "efficiency".into(),
            Quantity::Start => "start".into(),
            Quantity::End => "end".into(),
        }
    }

    /// Returns the unit of a claim's value: `min`, `%`, `count` or `ms`.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Quantity::Efficiency => "%",
            Quantity::Awakenings => "count",
            Quantity::Start | Quantity::End => "ms",
            Quantity::Minutes(_)
            | Quantity::TotalSleep
            | Quantity::TimeInBed
            | Quantity::SleepLatency
            | Quantity::WakeAfterOnset => "min",
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.code())
    }
}

impl FromStr for Quantity {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Quantity, UnknownWord> {
        let all = Quantity::all();
        all.iter().copied().find(|q| q.code() == text).ok_or_else(|| UnknownWord {
            what: "quantity",
            word: text.to_owned(),
            known: all.iter().map(|q| q.code()).collect::<Vec<_>>().join(", "),
        })
    }
}

/// What the source says of itself: a total, or its first or last time.
///
/// Claims enter the minutes tables and are checked against the spans; they never enter a matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Claim {
    /// What it is about.
    pub quantity: Quantity,
    /// The value, in [`Quantity::unit`].
    pub value: f64,
    /// The step to which the source rounds the value, in the same unit; 0 when it does not round.
    pub rounding: f64,
    /// Where the source says so.
    pub locator: Locator,
}

/// What kind of thing a note tells of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NoteKind {
    /// The lights went off: sleep was being tried from here.
    LightsOff,
    /// The lights went on: sleep was no longer being tried.
    LightsOn,
    /// The participant left the bed.
    OutOfBed,
    /// An alarm rang.
    Alarm,
    /// The device fell off or was taken off.
    FellOff,
    /// Alcohol was drunk.
    Alcohol,
    /// The recording began.
    RecordingStarts,
    /// The recording ended.
    RecordingEnds,
    /// Anything else: the text says what.
    Other,
}

impl NoteKind {
    /// Every kind.
    pub const ALL: [NoteKind; 9] = [
        NoteKind::LightsOff,
        NoteKind::LightsOn,
        NoteKind::OutOfBed,
        NoteKind::Alarm,
        NoteKind::FellOff,
        NoteKind::Alcohol,
        NoteKind::RecordingStarts,
        NoteKind::RecordingEnds,
        NoteKind::Other,
    ];

    /// Returns the word that definitions, commands and the store use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            NoteKind::LightsOff => "lights-off",
            NoteKind::LightsOn => "lights-on",
            NoteKind::OutOfBed => "out-of-bed",
            NoteKind::Alarm => "alarm",
            NoteKind::FellOff => "fell-off",
            NoteKind::Alcohol => "alcohol",
            NoteKind::RecordingStarts => "recording-starts",
            NoteKind::RecordingEnds => "recording-ends",
            NoteKind::Other => "other",
        }
    }
}

impl FromStr for NoteKind {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<NoteKind, UnknownWord> {
        NoteKind::ALL.into_iter().find(|k| k.code() == text).ok_or_else(|| UnknownWord {
            what: "kind of note",
            word: text.to_owned(),
            known: NoteKind::ALL.map(NoteKind::code).join(", "),
        })
    }
}

/// Something that happened, with its time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// When it happened, or began.
    pub at: Instant,
    /// When it ended, if it lasted and the end is known.
    pub until: Option<Instant>,
    /// How finely the time is known, in milliseconds either way.
    pub precision_ms: i64,
    /// What kind of thing it was.
    pub kind: NoteKind,
    /// The source's own words.
    pub text: String,
    /// Where the source says so; `None` when the reviewer typed it.
    pub locator: Option<Locator>,
}

impl Note {
    /// Returns what happened in words, such as `fell off: found under the pillow`.
    #[must_use]
    pub fn words(&self) -> String {
        let kind = match self.kind {
            NoteKind::OutOfBed => "out of bed",
            NoteKind::Alarm => "alarm",
            NoteKind::FellOff => "fell off",
            NoteKind::Alcohol => "alcohol",
            NoteKind::RecordingStarts => "recording starts",
            NoteKind::RecordingEnds => "recording ends",
            NoteKind::LightsOff => "lights off",
            NoteKind::LightsOn => "lights on",
            NoteKind::Other => "",
        };
        match (kind, self.text.trim()) {
            ("", text) => text.to_owned(),
            (kind, "") => kind.to_owned(),
            (kind, text) => format!("{kind}: {text}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_read_back() {
        for quantity in Quantity::all() {
            assert_eq!(quantity.code().parse(), Ok(quantity));
        }
        for kind in NoteKind::ALL {
            assert_eq!(kind.code().parse(), Ok(kind));
        }
    }
}
