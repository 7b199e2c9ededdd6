//! Where spans, claims, notes and faults are collected, night by night.

use super::faults::{Fault, Faults, place};
use super::moment::Moment;
use super::nights::{Home, Nights, PartKey};
use super::runs;
use crate::kinds;
use crate::outcome::Tally;
use counterpane_formats::Row;
use counterpane_model::{Claim, Instant, Note, Place, Span, TimeBasis, Zone};
use std::collections::BTreeMap;
use std::rc::Rc;

/// The rule under which rows that repeat another one are ignored.
pub(super) const SAME_ROW: &str = "the same row stands above";

/// Milliseconds below which the length of a row is unbelievable: stages are scored in epochs of seconds.
const SHORT_MS: i64 = 1000;

/// What was collected for one night.
pub(super) struct Collected {
    pub(super) home: Rc<Home>,
    pub(super) basis: Option<TimeBasis>,
    /// The first row that says something of the night, as it stands in the source.
    pub(super) raw: Option<String>,
    pub(super) spans: Vec<Laid>,
    pub(super) claims: Vec<Claimed>,
    pub(super) notes: Vec<Note>,
    pub(super) faults: Faults,
    /// Changes that stand in the file twice.
    pub(super) doubled: u64,
}

/// A claim and the row that makes it.
#[derive(Clone, Debug)]
pub(super) struct Claimed {
    pub(super) claim: Claim,
    /// Number of the block, and of the row in it.
    pub(super) row: (usize, u64),
    /// The user's own line.
    pub(super) line: Rc<str>,
}

/// A span on its layer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Laid {
    pub(super) layer: i32,
    pub(super) span: Span,
}

/// Everything that was collected.
pub(super) struct Sink<'a> {
    pub(super) file: &'a str,
    pub(super) nights: &'a Nights,
    pub(super) parts: BTreeMap<PartKey, Collected>,
    /// Faults whose night is not known.
    pub(super) loose: Faults,
    pub(super) tally: Tally,
}

impl<'a> Sink<'a> {
    pub(super) fn new(file: &'a str, nights: &'a Nights) -> Sink<'a> {
        Sink { file, nights, parts: BTreeMap::new(), loose: Faults::default(), tally: Tally::default() }
    }

    /// Returns the collection of a night.
    pub(super) fn part(&mut self, home: &Rc<Home>) -> &mut Collected {
        self.parts.entry(home.key.clone()).or_insert_with(|| Collected {
            home: home.clone(),
            basis: None,
            raw: None,
            spans: Vec::new(),
            claims: Vec::new(),
            notes: Vec::new(),
            faults: Faults::default(),
            doubled: 0,
        })
    }

    /// Counts a change that stands in the file twice; one that begins nothing was counted already as the end that it is.
    pub(super) fn doubled(&mut self, home: &Rc<Home>, begins: bool) {
        if begins {
            self.ignored(SAME_ROW);
        }
        self.part(home).doubled += 1;
    }

    fn faults(&mut self, home: Option<&Rc<Home>>, near: Option<Instant>) -> &mut Faults {
        match home.cloned().or_else(|| self.nights.holding(near?, None)) {
            Some(home) => &mut self.part(&home).faults,
            None => &mut self.loose,
        }
    }

    /// Keeps a fault as a finding.
    pub(super) fn fault(&mut self, fault: Fault, home: Option<&Rc<Home>>, line: impl FnOnce() -> String) {
        let file = self.file;
        self.faults(home, fault.near).push(fault, file, line);
    }

    /// Keeps the fault of a row that becomes nothing else.
    pub(super) fn faulty(&mut self, fault: Fault, home: Option<&Rc<Home>>, line: impl FnOnce() -> String) {
        self.tally.faulty += 1;
        self.fault(fault, home, line);
    }

    /// Counts a row whose word is mapped to nothing.
    pub(super) fn unmapped(
        &mut self,
        text: &str,
        near: Option<&str>,
        at: counterpane_model::Locator,
        home: Option<&Rc<Home>>,
        row: &dyn Row,
    ) {
        self.tally.faulty += 1;
        let file = self.file;
        self.faults(home, None).label(text, near, || place(file, at, row));
    }

    /// Counts a row that a rule leaves out.
    pub(super) fn ignored(&mut self, rule: &str) {
        match self.tally.ignored.get_mut(rule) {
            Some(count) => *count += 1,
            None => {
                self.tally.ignored.insert(rule.to_owned(), 1);
            }
        }
    }

    /// Takes a span.
    pub(super) fn span(&mut self, home: &Rc<Home>, layer: i32, span: Span, basis: TimeBasis) {
        self.tally.spans += 1;
        let part = self.part(home);
        part.basis.get_or_insert(basis);
        part.spans.push(Laid { layer, span });
    }

    /// Takes the span of one code, or of one element of parallel lists; it lengthens the one before when both say the
    /// same.
    pub(super) fn code(&mut self, home: &Rc<Home>, layer: i32, span: Span, basis: TimeBasis) {
        let next = Laid { layer, span };
        let part = self.part(home);
        if part.spans.last_mut().is_some_and(|run| runs::join(run, &next)) {
            self.tally.spans += 1;
        } else {
            self.span(home, layer, next.span, basis);
        }
    }

    /// Tells of a row that lasts less than a second.
    pub(super) fn short(&mut self, home: &Rc<Home>, span: &Span, line: impl FnOnce() -> String) {
        if span.length_ms() >= SHORT_MS {
            return;
        }
        let (file, locator) = (self.file.to_owned(), span.locator.clone());
        let message = "a row lasts less than a second".to_owned();
        let place = || Some(Place { file, locator, line: line() });
        self.part(home).faults.group(&kinds::span_very_short::KIND, message, place);
    }

    /// Takes a claim.
    pub(super) fn claim(&mut self, home: &Rc<Home>, claim: Claimed, basis: Option<TimeBasis>) {
        self.tally.claims += 1;
        let part = self.part(home);
        part.basis = part.basis.or(basis);
        part.claims.push(claim);
    }

    /// Takes a note.
    pub(super) fn note(&mut self, home: &Rc<Home>, note: Note) {
        self.tally.notes += 1;
        self.part(home).notes.push(note);
    }

    /// Notes what a reader must know of a time that was read: a choice that was made, a zone that differs.
    pub(super) fn remark(&mut self, home: &Rc<Home>, moment: &Moment, row: &dyn Row) {
        let part = self.part(home);
        if part.raw.is_none() {
            part.raw = Some(row.line());
        }
        if let Some(chosen) = &moment.chosen {
            let file = self.file;
            let at = || Some(place(file, moment.locator.clone(), row));
            self.part(home).faults.group(&kinds::time_settled::KIND, chosen.clone(), at);
        }
        if let Some(message) = differs(&home.zone, moment) {
            let file = self.file;
            let at = || Some(place(file, moment.locator.clone(), row));
            self.part(home).faults.group(&kinds::zone_differs::KIND, message, at);
        }
    }
}

/// Returns how the source's own zone or offset contradicts the zone of the night, if it does.
fn differs(zone: &Zone, moment: &Moment) -> Option<String> {
    let own = zone.offset_at(moment.at);
    let (said, offset) = match (moment.offset, &moment.zone) {
        (Some(offset), _) => ("the source says ".to_owned(), offset),
        (None, Some(other)) => {
            let whose = if moment.basis == TimeBasis::ZoneInSource { "the source" } else { "the import" };
            (format!("{whose} is in {}, at ", other.name()), other.offset_at(moment.at))
        }
        (None, None) => return None,
    };
    (offset != own).then(|| format!("{said}{}; {} was at {}", text(offset), zone.name(), text(own)))
}

/// Returns an offset in seconds as `+10:30`.
fn text(seconds: i32) -> String {
    let (sign, abs) = (if seconds < 0 { '-' } else { '+' }, seconds.unsigned_abs());
    format!("{sign}{:02}:{:02}", abs / 3600, abs / 60 % 60)
}
