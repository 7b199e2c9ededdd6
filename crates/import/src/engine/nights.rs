//! Which night an instant, a wall time or a label belongs to.

use crate::bindings::Bindings;
use crate::grammar::rows::Means;
use crate::outcome::{ImportError, PartNight};
use counterpane_model::{Fold, Instant, TimeBasis, Wall, Zone};
use jiff::civil::Date;
use std::cell::RefCell;
use std::rc::Rc;

/// What tells one night from another. Evenings are ordered by date.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum PartKey {
    Declared(usize),
    Evening(Date, String),
}

/// A night, declared or not.
#[derive(Debug)]
pub(super) struct Home {
    pub(super) key: PartKey,
    pub(super) zone: Zone,
    pub(super) window: (Instant, Instant),
    pub(super) night: PartNight,
}

impl Home {
    pub(super) fn label(&self) -> &str {
        match &self.night {
            PartNight::Declared(label) => label,
            PartNight::Undeclared { evening, .. } => evening,
        }
    }

    fn holds(&self, at: Instant) -> bool {
        (self.window.0..self.window.1).contains(&at)
    }
}

/// The nights that a file can speak of.
pub(super) struct Nights {
    declared: Vec<Rc<Home>>,
    /// The zone that all declared nights share.
    common: Option<Zone>,
    /// `--zone`.
    given: Option<Zone>,
    /// The zone of nights that nobody has declared.
    study: Option<Zone>,
    /// `--night`.
    bound: Option<Rc<Home>>,
    /// The night found last: rows of one night stand together.
    last: RefCell<Option<Rc<Home>>>,
}

impl Nights {
    pub(super) fn new(bindings: &Bindings) -> Result<Nights, ImportError> {
        let refuse = |why: String| ImportError::Option { option: "--night", why };
        let mine =
            bindings.nights.iter().filter(|n| bindings.participant.is_empty() || n.participant == bindings.participant);
        let mut declared = Vec::new();
        for night in mine {
            let zone = Zone::named(&night.zone).map_err(|e| refuse(format!("night {}: {e}", night.label)))?;
            let key = PartKey::Declared(declared.len());
            declared.push(Rc::new(Home {
                key,
                zone,
                window: night.window,
                night: PartNight::Declared(night.label.clone()),
            }));
        }
        let first = declared.first().map(|h| h.zone.clone());
        let common = first.filter(|zone| declared.iter().all(|h| h.zone == *zone));
        let given = bindings.zone.clone();
        let study = bindings.study_zone.clone();
        let mut nights = Nights { declared, common, given, study, bound: None, last: RefCell::default() };
        nights.bound = bindings.night.as_deref().map(|text| nights.bound_to(text)).transpose().map_err(refuse)?;
        Ok(nights)
    }

    fn bound_to(&self, text: &str) -> Result<Rc<Home>, String> {
        if let Some(home) = self.declared.iter().find(|h| h.label() == text) {
            return Ok(home.clone());
        }
        let date: Date = text.parse().map_err(|_| self.not_declared(text))?;
        self.of_evening(date, None)
            .ok_or_else(|| format!("{}, and no zone is known; give it with `--zone`", self.not_declared(text)))
    }

    fn not_declared(&self, text: &str) -> String {
        let known: Vec<_> = self.declared.iter().map(|h| format!("`{}`", h.label())).take(10).collect();
        match known.len() {
            0 => format!("night `{text}` is not declared: no night is"),
            _ => format!("night `{text}` is not declared; declared are {}", known.join(", ")),
        }
    }

    /// Returns the night of `--night`.
    pub(super) fn bound(&self) -> Option<&Rc<Home>> {
        self.bound.as_ref()
    }

    /// Returns the night that a row names; the error is a sentence.
    pub(super) fn named(
        &self,
        text: &str,
        means: Means,
        pattern: &str,
        zone: Option<&Zone>,
    ) -> Result<Rc<Home>, String> {
        if means == Means::Label {
            return self.declared.iter().find(|h| h.label() == text).cloned().ok_or_else(|| self.not_declared(text));
        }
        let date =
            Date::strptime(pattern, text).map_err(|_| format!("`{text}` is not a date in the form `{pattern}`"))?;
        let evening = match means {
            Means::Morning => date.yesterday().map_err(|_| format!("`{text}` is out of range"))?,
            Means::Evening | Means::Label => date,
        };
        self.of_evening(evening, zone).ok_or_else(|| {
            format!("the night of {evening} is not declared and no zone is known; give it with `--zone`")
        })
    }

    /// Returns the night of an evening: the declared one of that label, or that holds its midnight, or the
    /// undeclared one; `None` when no zone is known.
    fn of_evening(&self, evening: Date, zone: Option<&Zone>) -> Option<Rc<Home>> {
        let text = evening.to_string();
        if let Some(home) = self.declared.iter().find(|h| h.label() == text) {
            return Some(home.clone());
        }
        let midnight = evening.tomorrow().ok()?.at(0, 0, 0, 0);
        let holds = |h: &&Rc<Home>| h.zone.instant_of(midnight, Fold::First).is_ok_and(|at| h.holds(at));
        if let Some(home) = self.declared.iter().find(holds) {
            return Some(home.clone());
        }
        self.undeclared(evening, zone.or(self.given.as_ref()).or(self.common.as_ref()).or(self.study.as_ref())?)
    }

    fn undeclared(&self, evening: Date, zone: &Zone) -> Option<Rc<Home>> {
        let window = (noon(zone, evening)?, noon(zone, evening.tomorrow().ok()?)?);
        let night = PartNight::Undeclared { evening: evening.to_string(), from: window.0, until: window.1 };
        Some(Rc::new(Home {
            key: PartKey::Evening(evening, zone.name().to_owned()),
            zone: zone.clone(),
            window,
            night,
        }))
    }

    /// Returns the night that holds an instant; `None` when no declared one does and no zone is known.
    /// `zone` is the zone that the source names.
    pub(super) fn holding(&self, at: Instant, zone: Option<&Zone>) -> Option<Rc<Home>> {
        let declared = |home: &&Rc<Home>| matches!(home.key, PartKey::Declared(_)) && home.holds(at);
        if let Some(last) = self.last.borrow().as_ref().filter(declared) {
            return Some(last.clone());
        }
        // A declared night comes before any evening, even where the evening around it was asked for.
        let found = self.bound.iter().chain(&self.declared).find(declared).cloned();
        let evening = |home: &&Rc<Home>| home.holds(at) && zone.is_none_or(|z| *z == home.zone);
        let found = found.or_else(|| self.last.borrow().iter().chain(&self.bound).find(evening).cloned());
        let home = match found {
            Some(home) => home,
            None => {
                let zone = zone.or(self.given.as_ref()).or(self.common.as_ref()).or(self.study.as_ref())?;
                let wall = zone.wall_of(at);
                let evening = if wall.hour() < 12 { wall.date().yesterday().ok()? } else { wall.date() };
                self.undeclared(evening, zone)?
            }
        };
        *self.last.borrow_mut() = Some(home.clone());
        Some(home)
    }

    /// Returns the zone of a wall time that belongs to `home` or to whichever night holds it; `None` when
    /// none does.
    pub(super) fn zone_at(&self, wall: Wall, home: Option<&Rc<Home>>) -> Option<(Zone, TimeBasis)> {
        if let Some(given) = &self.given {
            return Some((given.clone(), TimeBasis::ZoneGiven));
        }
        let of_night = |zone: &Zone| Some((zone.clone(), TimeBasis::ZoneOfNight));
        if let Some(home) = home {
            return of_night(&home.zone);
        }
        if let Some(common) = &self.common {
            return of_night(common);
        }
        let holds = |h: &&Rc<Home>| h.zone.instant_of(wall, Fold::First).is_ok_and(|at| h.holds(at));
        let found = self.bound.iter().filter(holds).chain(self.declared.iter().filter(holds)).next();
        found.map(|h| &h.zone).or(self.study.as_ref()).and_then(of_night)
    }

    /// Returns the zone of `--zone`.
    pub(super) fn given(&self) -> Option<&Zone> {
        self.given.as_ref()
    }
}

/// Returns noon of a day, or the first quarter of an hour after it that exists.
fn noon(zone: &Zone, day: Date) -> Option<Instant> {
    let noon = day.at(12, 0, 0, 0);
    (0..96).find_map(|n| zone.instant_of(noon.checked_add(jiff::Span::new().minutes(15 * n)).ok()?, Fold::First).ok())
}
