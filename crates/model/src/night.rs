//! A declared sleep period of a participant.

use crate::{Instant, Mark, Recording, Stage};
use serde::{Deserialize, Serialize};

/// Whether a night is the main sleep or another kind of sleep period.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum NightKind {
    /// The main sleep, begun in the evening or at night.
    #[default]
    Night,
    /// The main sleep of somebody who sleeps by day.
    Day,
    /// A nap.
    Nap,
}

impl NightKind {
    /// Returns the word that files and the store use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            NightKind::Night => "night",
            NightKind::Day => "day",
            NightKind::Nap => "nap",
        }
    }
}

/// When the lights went off and on, where that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Lights {
    /// Sleep was being tried from here.
    pub off: Option<Instant>,
    /// Sleep was no longer being tried from here.
    pub on: Option<Instant>,
}

impl Lights {
    /// Returns these lights, and where one of the two is not known, that of others.
    #[must_use]
    pub fn or(self, others: Lights) -> Lights {
        Lights { off: self.off.or(others.off), on: self.on.or(others.on) }
    }
}

/// One declared sleep period of one participant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Night {
    /// The participant's code.
    pub participant: String,
    /// Label, unique for the participant: the date of the evening, such as `2026-04-04`, unless the
    /// reviewer chose another.
    pub label: String,
    /// What kind of sleep period it is.
    pub kind: NightKind,
    /// IANA name of the zone that the participant's clocks followed.
    pub zone: String,
    /// `[from, until)`: what belongs to this night and to no other.
    pub window: (Instant, Instant),
    /// Lights off and on as the reviewer declared them.
    pub lights: Lights,
}

impl Night {
    /// Says whether an instant belongs to this night.
    #[must_use]
    pub fn holds(&self, at: Instant) -> bool {
        (self.window.0..self.window.1).contains(&at)
    }

    /// Returns lights off and on, each from the first that knows it: what the reviewer declared, what the
    /// reference says, and what the diaries of the night say, in the order given.
    ///
    /// Of `recordings` only those that hold nothing but notes are asked: a device may have a button for the lights,
    /// and what is judged must not choose the window in which it is judged.
    #[must_use]
    pub fn lights_by<'a>(
        &self,
        reference: Option<&Recording>,
        recordings: impl IntoIterator<Item = &'a Recording>,
    ) -> Lights {
        let own = reference.map(Recording::lights).unwrap_or_default();
        let diaries = recordings.into_iter().filter(|r| r.is_notes_only());
        diaries.fold(self.lights.or(own), |known, diary| known.or(diary.lights()))
    }
}

/// What one account of a night has more of than another, in minutes, by mark in their order; where they differ.
#[must_use]
pub fn minutes_changed(before: &[(Mark, f64)], after: &[(Mark, f64)]) -> Vec<(Mark, f64)> {
    let of = |side: &[(Mark, f64)], mark: Mark| side.iter().find(|(m, _)| *m == mark).map_or(0.0, |(_, v)| *v);
    let mut marks: Vec<Mark> = before.iter().chain(after).map(|(mark, _)| *mark).collect();
    marks.sort_unstable();
    marks.dedup();
    marks.retain(|mark| of(before, *mark) != of(after, *mark));
    marks.into_iter().map(|mark| (mark, of(after, mark) - of(before, mark))).collect()
}

/// Minutes in each mark, from spans as they stand: overlaps count twice, gaps do not count.
#[must_use]
pub fn minutes_by_mark(spans: &[crate::Span]) -> Vec<(Mark, f64)> {
    let marks = Stage::ALL.map(Mark::Stage).into_iter().chain([Mark::Unscored, Mark::Off]);
    marks
        .filter_map(|mark| {
            let ms: i64 = spans.iter().filter(|s| s.mark == mark).map(|s| s.length_ms().max(0)).sum();
            #[expect(clippy::cast_precision_loss, reason = "a night has far fewer than 2^52 milliseconds")]
            (ms > 0).then_some((mark, ms as f64 / 60_000.0))
        })
        .collect()
}
