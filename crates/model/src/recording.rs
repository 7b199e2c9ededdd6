//! What one unit, or one scorer, says about one night.

use crate::{Claim, Instant, Lights, Note, NoteKind, Scheme, Span, Stage};
use serde::{Deserialize, Serialize};
use std::fmt;

/// The word that stands for the majority of the scorers of a night wherever a scorer's code may stand. No scorer and no
/// unit is called so.
pub const MAJORITY: &str = "majority";

/// Who scored a reference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ScoredBy {
    /// A person.
    Human,
    /// A program.
    Algorithm,
}

impl ScoredBy {
    /// Returns the word that files and the store use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            ScoredBy::Human => "human",
            ScoredBy::Algorithm => "algorithm",
        }
    }
}

/// Who says it: a device under test, or a reference.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// A physical piece of a device.
    Device {
        /// The product model under test.
        device: String,
        /// The physical piece.
        unit: String,
    },
    /// A scorer of the polysomnogram.
    Reference {
        /// Code of the scorer.
        scorer: String,
        /// Person or program.
        scored_by: ScoredBy,
    },
}

impl Source {
    /// Returns the name that tables and figures show: the device, or the scorer.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Source::Device { device, .. } => device,
            Source::Reference { scorer, .. } => scorer,
        }
    }

    /// Returns the name that decisions use: the physical piece, or the scorer. Both are unique in a study.
    #[must_use]
    pub fn piece(&self) -> &str {
        match self {
            Source::Device { unit, .. } => unit,
            Source::Reference { scorer, .. } => scorer,
        }
    }

    /// Says whether it is a reference.
    #[must_use]
    pub fn is_reference(&self) -> bool {
        matches!(self, Source::Reference { .. })
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Source::Device { unit, .. } => f.write_str(unit),
            Source::Reference { scorer, .. } => write!(f, "scorer {scorer}"),
        }
    }
}

/// How the instants of a recording were known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TimeBasis {
    /// Each time carries its offset from UTC, or is UTC.
    OffsetInSource,
    /// The source names its zone.
    ZoneInSource,
    /// Wall time, read in the zone of the night.
    ZoneOfNight,
    /// Wall time, read in the zone that the unit's clock followed on the night, as the reviewer declared it.
    ZoneOfUnit,
    /// Wall time, read in a zone that the definition or the command line gives.
    ZoneGiven,
    /// An anchor, and elapsed time or a count of epochs from there.
    ElapsedFromAnchor,
}

impl TimeBasis {
    /// Every basis.
    pub const ALL: [TimeBasis; 6] = [
        TimeBasis::OffsetInSource,
        TimeBasis::ZoneInSource,
        TimeBasis::ZoneOfNight,
        TimeBasis::ZoneOfUnit,
        TimeBasis::ZoneGiven,
        TimeBasis::ElapsedFromAnchor,
    ];

    /// Returns the words that the store and the report use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            TimeBasis::OffsetInSource => "offset in the source",
            TimeBasis::ZoneInSource => "zone in the source",
            TimeBasis::ZoneOfNight => "zone of the night",
            TimeBasis::ZoneOfUnit => "zone of the unit's clock",
            TimeBasis::ZoneGiven => "zone given on import",
            TimeBasis::ElapsedFromAnchor => "elapsed from an anchor",
        }
    }
}

/// The stages that a source can express.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Vocabulary(pub Vec<Stage>);

impl Vocabulary {
    /// Says whether a source with these stages, which used the stages `used` on a night, can be
    /// compared in a scheme: all that it used must fold into the scheme, and each class of the
    /// scheme must be one that it could have said.
    #[must_use]
    pub fn expresses(&self, scheme: Scheme, used: &[Stage]) -> bool {
        let reaches = |class: &Stage| self.0.iter().any(|s| scheme.fold(*s) == Some(*class));
        used.iter().all(|s| scheme.fold(*s).is_some()) && scheme.classes().iter().all(reaches)
    }
}

/// What one unit, or one scorer, says about one night, from one original by one definition.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// Name that is unique in a study, such as `P01/2026-04-04/ring-a-1`; a second export of the
    /// same night ends in `#2`.
    pub key: String,
    /// Who says it.
    pub source: Source,
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// IANA name of the zone in which its times are shown.
    pub zone: String,
    /// How its instants were known.
    pub time_basis: TimeBasis,
    /// The stages that the source can express.
    pub vocabulary: Vocabulary,
    /// The step to which the source gives its times, in milliseconds; 0 when not stated.
    pub step_ms: i64,
    /// How finely a person read the times of its changes off a picture, milliseconds either way; 0 where nobody did, or
    /// the times were printed.
    pub precision_ms: i64,
    /// Spans in order of their start.
    pub spans: Vec<Span>,
    /// Claims in the order of the source.
    pub claims: Vec<Claim>,
    /// Notes in order of time.
    pub notes: Vec<Note>,
    /// Name of the original as it was received.
    pub file: String,
}

impl Recording {
    /// Says whether the recording holds claims and no spans: it enters the minutes tables only.
    #[must_use]
    pub fn is_claims_only(&self) -> bool {
        self.spans.is_empty() && !self.claims.is_empty()
    }

    /// Says whether the recording holds notes and nothing else, as a diary does: it is compared with nothing.
    #[must_use]
    pub fn is_notes_only(&self) -> bool {
        self.spans.is_empty() && self.claims.is_empty() && !self.notes.is_empty()
    }

    /// Returns the stages that the spans use, each once, in the order of [`Stage::ALL`].
    #[must_use]
    pub fn stages_used(&self) -> Vec<Stage> {
        Stage::ALL.into_iter().filter(|s| self.spans.iter().any(|x| x.mark.stage() == Some(*s))).collect()
    }

    /// Says whether the recording can be compared in a scheme.
    #[must_use]
    pub fn expresses(&self, scheme: Scheme) -> bool {
        !self.spans.is_empty() && self.vocabulary.expresses(scheme, &self.stages_used())
    }

    /// Returns the first start and the last end of its spans, or `None` when it has none.
    #[must_use]
    pub fn bounds(&self) -> Option<(Instant, Instant)> {
        Some((self.spans.iter().map(|s| s.start).min()?, self.spans.iter().map(|s| s.end).max()?))
    }

    /// Returns lights off and on as the source itself gives them; the first of each counts.
    #[must_use]
    pub fn lights(&self) -> Lights {
        let first = |kind| self.notes.iter().find(|n| n.kind == kind).map(|n| n.at);
        Lights { off: first(NoteKind::LightsOff), on: first(NoteKind::LightsOn) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Stage::{Asleep, Light, N1, N2, N3, Nrem, R, W};

    fn schemes(can: &[Stage], used: &[Stage]) -> Vec<&'static str> {
        let vocabulary = Vocabulary(can.to_vec());
        Scheme::ALL.into_iter().filter(|s| vocabulary.expresses(*s, used)).map(Scheme::code).collect()
    }

    #[test]
    fn a_source_is_compared_only_in_what_it_can_say() {
        assert_eq!(schemes(&[W, Asleep], &[W, Asleep]), ["sleep-wake"]);
        assert_eq!(schemes(&[W, Nrem, R], &[W, Nrem]), ["sleep-wake", "three"]);
        assert_eq!(schemes(&[W, Light, N3, R], &[W, Light]), ["sleep-wake", "three", "four"]);
        assert_eq!(schemes(&[W, N1, N2, N3, R], &[W]), ["sleep-wake", "three", "four", "five"]);
    }

    #[test]
    fn a_source_without_a_class_is_not_compared_in_a_scheme_that_has_it() {
        assert_eq!(schemes(&[W, Light, N3], &[W, Light, N3]), ["sleep-wake"]);
    }

    #[test]
    fn a_coarse_word_used_on_a_night_limits_that_night_only() {
        let can = [W, N1, N2, N3, R, Nrem];
        assert_eq!(schemes(&can, &[W, N2, R]), ["sleep-wake", "three", "four", "five"]);
        assert_eq!(schemes(&can, &[W, Nrem, R]), ["sleep-wake", "three"]);
    }
}
