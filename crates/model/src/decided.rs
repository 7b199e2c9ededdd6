//! What the reviewer knows and decides about a night, beside what the sources say.

use crate::stage::UnknownWord;
use crate::{Finding, Instant, Note, Recording, Source};
use serde::{Deserialize, Serialize};
use std::str::FromStr;

/// Whether a decision was taken before or after its author saw results that it touches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Looked {
    /// No result that the decision touches had been looked at.
    Before,
    /// Results had been looked at.
    After,
}

impl Looked {
    /// Returns the word that commands and the store use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Looked::Before => "before",
            Looked::After => "after",
        }
    }
}

impl FromStr for Looked {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Looked, UnknownWord> {
        [Looked::Before, Looked::After].into_iter().find(|l| l.code() == text).ok_or_else(|| UnknownWord {
            what: "time of looking",
            word: text.to_owned(),
            known: "before, after".to_owned(),
        })
    }
}

/// A stretch, a recording or a night that is left out on purpose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exclusion {
    /// Number of the decision.
    pub decision: u64,
    /// Unit or scorer that it speaks of; `None` for everything of the night.
    pub source: Option<String>,
    /// The stretch `[from, until)`; `None` for the whole night.
    pub stretch: Option<(Instant, Instant)>,
    /// Before or after looking at results.
    pub looked: Looked,
    /// Why.
    pub reason: String,
    /// Who decided.
    pub by: String,
    /// When: RFC 3339, UTC.
    pub at: String,
}

impl Exclusion {
    /// Says whether the decision speaks of this source: by its name, or because it speaks of everything of the night.
    #[must_use]
    pub fn concerns(&self, source: &Source) -> bool {
        concerns(self.source.as_deref(), source.piece())
    }
}

/// What is added to the times of a source at one time of its own clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClockPoint {
    /// A time as the source gives it.
    pub at: Instant,
    /// Milliseconds to add to it; negative where the clock ran ahead.
    pub shift_ms: i64,
}

/// A correction of a source's clock on one night.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockSetting {
    /// Number of the decision.
    pub decision: u64,
    /// Unit or scorer whose clock it is.
    pub source: String,
    /// One point shifts all times alike; between several, the shift runs in a straight line; before the
    /// first and after the last it stays what it is there. In order of time.
    pub points: Vec<ClockPoint>,
    /// Why.
    pub reason: String,
    /// Who decided.
    pub by: String,
    /// When: RFC 3339, UTC.
    pub decided_at: String,
}

/// What a clock showed at a known moment, as the reviewer saw it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockReading {
    /// Number of the decision.
    pub decision: u64,
    /// Unit or scorer whose clock it is.
    pub source: String,
    /// What it showed, read in the zone of the night.
    pub shown: Instant,
    /// What time it was.
    pub truth: Instant,
    /// How finely both could be read, in milliseconds either way.
    pub precision_ms: i64,
    /// SHA-256 of a picture that is kept as an original.
    pub picture: Option<String>,
    /// What the reviewer adds in words.
    pub text: String,
}

impl ClockReading {
    /// Returns what must be added to the shown time to get the true one, in milliseconds.
    #[must_use]
    pub fn shift_ms(&self) -> i64 {
        self.truth.ms_since(self.shown)
    }
}

/// Something that happened, as the reviewer noted it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NightNote {
    /// Number of the decision.
    pub decision: u64,
    /// Unit or scorer that it concerns; `None` for the participant.
    pub source: Option<String>,
    /// What happened, when and how finely that is known.
    pub note: Note,
}

/// An error that the reviewer has looked at and lets stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Acceptance {
    /// Number of the decision.
    pub decision: u64,
    /// Code of the finding.
    pub code: String,
    /// The participant of the night.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Key of the recording; without one, the finding that speaks of the night as a whole.
    pub recording: Option<String>,
    /// Place of the one finding that is meant, as `check` prints it; without one, every finding of the recording with
    /// this code.
    pub locator: Option<String>,
    /// Why.
    pub reason: String,
    /// Who decided.
    pub by: String,
    /// When: RFC 3339, UTC.
    pub at: String,
}

impl Acceptance {
    /// Says whether the acceptance speaks of a finding: the code, the recording, and the place where one is named.
    #[must_use]
    pub fn covers(&self, finding: &Finding) -> bool {
        let place = finding.place.as_ref().map(|p| p.locator.to_string());
        self.code == finding.code
            && self.recording == finding.recording
            && (self.locator.is_none() || self.locator == place)
    }
}

/// All that the reviewer decided about one night and has not taken back.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Decided {
    /// Errors that may stand, in order of decision.
    pub acceptances: Vec<Acceptance>,
    /// What is left out, in order of decision.
    pub exclusions: Vec<Exclusion>,
    /// Corrections that apply: the newest of each source.
    pub clocks: Vec<ClockSetting>,
    /// What clocks showed, in order of decision.
    pub readings: Vec<ClockReading>,
    /// What happened, in order of time.
    pub notes: Vec<NightNote>,
}

impl Decided {
    /// Returns the exclusion of a whole source, or of the night, that covers this source, if there is one.
    #[must_use]
    pub fn excludes(&self, source: &Source) -> Option<&Exclusion> {
        self.excludes_piece(source.piece())
    }

    /// The same of a unit or a scorer by its name, which need not have a recording.
    #[must_use]
    pub fn excludes_piece(&self, piece: &str) -> Option<&Exclusion> {
        self.exclusions.iter().find(|e| e.stretch.is_none() && concerns(e.source.as_deref(), piece))
    }

    /// Returns the stretches of a source that are left out, in order of decision.
    #[must_use]
    pub fn stretches_of(&self, source: &Source) -> Vec<(Instant, Instant)> {
        self.exclusions.iter().filter(|e| e.concerns(source)).filter_map(|e| e.stretch).collect()
    }

    /// Returns the correction of a source's clock, if there is one.
    #[must_use]
    pub fn clock_of(&self, source: &Source) -> Option<&ClockSetting> {
        self.clocks.iter().find(|c| c.source == source.piece())
    }

    /// Returns the recording as its corrected clock has it, or `None` when no correction applies to it.
    #[must_use]
    pub fn on_corrected_clock(&self, recording: &Recording) -> Option<Recording> {
        Some(corrected(recording, &self.clock_of(&recording.source)?.points))
    }

    /// Returns the recording as its clock has it: the corrected one where there is one, else its own.
    #[must_use]
    pub fn clocked(&self, recording: &Recording) -> Recording {
        self.on_corrected_clock(recording).unwrap_or_else(|| recording.clone())
    }
}

/// Says whether a decision about a source, or about everything, concerns this one.
fn concerns(decided: Option<&str>, piece: &str) -> bool {
    decided.is_none_or(|name| name == piece)
}

/// Returns what is to be added to a time of the source, in milliseconds; 0 without a point.
///
/// Rounded down to the millisecond between two points, so that no span turns around.
#[must_use]
pub fn shift_at(points: &[ClockPoint], at: Instant) -> i64 {
    let after = points.partition_point(|p| p.at <= at);
    let (Some(before), Some(next)) = (after.checked_sub(1).and_then(|i| points.get(i)), points.get(after)) else {
        let nearest = if after == 0 { points.first() } else { points.last() };
        return nearest.map_or(0, |p| p.shift_ms);
    };
    let (part, whole) = (i128::from(at.ms_since(before.at)), i128::from(next.at.ms_since(before.at)));
    let rise = i128::from(next.shift_ms) - i128::from(before.shift_ms);
    before.shift_ms + i64::try_from((rise * part).div_euclid(whole.max(1))).unwrap_or(0)
}

/// Returns a recording with spans and notes moved to the corrected clock; claims stay as the source gave them.
#[must_use]
pub fn corrected(recording: &Recording, points: &[ClockPoint]) -> Recording {
    let moved = |t: Instant| t.plus_ms(shift_at(points, t)).unwrap_or(t);
    let mut out = recording.clone();
    for span in &mut out.spans {
        (span.start, span.end) = (moved(span.start), moved(span.end));
    }
    for note in &mut out.notes {
        (note.at, note.until) = (moved(note.at), note.until.map(moved));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINUTE: i64 = 60_000;

    fn point(at_minutes: i64, shift_minutes: i64) -> ClockPoint {
        ClockPoint { at: Instant(at_minutes * MINUTE), shift_ms: shift_minutes * MINUTE }
    }

    fn shifts(points: &[ClockPoint], at_minutes: &[i64]) -> Vec<i64> {
        at_minutes.iter().map(|m| shift_at(points, Instant(m * MINUTE)) / 1000).collect()
    }

    #[test]
    fn one_point_shifts_every_time_alike() {
        assert_eq!(shifts(&[point(10, -3)], &[0, 10, 500]), [-180, -180, -180]);
    }

    #[test]
    fn between_two_points_the_shift_runs_in_a_straight_line_and_beyond_them_it_stays() {
        assert_eq!(shifts(&[point(0, 0), point(60, 1)], &[-5, 0, 15, 30, 60, 90]), [0, 0, 15, 30, 60, 60]);
    }

    #[test]
    fn without_a_point_nothing_is_shifted() {
        assert_eq!(shifts(&[], &[7]), [0]);
    }
}
