//! Clocks of twelve hours that do not say whether it is before noon or after it.
//!
//! Each face has two readings a day. The readings of a night are tried together, and taken only if exactly one
//! choice fits: every time lies in the night's window, rows stand in the order of time where the definition says
//! so, no row ends after the next begins, and what the source claims of the night (its start, its end, time in bed,
//! total sleep) holds.

use super::blocks::{Meaning, Worker};
use super::compile::Time;
use super::edges::{self, is_there};
use super::moment::Around;
use super::nights::{Home, PartKey};
use super::sink::Collected;
use super::view::View;
use super::wall::Above;
use super::ways::{self, Reading};
use crate::grammar::{Clock, Order, Shape, TimeRead};
use counterpane_model::{Claim, Fold, Instant, Locator, Mark, Quantity, Wall, Zone};
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

/// Choices that are looked at before a night is called undecided.
const MOST: usize = 2_000;

/// Steps that are taken in looking for them.
const STEPS: usize = 5_000_000;

/// How far a claimed time or total may be from what the rows give: another choice is off by hours.
const CLAIM_MS: i64 = 30 * 60_000;

/// The faces of a file, and what was found out about them.
#[derive(Default)]
pub(super) struct Faces {
    /// Rows are only looked at, to learn their faces.
    pub(super) surveying: bool,
    /// Which row is being read: number of the block, and of the row in it. Places do not tell rows apart: elements
    /// of XML may share a line, and values in a cell have the place of the cell.
    pub(super) row: (usize, u64),
    nights: BTreeMap<(usize, PartKey), Night>,
    readings: HashMap<Which, (Locator, Result<Wall, String>)>,
}

/// Which face of which row: its block, its number there, and whether it is the end.
type Which = (usize, u64, bool);

struct Night {
    home: Rc<Home>,
    ordered: bool,
    rows: Vec<Faced>,
}

/// A row with faces.
struct Faced {
    start: Face,
    end: Option<Face>,
    length_ms: Option<i64>,
    mark: Option<Mark>,
}

/// A face and every instant that it may be.
struct Face {
    which: Which,
    locator: Locator,
    may: Vec<(Wall, Instant)>,
}

/// Says whether a block has such clocks.
pub(super) fn has_half(times: &[&Time]) -> bool {
    times.iter().any(|t| t.read.contains(&TimeRead::Clock(Clock::Half)))
}

impl Faces {
    /// Returns the reading of a face of the row that is being read, once it was looked for.
    pub(super) fn reading(&self, end: bool, locator: &Locator) -> Option<&Result<Wall, String>> {
        let (place, reading) = self.readings.get(&(self.row.0, self.row.1, end))?;
        (place == locator).then_some(reading)
    }

    /// Looks for the readings of every night; `claims` are those of the nights that have some.
    pub(super) fn settle(&mut self, claims: &BTreeMap<PartKey, Collected>, step_ms: i64) {
        self.surveying = false;
        for ((_, key), night) in std::mem::take(&mut self.nights) {
            let claims: Vec<&Claim> = claims.get(&key).into_iter().flat_map(|c| &c.claims).map(|c| &c.claim).collect();
            let choice = night.choose(&claims, step_ms);
            let faces = night.rows.iter().flat_map(|r| std::iter::once(&r.start).chain(&r.end));
            for (n, face) in faces.enumerate() {
                let reading = choice.as_ref().map(|walls| walls[n]).map_err(Clone::clone);
                self.readings.insert(face.which, (face.locator.clone(), reading));
            }
        }
    }
}

/// Notes the faces of a row.
pub(super) fn survey(w: &Worker<'_>, view: &View<'_>, named: Option<&Rc<Home>>) {
    let Some(home) = named.or(w.frame.nights.bound()) else { return };
    let Some(start) = w.block.start.as_ref().and_then(|t| face(w, view, t, home, false)) else { return };
    let label = w.block.stage.as_ref().and_then(|s| view.find(s, "stage").ok().flatten());
    let mark = label.and_then(|l| if let Meaning::Stage(word) = w.meaning(&l.text) { word.mark() } else { None });
    let length =
        w.block.length.as_ref().filter(|l| is_there(view, &l.source)).and_then(|_| edges::length(w, view).ok());
    #[expect(clippy::cast_possible_truncation, reason = "a length beyond the range saturates and fits no night")]
    let length_ms = length.map(|s| (s * 1000.0).round() as i64);
    let row = Faced { start, end: w.block.end.as_ref().and_then(|t| face(w, view, t, home, true)), length_ms, mark };
    let ordered = w.block.order == Order::File;
    let mut faces = w.frame.half.borrow_mut();
    let night = faces.nights.entry((w.number, home.key.clone())).or_insert_with(|| Night {
        home: home.clone(),
        ordered,
        rows: Vec::new(),
    });
    night.rows.push(row);
}

fn face(w: &Worker<'_>, view: &View<'_>, time: &Time, home: &Rc<Home>, end: bool) -> Option<Face> {
    let found = view.find(&time.source, "time").ok()??;
    let reading = time.read.iter().find_map(|way| ways::read(&found.text, way, time.trust, w.frame.comma));
    let Some(Reading::Half(face)) = reading else { return None };
    let above = |_: &PartKey| Above::default();
    let around = Around { named: Some(home), ordered: false, end, above: &above };
    let (zone, ..) = w.frame.zone_of_clock(time, home, &found.locator, view, &around).ok()?;
    let row = w.frame.half.borrow().row;
    Some(Face { which: (row.0, row.1, end), locator: found.locator, may: readings(home, &zone, face) })
}

/// Returns every instant of the night at which a clock of twelve hours shows the face, in order.
fn readings(home: &Home, zone: &Zone, face: jiff::civil::Time) -> Vec<(Wall, Instant)> {
    let (from, until) = home.window;
    let (first, last) = (zone.wall_of(from).date(), zone.wall_of(until).date());
    let mut out = Vec::new();
    for day in first.series(jiff::Span::new().days(1)).take_while(|day| *day <= last) {
        for hours in [0, 12] {
            let Ok(wall) = day.to_datetime(face).checked_add(jiff::Span::new().hours(hours)) else { continue };
            for fold in [Fold::First, Fold::Second] {
                let at = zone.instant_of(wall, fold).ok().filter(|at| (from..=until).contains(at));
                out.extend(at.map(|at| (wall, at)));
            }
        }
    }
    out.dedup();
    out.sort_by_key(|(_, at)| *at);
    out.dedup_by_key(|(_, at)| *at);
    out
}

impl Night {
    /// Returns the walls of all faces, row by row, if exactly one choice fits.
    fn choose(&self, claims: &[&Claim], step_ms: i64) -> Result<Vec<Wall>, String> {
        let mut search =
            Search { night: self, step_ms, walls: Vec::new(), edges: Vec::new(), found: Vec::new(), steps: 0 };
        search.from(0);
        let many = search.steps >= STEPS || search.found.len() >= MOST;
        let mut fitting: Vec<Vec<Wall>> = search
            .found
            .into_iter()
            .filter(|(_, edges)| claims.iter().all(|claim| self.holds(claim, edges)))
            .map(|(walls, _)| walls)
            .collect();
        fitting.dedup();
        let first = |walls: &[Wall]| walls.first().map(ToString::to_string).unwrap_or_default();
        match fitting.as_slice() {
            [only] if !many => Ok(only.clone()),
            [] => Err(format!(
                "the clock has twelve hours, and no reading of the night {} fits its window, its order, its lengths and what the source claims",
                self.home.label()
            )),
            several => {
                let mut starts: Vec<String> = several.iter().map(|w| format!("`{}`", first(w))).collect();
                starts.dedup();
                starts.truncate(2);
                let n = if many { format!("more than {}", several.len()) } else { several.len().to_string() };
                let begin = starts.join(" or ");
                Err(format!(
                    "the clock has twelve hours, and {n} readings of the night {} fit, which begin at {begin}",
                    self.home.label(),
                ))
            }
        }
    }

    /// Says whether a claim holds; one that says nothing of the choice always does.
    fn holds(&self, claim: &Claim, edges: &[(Instant, Option<Instant>)]) -> bool {
        let (Some(first), Some(last)) = (edges.first(), edges.last()) else { return true };
        let end = last.1.unwrap_or(last.0);
        #[expect(clippy::cast_possible_truncation, reason = "claims are minutes, or milliseconds of our years")]
        let near = |is: i64, claimed: f64| (is - claimed as i64).abs() <= CLAIM_MS;
        match claim.quantity {
            Quantity::Start => near(first.0.0, claim.value),
            Quantity::End => near(end.0, claim.value),
            Quantity::TimeInBed => near(end.ms_since(first.0), claim.value * 60_000.0),
            Quantity::TotalSleep => near(self.asleep_ms(edges), claim.value * 60_000.0),
            _ => true,
        }
    }

    fn asleep_ms(&self, edges: &[(Instant, Option<Instant>)]) -> i64 {
        let sleeps = |mark: Option<Mark>| matches!(mark, Some(Mark::Stage(s)) if s != counterpane_model::Stage::W);
        let next = |n: usize| edges.get(n + 1).map(|e| e.0);
        let length = |n: usize| edges[n].1.or_else(|| next(n)).map_or(0, |end| end.ms_since(edges[n].0));
        (0..edges.len()).filter(|n| sleeps(self.rows[*n].mark)).map(length).sum()
    }
}

type Choice = (Vec<Wall>, Vec<(Instant, Option<Instant>)>);

/// A search through the choices of a night.
struct Search<'n> {
    night: &'n Night,
    step_ms: i64,
    walls: Vec<Wall>,
    /// Start and, where the rows say it, end of each row so far.
    edges: Vec<(Instant, Option<Instant>)>,
    found: Vec<Choice>,
    steps: usize,
}

impl Search<'_> {
    fn from(&mut self, n: usize) {
        let night = self.night;
        let Some(row) = night.rows.get(n) else {
            return self.found.push((self.walls.clone(), self.edges.clone()));
        };
        let mut tried: Option<Wall> = None;
        for (wall, start) in &row.start.may {
            self.steps += 1;
            if self.found.len() >= MOST || self.steps >= STEPS {
                return;
            }
            // The second time a wall time comes is another choice only where the first is too early.
            if tried == Some(*wall) || !self.follows(*start) {
                continue;
            }
            tried = Some(*wall);
            self.walls.push(*wall);
            self.ends(n, row, *start);
            self.walls.pop();
        }
    }

    fn ends(&mut self, n: usize, row: &Faced, start: Instant) {
        let by_length = row.length_ms.and_then(|ms| start.plus_ms(ms));
        let Some(end) = &row.end else {
            self.edges.push((start, by_length));
            self.from(n + 1);
            self.edges.pop();
            return;
        };
        let fits = |at: &Instant| {
            *at > start && by_length.is_none_or(|end| end.ms_since(*at).abs() <= self.step_ms.max(60_000))
        };
        let ends: Vec<(Wall, Instant)> = end.may.iter().filter(|(_, at)| fits(at)).copied().collect();
        for (wall, at) in ends {
            self.walls.push(wall);
            self.edges.push((start, Some(at)));
            self.from(n + 1);
            self.edges.pop();
            self.walls.pop();
        }
    }

    /// Says whether a row that starts there may follow the rows so far.
    fn follows(&self, start: Instant) -> bool {
        let Some((above, end)) = self.edges.last() else { return true };
        let overlap = end.is_some_and(|end| end.ms_since(start) > self.step_ms);
        !self.night.ordered || (start >= *above && !overlap)
    }
}

/// Says whether a shape has rows whose faces are looked at together.
pub(super) fn is_surveyed(shape: Shape) -> bool {
    matches!(shape, Shape::Interval | Shape::Length | Shape::Change | Shape::Notes | Shape::Codes | Shape::Columns)
}
