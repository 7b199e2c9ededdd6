//! All that is known of a night when its checks run.

use crate::{Decided, Finding, Instant, Kind, Lights, Night, Recording};

/// A unit on a night, with the versions of its software where they are known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wearing {
    /// The physical piece.
    pub unit: String,
    /// The product model that it is a piece of.
    pub device: String,
    /// Who wore it.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Version of the firmware.
    pub firmware: Option<String>,
    /// Version of the app.
    pub app: Option<String>,
}

/// A wearing of the night, and the one of the same device that came before it in the study.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WearingPair {
    /// The wearing of this night.
    pub now: Wearing,
    /// The last wearing of any unit of the same device that came before it, if there is one.
    pub before: Option<Wearing>,
}

/// A recording that has the same contents as one of the night: the same stages for the same lengths.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Twin {
    /// Key of the recording of the night.
    pub recording: String,
    /// Key of the other one: of those that came into the study before it, the first.
    pub other: String,
    /// First instant of the other one's spans.
    pub other_start: Instant,
}

/// By which definition a recording was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadBy {
    /// Key of the recording.
    pub recording: String,
    /// Id of the definition, such as `typed-changes`.
    pub definition: String,
}

/// A night with all that its checks may look at.
#[derive(Clone, Copy, Debug)]
pub struct NightFacts<'a> {
    /// The declared night.
    pub night: &'a Night,
    /// What every device and every scorer says about it, in the order of the store: those recordings that count in
    /// comparisons, on their corrected clocks.
    pub recordings: &'a [Recording],
    /// What the reviewer decided about it.
    pub decided: &'a Decided,
    /// What import found in its recordings.
    pub imported: &'a [Finding],
    /// Which units were worn.
    pub wearings: &'a [WearingPair],
    /// Recordings with the same contents, in this night or another one.
    pub twins: &'a [Twin],
    /// By which definition each recording was read, where that is known.
    pub read_by: &'a [ReadBy],
}

/// What is decided about a night of which nothing was decided.
static NOTHING: Decided = Decided {
    acceptances: Vec::new(),
    exclusions: Vec::new(),
    clocks: Vec::new(),
    readings: Vec::new(),
    notes: Vec::new(),
};

impl<'a> NightFacts<'a> {
    /// Returns a night with its recordings, of which nothing else is known.
    #[must_use]
    pub fn of(night: &'a Night, recordings: &'a [Recording]) -> NightFacts<'a> {
        NightFacts { night, recordings, decided: &NOTHING, imported: &[], wearings: &[], twins: &[], read_by: &[] }
    }

    /// Returns the recordings of devices; one that holds nothing but notes is judged by nothing.
    pub fn devices(&self) -> impl Iterator<Item = &'a Recording> + use<'a> {
        self.recordings.iter().filter(|r| !r.source.is_reference() && !r.is_notes_only())
    }

    /// Returns lights off and on, where known, as a comparison with this reference takes them.
    #[must_use]
    pub fn lights(&self, reference: &Recording) -> Lights {
        self.night.lights_by(Some(reference), self.recordings)
    }

    /// Returns the references that score anything, in the order of the store.
    pub fn references(&self) -> impl Iterator<Item = &'a Recording> + use<'a> {
        let scores = |r: &&Recording| r.source.is_reference() && r.spans.iter().any(|s| s.mark.stage().is_some());
        self.recordings.iter().filter(scores)
    }

    /// Returns the reference that devices are held against: the first one that scores anything.
    #[must_use]
    pub fn reference(&self) -> Option<&'a Recording> {
        self.references().next()
    }

    /// Returns the id of the definition by which a recording was read, where that is known.
    #[must_use]
    pub fn definition_of(&self, recording: &Recording) -> Option<&'a str> {
        self.read_by.iter().find(|r| r.recording == recording.key).map(|r| r.definition.as_str())
    }

    /// Returns a finding that speaks of the night as a whole.
    #[must_use]
    pub fn finding(&self, kind: &Kind, message: String) -> Finding {
        Finding { night: Some((self.night.participant.clone(), self.night.label.clone())), ..kind.finding(message) }
    }
}
