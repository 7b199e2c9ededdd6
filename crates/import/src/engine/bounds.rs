//! Times of the command line.

use super::nights::Nights;
use crate::bindings::Bindings;
use crate::outcome::ImportError;
use counterpane_model::{Instant, typed};

/// The times of the command line, where they were given.
pub(super) struct Bounds {
    pub(super) start: Option<Instant>,
    pub(super) end: Option<Instant>,
    pub(super) lights_off: Option<Instant>,
    pub(super) lights_on: Option<Instant>,
}

impl Bounds {
    pub(super) fn new(bindings: &Bindings, nights: &Nights) -> Result<Bounds, ImportError> {
        let read = |option, text: &Option<String>| text.as_deref().map(|t| instant(option, t, nights)).transpose();
        Ok(Bounds {
            start: read("--start", &bindings.start)?,
            end: read("--end", &bindings.end)?,
            lights_off: read("--lights-off", &bindings.lights_off)?,
            lights_on: read("--lights-on", &bindings.lights_on)?,
        })
    }
}

fn instant(option: &'static str, text: &str, nights: &Nights) -> Result<Instant, ImportError> {
    let home = nights.bound();
    let zone = match (typed::typed_wall(text), nights.given(), home) {
        (_, Some(zone), _) => Some(zone.clone()),
        (None, None, Some(home)) => Some(home.zone.clone()),
        (None, None, None) => None,
        (Some(wall), None, home) => nights.zone_at(wall, home).map(|(zone, _)| zone),
    };
    typed::typed_instant(text, zone.as_ref(), home.map(|h| h.window))
        .map_err(|e| ImportError::Option { option, why: e.to_string() })
}
