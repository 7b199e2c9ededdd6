//! The measure: how many errors are caught, and which row is named.

use crate::dice::Dice;
use crate::judged::{Reader, Told, differences, lines};
use crate::night::night;
use crate::reader::{Sheet, typed};
use crate::slip::{Kind, rare, slip};

/// What is measured.
#[derive(Clone, Copy)]
pub(crate) struct Asked {
    pub(crate) seed: u64,
    pub(crate) errors: u64,
}

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Share {
    pub(crate) hits: u64,
    pub(crate) of: u64,
}

impl Share {
    fn count(&mut self, hit: bool) {
        self.hits += u64::from(hit);
        self.of += 1;
    }

    pub(crate) fn percent(self) -> f64 {
        100.0 * self.hits as f64 / self.of.max(1) as f64
    }

    /// Standard error, in per cent.
    pub(crate) fn error(self) -> f64 {
        let share = self.percent() / 100.0;
        100.0 * (share * (1.0 - share) / self.of.max(1) as f64).sqrt()
    }
}

/// What was measured at one precision.
#[derive(Debug)]
pub(crate) struct Measured {
    pub(crate) precision: f64,
    /// Valid sheets of which something is said: by the rows, with totals, by a second pass without slips.
    pub(crate) alarms: [Share; 3],
    pub(crate) kinds: Vec<OfKind>,
}

/// What was measured of one kind of error.
#[derive(Debug)]
pub(crate) struct OfKind {
    pub(crate) kind: Kind,
    /// Caught by the rows alone.
    pub(crate) rows: Share,
    /// Caught with the totals of the screen.
    pub(crate) claims: Share,
    /// Caught by the rows or by a second pass.
    pub(crate) second: Share,
    /// Caught by any of them.
    pub(crate) all: Share,
    /// Of those caught with totals that name a row: the one named first is right.
    pub(crate) first: Share,
    /// One of the first three is right.
    pub(crate) three: Share,
}

/// Measures every precision, in two threads.
pub(crate) fn measured(asked: Asked, precisions: &[f64]) -> Vec<Measured> {
    std::thread::scope(|scope| {
        let running: Vec<_> = precisions.iter().map(|p| scope.spawn(move || at(asked, *p))).collect();
        running.into_iter().map(|r| r.join().unwrap()).collect()
    })
}

fn at(asked: Asked, precision: f64) -> Measured {
    let reader = Reader::new();
    let mut alarms = [Share::default(); 3];
    for stream in 0..asked.errors {
        let mut dice = Dice::new(asked.seed, stream * 8);
        let night = night(&mut dice, precision == 0.0);
        let (sheet, second) = (typed(&mut dice, &night, precision, 1), typed(&mut dice, &night, precision, 2));
        alarms[0].count(!reader.alarms(&sheet, false).is_empty());
        alarms[1].count(!reader.alarms(&sheet, true).is_empty());
        alarms[2].count(differences(&sheet, &second).is_none_or(|d| !d.is_empty()));
    }
    let kinds = Kind::ALL.map(|kind| of_kind(asked, precision, kind, &reader)).into();
    Measured { precision, alarms, kinds }
}

/// A night, a sheet of it with one slip, and the row that is wrong.
struct Slipped {
    night: Vec<crate::night::Change>,
    sheet: Sheet,
    row: usize,
    dice: Dice,
}

fn one(seed: u64, stream: u64, kind: Kind, precision: f64) -> Slipped {
    let mut dice = Dice::new(seed, stream * 8 + 1 + kind as u64);
    let night = night(&mut dice, precision == 0.0);
    let mut sheet = typed(&mut dice, &night, precision, 1);
    let row = slip(&mut dice, &mut sheet, &night, kind);
    Slipped { night, sheet, row, dice }
}

/// The sheet with a slip that a stream gives.
pub(crate) fn slipped(seed: u64, stream: u64, kind: Kind, precision: f64) -> Sheet {
    one(seed, stream, kind, precision).sheet
}

fn of_kind(asked: Asked, precision: f64, kind: Kind, reader: &Reader) -> OfKind {
    let none = Share::default();
    let mut out = OfKind { kind, rows: none, claims: none, second: none, all: none, first: none, three: none };
    for stream in 0..asked.errors {
        let mut s = one(asked.seed, stream, kind, precision);
        let by_rows = !reader.alarms(&s.sheet, false).is_empty();
        let with_totals = reader.alarms(&s.sheet, true);
        let by_totals = !with_totals.is_empty();
        let mut second = typed(&mut s.dice, &s.night, precision, 2);
        rare(&mut s.dice, &mut second);
        let by_second = differences(&s.sheet, &second).is_none_or(|d| tells(&d, &s, &second, kind));
        out.rows.count(by_rows);
        out.claims.count(by_totals);
        out.second.count(by_rows || by_second);
        out.all.count(by_totals || by_second);
        let named = named(&with_totals, &s.sheet);
        if let Some(first) = named.first() {
            let right = |n: &Named| n.is(&s, kind);
            out.first.count(right(first));
            out.three.count(named.iter().take(3).any(right));
        }
    }
    out
}

/// Says whether a difference of two readings speaks of the row with the slip.
fn tells(differences: &[(String, String)], s: &Slipped, second: &Sheet, kind: Kind) -> bool {
    let text = |row: &crate::reader::Row| format!("{} {}", row.at, row.is);
    let wrong = s.sheet.rows.get(s.row).map(text);
    // What the second reading says of the change that the slip is about.
    let of = match kind {
        Kind::Missing => Some(s.row),
        _ => s.sheet.rows.get(s.row).map(|r| r.of),
    };
    let other = of.and_then(|of| second.rows.iter().find(|r| r.of == of)).map(text);
    differences
        .iter()
        .any(|(first, second)| kind != Kind::Missing && wrong.as_ref() == Some(first) || other.as_ref() == Some(second))
}

/// A row that is named, or a gap between two.
struct Named {
    lines: Vec<u64>,
    missing: bool,
}

impl Named {
    /// Says whether it is where the slip is. A row that was typed twice is named by either of the two.
    fn is(&self, s: &Slipped, kind: Kind) -> bool {
        let line = s.sheet.line(s.row, true);
        match kind {
            Kind::Missing => self.missing && (self.lines.contains(&line) || self.lines.contains(&(line - 1))),
            Kind::Doubled => !self.missing && (self.lines.contains(&line) || self.lines.contains(&(line - 1))),
            _ => !self.missing && self.lines.contains(&line),
        }
    }
}

/// The rows that are named: by the slips that would explain it, else by an error of the reader and the row above in its
/// words, else by a row that repeats the one above.
fn named(told: &[Told], sheet: &Sheet) -> Vec<Named> {
    let row = |line: u64| Named { lines: vec![line], missing: false };
    let line_of = |t: &Told| t.place.as_deref().and_then(|p| lines(p).first().copied());
    if let Some(slip) = told.iter().find(|t| t.code == "slip-likely") {
        let end = sheet.line(sheet.rows.len() - 1, true);
        let parts = slip.message.split('(').filter(|p| !lines(p).is_empty());
        let named = parts.map(|part| Named {
            lines: if part.contains("`end` below") { vec![end] } else { lines(part) },
            missing: part.contains("missing"),
        });
        return named.collect();
    }
    let checks = ["claims-differ", "stage-unchanged", "duplicate-row"];
    // A row whose end is unknown because of the row below says so, and sends the reader there.
    let follows = |t: &&Told| t.message.contains("because the next row has no known time");
    let errors = told.iter().filter(|t| !checks.contains(&t.code.as_str()) && !follows(t)).filter_map(line_of);
    let unchanged = told.iter().filter(|t| t.code == "stage-unchanged").filter_map(line_of);
    match errors.min().or(unchanged.min()) {
        Some(line) => vec![row(line), row(line - 1)],
        None => Vec::new(),
    }
}
