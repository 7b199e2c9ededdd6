//! From a value of the definition to an instant.

use super::bounds::Bounds;
use super::compile::{Source, Time, ZoneSource};
use super::faults::Fault;
use super::half::Faces;
use super::nights::{Home, Nights, PartKey};
use super::view::{Found, Known, View};
use super::wall::{Above, Settled, fault, of_clock, of_wall};
use super::ways::{self, Reading};
use crate::grammar::TimeRead;
use crate::grammar::claims::Unit;
use crate::grammar::origin::Bound;
use crate::kinds;
use counterpane_model::zone::UnknownZone;
use counterpane_model::{Fold, Instant, Locator, TimeBasis, Wall, Zone};
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

/// A time that was read.
#[derive(Clone, Debug)]
pub(super) struct Moment {
    pub(super) at: Instant,
    /// The anchor and the exact seconds from there, so that boundaries are rounded once.
    pub(super) elapsed: Option<(Instant, f64)>,
    pub(super) basis: TimeBasis,
    /// The zone that the source or the definition names.
    pub(super) zone: Option<Zone>,
    /// The offset that the source gives, in seconds.
    pub(super) offset: Option<i32>,
    /// What was chosen where the wall time happened twice, as a sentence.
    pub(super) chosen: Option<String>,
    pub(super) locator: Locator,
}

impl Moment {
    /// Returns the instant `seconds` later, rounded once.
    pub(super) fn plus_seconds(&self, seconds: f64) -> Option<Instant> {
        let (anchor, elapsed) = self.elapsed.unwrap_or((self.at, 0.0));
        Instant::after_seconds(anchor, elapsed + seconds)
    }
}

/// What is known about the whole file.
pub(super) struct Frame<'a> {
    pub(super) nights: &'a Nights,
    pub(super) bounds: &'a Bounds,
    pub(super) file_start: Cell<Option<Wall>>,
    /// The zone that a row named last: rows of one night name the same one.
    pub(super) zone_named: RefCell<Option<Zone>>,
    /// Numbers have a decimal comma.
    pub(super) comma: bool,
    /// The source's words for units.
    pub(super) units: &'a BTreeMap<String, Unit>,
    /// What stands outside the rows.
    pub(super) known: &'a Known,
    /// Which readings of 12-hour clocks fit.
    pub(super) half: &'a RefCell<Faces>,
}

/// What is known about a row before its times are read.
pub(super) struct Around<'a> {
    /// The night that the row names.
    pub(super) named: Option<&'a Rc<Home>>,
    /// Rows stand in the order of time.
    pub(super) ordered: bool,
    /// The time ends its row.
    pub(super) end: bool,
    /// What the rows above say, for each night.
    pub(super) above: &'a dyn Fn(&PartKey) -> Above,
}

impl Frame<'_> {
    /// Reads a time of a row.
    pub(super) fn moment(&self, time: &Time, view: &View<'_>, around: &Around<'_>) -> Result<Moment, Fault> {
        match &time.source {
            Source::Bound(bound) => self.of_bound(*bound, view),
            Source::FileStart => self.of_file_start(time, view, around),
            source => {
                let found = view.need(source, "time")?;
                self.of_text(time, &found.text, found.locator, view, around)
            }
        }
    }

    fn of_bound(&self, bound: Bound, view: &View<'_>) -> Result<Moment, Fault> {
        let at = match bound {
            Bound::Start => self.bounds.start,
            Bound::End => self.bounds.end,
            Bound::Night => None,
        };
        let at = at.ok_or_else(|| view.lacks(&format!("time: `{}` was not given", bound.option())))?;
        // The anchor was typed by the reviewer; what follows from it is elapsed time.
        Ok(Moment {
            at,
            elapsed: None,
            basis: TimeBasis::ElapsedFromAnchor,
            zone: None,
            offset: None,
            chosen: None,
            locator: view.place(),
        })
    }

    fn of_file_start(&self, time: &Time, view: &View<'_>, around: &Around<'_>) -> Result<Moment, Fault> {
        let lacks = || Fault::new(&kinds::time_unreadable::KIND, "the file's header gives no start", view.place());
        self.of_wall(time, self.file_start.get().ok_or_else(lacks)?, view.place(), view, around)
    }

    fn of_text(
        &self,
        time: &Time,
        text: &str,
        locator: Locator,
        view: &View<'_>,
        around: &Around<'_>,
    ) -> Result<Moment, Fault> {
        let reading = time.read.iter().find_map(|way| ways::read(text, way, time.trust, self.comma));
        match reading {
            None => Err(unreadable(time, text, locator)),
            Some(Reading::Wall(wall)) if !(1900..2200).contains(&wall.year()) => {
                Err(other_calendar(text, wall.year(), locator.clone())
                    .unwrap_or_else(|| unreadable(time, text, locator)))
            }
            Some(Reading::Count(count, back)) => {
                let ms = self.unit_ms(time, view)?;
                let seconds = count * ms / 1000.0 * if back { -1.0 } else { 1.0 };
                self.elapsed(time, text, seconds, locator, view, around)
            }
            Some(Reading::Half(face)) => self.of_half(time, face, locator, view, around),
            Some(Reading::Instant(at, offset)) => Ok(Moment {
                at,
                elapsed: None,
                basis: TimeBasis::OffsetInSource,
                zone: None,
                offset,
                chosen: None,
                locator,
            }),
            Some(Reading::Elapsed(seconds)) => self.elapsed(time, text, seconds, locator, view, around),
            Some(Reading::Wall(wall)) => self.of_wall(time, wall, locator, view, around),
            Some(Reading::Clock(clock)) => self.of_clock(time, clock, locator, view, around),
        }
    }

    fn elapsed(
        &self,
        time: &Time,
        text: &str,
        seconds: f64,
        locator: Locator,
        view: &View<'_>,
        around: &Around<'_>,
    ) -> Result<Moment, Fault> {
        let from = time.from.as_deref().ok_or_else(|| unreadable(time, text, locator.clone()))?;
        let anchor = self.moment(from, view, around)?;
        let at = anchor.plus_seconds(seconds).ok_or_else(|| unreadable(time, text, locator.clone()))?;
        Ok(Moment { at, elapsed: Some((anchor.at, seconds)), basis: TimeBasis::ElapsedFromAnchor, locator, ..anchor })
    }

    fn of_wall(
        &self,
        time: &Time,
        wall: Wall,
        locator: Locator,
        view: &View<'_>,
        around: &Around<'_>,
    ) -> Result<Moment, Fault> {
        let (zone, basis, own) = self.zone(time, Some(wall), &locator, view, around)?;
        // Which night it is about, so that the rows above are those of the same night.
        let about = zone.instant_of(wall, Fold::First).ok();
        let home = about.and_then(|at| around.named.cloned().or_else(|| self.nights.holding(at, Some(&zone))));
        let above = home.map(|h| (around.above)(&h.key)).unwrap_or_default();
        let settled = of_wall(&zone, wall, time.fold, above).map_err(|e| fault(&e, locator.clone(), &zone))?;
        Ok(moment(settled, zone, basis, own, locator))
    }

    /// Returns the milliseconds of the unit that the source names for a count.
    fn unit_ms(&self, time: &Time, view: &View<'_>) -> Result<f64, Fault> {
        let Some(source) = &time.unit else { return Err(view.lacks("unit")) };
        let (unit, found) = self.unit(source, view)?;
        let ms = if let Unit::Time(read) = unit { read.ms() } else { None };
        ms.ok_or_else(|| not_time(&found))
    }

    /// Returns the unit that the source names.
    pub(super) fn unit<'r>(&self, source: &Source, view: &View<'r>) -> Result<(Unit, Found<'r>), Fault> {
        let found = view.need(source, "unit")?;
        match self.units.get(found.text.as_ref()) {
            Some(unit) => Ok((*unit, found)),
            None => {
                let message = format!("the unit `{}` is mapped to nothing", found.text);
                let help = "add the word to `[units]` of the definition, if it is a unit of this value";
                Err(Fault::new(&kinds::value_unreadable::KIND, message, found.locator).help(help))
            }
        }
    }

    /// Returns the instant of a face of a 12-hour clock: of its two readings the one that the whole night leaves.
    fn of_half(
        &self,
        time: &Time,
        face: jiff::civil::Time,
        locator: Locator,
        view: &View<'_>,
        around: &Around<'_>,
    ) -> Result<Moment, Fault> {
        let settled = self.half.borrow().reading(around.end, &locator).cloned();
        match settled {
            Some(Ok(wall)) => self.of_wall(time, wall, locator, view, around),
            Some(Err(why)) => Err(Fault::new(&kinds::time_unreadable::KIND, why, locator).help(HALF)),
            None => {
                let message = format!("`{face}` may be before noon or after it, and nothing says which");
                Err(Fault::new(&kinds::time_unreadable::KIND, message, locator).help(HALF))
            }
        }
    }

    fn of_clock(
        &self,
        time: &Time,
        clock: jiff::civil::Time,
        locator: Locator,
        view: &View<'_>,
        around: &Around<'_>,
    ) -> Result<Moment, Fault> {
        let home = around.named.or(self.nights.bound()).ok_or_else(|| {
            let message = format!("`{clock}` has no date, and no night says which day it is");
            Fault::new(&kinds::time_unreadable::KIND, message, locator.clone()).help("give the night with `--night`")
        })?;
        let (zone, basis, own) = self.zone_of_clock(time, home, &locator, view, around)?;
        let above = (around.above)(&home.key);
        let settled = of_clock(home, &zone, clock, time.fold, above, around.ordered, &locator)?;
        Ok(moment(settled, zone, basis, own, locator))
    }

    /// Returns the zone of a time of day in a night.
    pub(super) fn zone_of_clock(
        &self,
        time: &Time,
        home: &Rc<Home>,
        locator: &Locator,
        view: &View<'_>,
        around: &Around<'_>,
    ) -> Result<(Zone, TimeBasis, bool), Fault> {
        match time.zone {
            Some(ZoneSource::Night) if self.nights.given().is_none() => {
                Ok((home.zone.clone(), TimeBasis::ZoneOfNight, false))
            }
            _ => self.zone(time, None, locator, view, around),
        }
    }

    fn named(&self, name: &str) -> Result<Zone, UnknownZone> {
        if let Some(zone) = self.zone_named.borrow().as_ref().filter(|z| z.name() == name) {
            return Ok(zone.clone());
        }
        let zone = Zone::named(name)?;
        *self.zone_named.borrow_mut() = Some(zone.clone());
        Ok(zone)
    }

    /// Returns the zone of a wall time, how it was known, and whether the source itself names it.
    fn zone(
        &self,
        time: &Time,
        wall: Option<Wall>,
        locator: &Locator,
        view: &View<'_>,
        around: &Around<'_>,
    ) -> Result<(Zone, TimeBasis, bool), Fault> {
        let none = |message: String| Fault::new(&kinds::no_zone::KIND, message, locator.clone());
        match &time.zone {
            Some(ZoneSource::Named(zone)) => Ok((zone.clone(), TimeBasis::ZoneGiven, false)),
            Some(ZoneSource::Field(source)) => {
                let found =
                    view.find(source, "the zone")?.ok_or_else(|| none("the row does not name its zone".into()))?;
                let own = "the source names its zone by another name; map it to an IANA zone in a copy of the definition, with `zone = { const = \"...\" }`";
                let zone = self.named(&found.text).map_err(|e| none(e.to_string()).help(own))?;
                Ok((zone, TimeBasis::ZoneInSource, true))
            }
            Some(ZoneSource::Night) | None => {
                let wall = wall.unwrap_or_default();
                let home = around.named.or(self.nights.bound().filter(|_| wall == Wall::default()));
                let found = self.nights.zone_at(wall, home).map(|(zone, basis)| (zone, basis, false));
                found.ok_or_else(|| none(format!("`{wall}` has no zone: no night is declared at that time")))
            }
        }
    }
}

fn moment(settled: Settled, zone: Zone, basis: TimeBasis, own: bool, locator: Locator) -> Moment {
    let chosen = settled
        .chosen
        .then(|| format!("a wall time happened twice in {}, and the definition settles which one it is", zone.name()));
    let kept = (own || basis == TimeBasis::ZoneGiven).then_some(zone);
    Moment { at: settled.at, elapsed: None, basis, zone: kept, offset: None, chosen, locator }
}

/// What helps where a clock of twelve hours is not decided.
const HALF: &str =
    "narrow the window of the night in `study.toml`, so that one reading is left, or write the times with AM and PM";

/// Returns the fault of a text that fits none of the ways to read it.
fn unreadable(time: &Time, text: &str, locator: Locator) -> Fault {
    let ways: Vec<String> = time
        .read
        .iter()
        .map(|way| match way {
            TimeRead::Pattern { text, .. } => format!("`{text}`"),
            named => {
                let word = TimeRead::NAMED.iter().find(|(_, w)| w == named).map_or("", |(word, _)| word);
                format!("`{word}`")
            }
        })
        .collect();
    // A year of another calendar may be what keeps an offset from being applied.
    let untrusted = time.read.iter().find_map(|way| match ways::read(text, way, false, false) {
        Some(Reading::Wall(wall)) => other_calendar(text, wall.year(), locator.clone()),
        _ => None,
    });
    if let Some(fault) = untrusted.or_else(|| era_of_japan(text, &locator)) {
        return fault;
    }
    let message = format!("`{text}` is not a time in the form {}", ways.join(" or "));
    let fault = Fault::new(&kinds::time_unreadable::KIND, message, locator);
    match time.read.iter().any(|way| matches!(way, TimeRead::Epoch(_))) && ways::number(text, false).is_some() {
        true => fault.help("numbers since 1970 have one unit in a column: by its size this one has another, and would lie before 1973 or after 2199"),
        false => fault,
    }
}

/// What helps where years are counted otherwise.
const GREGORIAN: &str = "export the file again with the Gregorian calendar: years are never converted here";

/// Returns the fault of a year that is not of the Gregorian calendar, if it looks like one.
///
/// The Buddhist calendar counts 543 years more, the Persian one 621 or 622 less. The Islamic one has years of the
/// moon, 0.970224 of a year of the sun, and began in July 622 (common knowledge, no source): its 1447 began in
/// June 2025. The Persian calendar is at 1405 in 2026, so that later years are more likely Islamic.
fn other_calendar(text: &str, year: i16, locator: Locator) -> Option<Fault> {
    let islamic = (621.57 + 0.970_224 * f64::from(year)).floor();
    let meant = match year {
        2443..=2743 => format!("{} in the Buddhist calendar", year - 543),
        1278..=1420 => format!("{} in the Persian calendar, or a year of the Islamic one", year + 621),
        1421..=1579 => format!("{islamic} or {} in the Islamic calendar, or a year of the Persian one", islamic + 1.0),
        _ => return None,
    };
    let message = format!("`{text}` has the year {year}, which is {meant}");
    Some(Fault::new(&kinds::time_unreadable::KIND, message, locator).help(GREGORIAN))
}

/// Returns the fault of a date that counts the years of an era of Japan, such as `令和8年4月4日` or `R8/04/04`.
fn era_of_japan(text: &str, locator: &Locator) -> Option<Fault> {
    let named = ["令和", "平成", "昭和"].iter().any(|era| text.contains(era));
    let mut letters = text.trim().chars();
    let short = matches!(letters.next(), Some('R' | 'H' | 'S'))
        && letters.next().is_some_and(|c| c.is_ascii_digit())
        && text.contains(['.', '/', '-', '年']);
    let message = format!("`{text}` counts the years of an era of Japan (R is Reiwa, H Heisei, S Showa)");
    (named || short).then(|| Fault::new(&kinds::time_unreadable::KIND, message, locator.clone()).help(GREGORIAN))
}

/// Returns the fault of a unit that is not one of time.
pub(super) fn not_time(found: &Found<'_>) -> Fault {
    let message = format!("the unit `{}` is not one of time", found.text);
    Fault::new(&kinds::value_unreadable::KIND, message, found.locator.clone())
}
