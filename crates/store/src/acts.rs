//! What can be decided, as the lines of `decisions.jsonl` hold it.

use crate::read_from::Settles;
use counterpane_model::{ClockPoint, Instant, Looked, NightKind, NoteKind};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What can be decided.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Act {
    /// An original was read by a definition into recordings.
    Import(Box<ImportAct>),
    /// An error was accepted.
    Accept {
        /// Code of the finding.
        code: String,
        /// The participant of the night.
        participant: String,
        /// Label of the night.
        night: String,
        /// Key of the recording; without one, the finding that speaks of the night as a whole.
        recording: Option<String>,
        /// Place of the one finding that is meant; without one, every finding of the recording with this code.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        locator: Option<String>,
        /// Why.
        reason: String,
    },
    /// A stretch, a recording or a night is left out on purpose.
    Exclude(ExcludeAct),
    /// Something happened in a night.
    Note(NoteAct),
    /// A clock showed something at a known moment.
    ClockSeen(ClockSeenAct),
    /// A clock is corrected; with no points, it is taken as it is again.
    ClockSet(ClockSetAct),
    /// Of several exports of a night, this one counts.
    Count {
        /// Key of the recording.
        recording: String,
        /// Why.
        reason: String,
    },
    /// What study.toml lays down about comparisons was seen for the first time, or changed.
    Protocol(ProtocolAct),
    /// Results were looked at for the first time.
    Looked {
        /// The command that showed them.
        command: String,
    },
    /// An earlier decision is taken back.
    Withdraw {
        /// Its number.
        decision: u64,
        /// Why.
        reason: String,
    },
}

/// A file that a decision needs and `originals/` keeps.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Kept {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// What it is, for people: a name as it was received, or `the definition ring-a`.
    pub name: String,
    /// Whether it is the text of a definition.
    pub is_definition: bool,
    /// SHA-256 of the file as it was received, where something was blanked on the way in.
    pub received: Option<String>,
}

impl Act {
    /// Returns every file among the originals without which this cannot be carried out again.
    #[must_use]
    pub fn kept(&self) -> Vec<Kept> {
        let file = |sha256: &str, name: &str, blanked: Option<&Blanked>| Kept {
            sha256: sha256.into(),
            name: name.into(),
            is_definition: false,
            received: blanked.map(|b| b.received.clone()),
        };
        match self {
            Act::Import(act) => {
                // Every field is named, so that a new one which stands for a file cannot be forgotten here.
                let ImportAct {
                    original,
                    file: name,
                    definition,
                    definition_sha256,
                    participant: _,
                    unit: _,
                    scorer: _,
                    night: _,
                    zone: _,
                    study_zone: _,
                    start: _,
                    end: _,
                    lights_off: _,
                    lights_on: _,
                    precision_ms: _,
                    beside,
                    limits: _,
                    blanked,
                    pictures,
                    settles,
                    clock_reason: _,
                    nights: _,
                } = &**act;
                let definition = Kept {
                    sha256: definition_sha256.clone(),
                    name: format!("the definition {definition}"),
                    is_definition: true,
                    received: None,
                };
                let beside = beside.iter().map(|b| file(&b.sha256, &b.place, None));
                let pictures = pictures.iter().map(|p| file(&p.sha256, &p.file, p.blanked.as_ref()));
                let readings = settles.iter().flat_map(|s| [&s.first, &s.second]);
                let readings = readings.map(|r| file(&r.sha256, &r.file, None));
                let first = [file(original, name, blanked.as_ref()), definition];
                first.into_iter().chain(beside).chain(pictures).chain(readings).collect()
            }
            Act::ClockSeen(act) => act.picture.iter().map(|p| file(&p.sha256, &p.file, p.blanked.as_ref())).collect(),
            Act::Accept { .. }
            | Act::Exclude(_)
            | Act::Note(_)
            | Act::ClockSet(_)
            | Act::Count { .. }
            | Act::Protocol(_)
            | Act::Looked { .. }
            | Act::Withdraw { .. } => Vec::new(),
        }
    }
}

/// What is left out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExcludeAct {
    /// The participant of the night.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Unit or scorer; without one, everything of the night.
    pub source: Option<String>,
    /// The stretch; without one, the whole night.
    pub stretch: Option<(Instant, Instant)>,
    /// Before or after looking at results.
    pub looked: Looked,
    /// Why.
    pub reason: String,
}

/// What study.toml lays down about comparisons.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProtocolAct {
    /// SHA-256 of `text`.
    pub sha256: String,
    /// The one text that stands for it, as [`counterpane_model::Plan::text`] gives it; empty where it was taken away.
    pub text: String,
    /// Before or after results were looked at.
    pub looked: Looked,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoteAct {
    /// The participant of the night.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Unit or scorer that it concerns; without one, the participant.
    pub source: Option<String>,
    /// When it happened, or began.
    pub at: Instant,
    /// When it ended.
    pub until: Option<Instant>,
    /// How finely the time is known, in milliseconds either way.
    pub precision_ms: i64,
    /// What kind of thing it was.
    pub kind: NoteKind,
    /// The reviewer's words.
    pub text: String,
}

/// What a clock showed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClockSeenAct {
    /// The participant of the night.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Unit or scorer whose clock it is.
    pub source: String,
    /// What it showed.
    pub shown: Instant,
    /// What time it was.
    pub truth: Instant,
    /// How finely both could be read, in milliseconds either way.
    pub precision_ms: i64,
    /// A picture of it, kept as an original.
    pub picture: Option<Picture>,
    /// The reviewer's words.
    pub text: String,
}

/// How a clock is corrected.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClockSetAct {
    /// The participant of the night.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Unit or scorer whose clock it is.
    pub source: String,
    /// What is added to its times, in order of time.
    pub points: Vec<ClockPoint>,
    /// Why.
    pub reason: String,
}

/// Everything that an import needs to be done again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportAct {
    /// SHA-256 of the original.
    pub original: String,
    /// Its name as it was received.
    pub file: String,
    /// Id of the definition.
    pub definition: String,
    /// SHA-256 of the definition's text, which is kept among the originals.
    pub definition_sha256: String,
    /// The participant's code.
    pub participant: String,
    /// The unit, for a device.
    pub unit: Option<String>,
    /// The scorer, for a reference.
    pub scorer: Option<String>,
    /// Label of the only night to take, where one was named.
    pub night: Option<String>,
    /// Zone given on import.
    pub zone: Option<String>,
    /// The study's zone then: that of nights which nobody had declared.
    pub study_zone: String,
    /// Start given on import, as typed.
    pub start: Option<String>,
    /// End given on import, as typed.
    pub end: Option<String>,
    /// Lights off given on import, as typed.
    pub lights_off: Option<String>,
    /// Lights on given on import, as typed.
    pub lights_on: Option<String>,
    /// How finely its times were read off a picture, milliseconds either way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub precision_ms: Option<i64>,
    /// Files beside it that were read with it, the nearest first; each is kept among the originals.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<BesideKept>,
    /// Limits of the readers that were set otherwise, by name.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub limits: BTreeMap<String, u64>,
    /// What was blanked on the way in, where something was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blanked: Option<Blanked>,
    /// Pictures that its rows were read from; each is kept among the originals.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pictures: Vec<Picture>,
    /// The two readings that it follows from, where it is a settled sheet; each is kept among the originals.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub settles: Option<Settles>,
    /// The offset of its own that the unit's clock had on nights of this import, and why, as study.toml said then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock_reason: Option<String>,
    /// The nights of the participant as they were declared then.
    pub nights: Vec<NightTaken>,
}

/// A file that was read together with an original.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BesideKept {
    /// The name that the definition looks for.
    pub name: String,
    /// Where it was found, seen from the folder of the original.
    pub place: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

/// A night as it was declared when a decision was taken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NightTaken {
    /// Label.
    pub label: String,
    /// Kind, as a word.
    pub kind: NightKind,
    /// IANA zone.
    pub zone: String,
    /// Whether that is the zone which the unit's clock followed, and not that of the night.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub of_unit: bool,
    /// First instant of the window.
    pub from: Instant,
    /// First instant after it.
    pub until: Instant,
}

impl ImportAct {
    /// Says whether this import took a night that another one would take: same original, same
    /// definition, same files beside it, same bindings, no picture and no reading that this one lacks, and the night
    /// declared as it was then. Names of files, limits and what was blanked before do not change what is read.
    #[must_use]
    pub fn took(&self, other: &ImportAct, night: &NightTaken) -> bool {
        let bare = |act: &ImportAct| {
            let mut act = ImportAct { file: String::new(), nights: Vec::new(), ..act.clone() };
            act.limits.clear();
            act.blanked = None;
            act.pictures.clear();
            act.settles = None;
            // The offset itself stands with the nights; why it is so does not change what is read.
            act.clock_reason = None;
            act.beside.iter_mut().for_each(|b| b.place.clear());
            act
        };
        self.nights.contains(night) && bare(self) == bare(other) && self.has_all_of(other)
    }
}

/// A picture that is kept as an original.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Picture {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Number of bytes.
    pub bytes: u64,
    /// Its name as it was received.
    pub file: String,
    /// What was blanked on the way in, where something was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blanked: Option<Blanked>,
}

/// A file that is kept without what identifies a person.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Blanked {
    /// SHA-256 of the file as it was received.
    pub received: String,
    /// What was blanked, in words.
    pub fields: Vec<String>,
}
