//! Which slip of the hand would explain that a sheet and its totals do not fit.
//!
//! Every single slip is tried, and what would then still differ is judged by how likely it is. Nothing is changed.

mod likely;
mod tried;

use crate::claims::{Times, rows};
use crate::clock::Clock;
use counterpane_model::grid::Stretch;
use counterpane_model::{Cell, Claim, Instant, Mark, Recording, Stage, Zone};
use likely::likelihood;
use tried::{Tried, tried};

/// The stages of a screen.
const STAGES: [Stage; 4] = [Stage::W, Stage::Light, Stage::N3, Stage::R];
/// Slips that are told.
const TOLD: usize = 3;
/// How much less likely a sheet is for each change to the stage that is already there, as a logarithm: about a
/// thousand times. A hypnogram has none.
const UNCHANGED: f64 = 7.0;

/// A slip that would explain the sheet.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Slip {
    /// Index of the span whose row it is in; the number of spans for the end. A missing row stands before it.
    pub(crate) row: usize,
    /// What was done.
    pub(crate) what: What,
}

/// What was done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum What {
    /// Another stage was typed; this one is meant.
    Stage(Stage),
    /// Another time was typed: an hour off, ten minutes off, two digits swapped. This one is meant.
    Time(Instant, TimeSlip),
    /// A row was left out: this stage, from here on.
    Missing(Stage, Instant),
    /// A row was typed that does not stand there.
    Extra,
}

/// How a time went wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TimeSlip {
    Hour,
    TenMinutes,
    Digits,
}

/// Returns the slips that would explain the sheet, the likeliest first, each in another row. Empty where nothing is to
/// be explained, where no single slip explains it, and for rows that no sheet of a screen has.
pub(crate) fn slips(recording: &Recording) -> Vec<Slip> {
    let Some(sheet) = Sheet::of(recording) else { return Vec::new() };
    let (fits, fewer) = (sheet.fits(&sheet.rows), unchanged(&sheet.rows));
    if fits && fewer == 0 {
        return Vec::new();
    }
    let helps = |t: &Tried| sheet.fits(&t.rows) && (!fits || unchanged(&t.rows) < fewer);
    let tried = tried(&sheet).into_iter().filter(helps);
    let mut tried: Vec<(f64, Slip)> = tried.map(|t| (t.weight + sheet.likelihood(&t.rows), t.slip)).collect();
    tried.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.row.cmp(&b.1.row)));
    let mut told: Vec<Slip> = Vec::new();
    for (_, slip) in tried {
        if told.len() < TOLD && told.iter().all(|t| t.row != slip.row) {
            told.push(slip);
        }
    }
    told
}

/// Returns how many rows say the stage that the row above says.
fn unchanged(rows: &[Stretch]) -> usize {
    rows.windows(2).filter(|w| w[0].cell == w[1].cell).count()
}

/// The rows of a sheet, without a gap between them.
struct Sheet<'a> {
    rows: Vec<Stretch>,
    claims: Vec<&'a Claim>,
    precision_ms: i64,
    zone: Option<Zone>,
}

impl Sheet<'_> {
    fn of(recording: &Recording) -> Option<Sheet<'_>> {
        let spans = &recording.spans;
        let known = |m: &Mark| m.stage().is_none_or(|s| STAGES.contains(&s));
        let whole = spans.windows(2).all(|w| w[0].end == w[1].start) && spans.iter().all(|s| s.length_ms() > 0);
        if spans.is_empty() || !whole || !spans.iter().all(|s| known(&s.mark)) {
            return None;
        }
        let rows = spans.iter().map(|s| Stretch { start: s.start, end: s.end, cell: Cell::from(s.mark) }).collect();
        let claims = recording.claims.iter().collect();
        Some(Sheet { rows, claims, precision_ms: recording.precision_ms, zone: Zone::named(&recording.zone).ok() })
    }

    fn fits(&self, stretches: &[Stretch]) -> bool {
        let times = Times::Typed(self.precision_ms);
        self.claims.iter().all(|c| rows(stretches, c.quantity).is_none_or(|r| !times.differ(c, r, stretches)))
    }

    fn likelihood(&self, stretches: &[Stretch]) -> f64 {
        let unchanged = u32::try_from(unchanged(stretches)).unwrap_or(u32::MAX);
        likelihood(&self.claims, stretches, self.precision_ms) - UNCHANGED * f64::from(unchanged)
    }
}

impl Slip {
    /// Returns the place to look at, such as `line 27:2`.
    pub(crate) fn place(&self, recording: &Recording) -> String {
        let above = self.row.checked_sub(1).and_then(|r| recording.spans.get(r));
        match (self.what, recording.spans.get(self.row), above) {
            (What::Missing(..), Some(row), Some(above)) => format!("between {} and {}", above.locator, row.locator),
            (What::Missing(..), Some(row), None) => format!("above {}", row.locator),
            (_, Some(row), _) => row.locator.to_string(),
            (_, None, Some(above)) => format!("below {}", above.locator),
            (_, None, None) => String::new(),
        }
    }

    /// Returns what would have to be otherwise, such as `` `light` at line 27:2 being deep ``.
    pub(crate) fn words(&self, recording: &Recording, clock: &Clock) -> String {
        let place = self.place(recording);
        let row = recording.spans.get(self.row);
        let label = row.map_or("end", crate::place::label);
        let typed = row.map(|s| s.start).or(recording.spans.last().map(|s| s.end));
        match self.what {
            What::Stage(stage) => format!("`{label}` at {place} being {}", word(stage)),
            What::Time(to, how) => {
                let typed = typed.map(|at| clock.time(at)).unwrap_or_default();
                let how = match how {
                    TimeSlip::Hour => "an hour off",
                    TimeSlip::TenMinutes => "ten minutes off",
                    TimeSlip::Digits => "two digits swapped",
                };
                let at = if row.is_some() { "at " } else { "" };
                format!("`{label}` {at}{place} standing at {} and not at {typed} ({how})", clock.time(to))
            }
            What::Missing(stage, from) => {
                format!("a row that is missing {place}, such as {} `{}`", clock.time(from), word(stage))
            }
            What::Extra => format!("`{label}` at {place} not being there"),
        }
    }
}

/// Returns the word of a sheet for a stage of a screen.
fn word(stage: Stage) -> &'static str {
    match stage {
        Stage::W => "wake",
        Stage::N3 => "deep",
        Stage::R => "rem",
        _ => "light",
    }
}
