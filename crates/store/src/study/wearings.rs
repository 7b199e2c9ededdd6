//! The wearings of `study.toml` as rows, each with the one that came before it.

use crate::{Config, StoreError};
use counterpane_model::Night;
use rusqlite::Transaction;
use std::collections::HashMap;

/// A unit on a night, as the names in `study.toml`: unit, participant, night.
type Worn<'a> = (&'a str, &'a str, &'a str);

/// Stores every wearing. The one before it is the last one in time whose versions are known: of the same unit, or where
/// it has none yet, of the same device, so that a second piece with other firmware is told too.
pub(super) fn put_wearings(tx: &Transaction<'_>, config: &Config, nights: &[Night]) -> Result<(), StoreError> {
    let starts: HashMap<(&str, &str), i64> =
        nights.iter().map(|n| ((n.participant.as_str(), n.label.as_str()), n.window.0.0)).collect();
    let mut wearings: Vec<_> = config.wearings.iter().collect();
    wearings.sort_by_key(|w| {
        let night = (w.participant.get_ref().as_str(), w.night.get_ref().as_str());
        (starts.get(&night).copied(), w.unit.get_ref().as_str())
    });
    let mut of_unit: HashMap<&str, Worn<'_>> = HashMap::new();
    let mut of_device: HashMap<&str, Worn<'_>> = HashMap::new();
    let mut insert = tx.prepare(
        "INSERT INTO wearing (unit, night_id, site, side, firmware, app, before_unit, before_night_id)
         VALUES (?1, (SELECT id FROM night WHERE participant = ?2 AND label = ?3), ?4, ?5, ?6, ?7, ?8,
           (SELECT id FROM night WHERE participant = ?9 AND label = ?10))",
    )?;
    for w in wearings {
        let worn: Worn<'_> = (w.unit.get_ref(), w.participant.get_ref(), w.night.get_ref());
        let device = config.unit(worn.0).map_or("", |u| u.device.get_ref().as_str());
        let known = w.firmware.is_some() || w.app.is_some();
        let before = of_unit.get(worn.0).or_else(|| of_device.get(device)).filter(|_| known).copied();
        insert.execute(rusqlite::params![
            worn.0,
            worn.1,
            worn.2,
            w.site,
            w.side,
            w.firmware,
            w.app,
            before.map(|b| b.0),
            before.map(|b| b.1),
            before.map(|b| b.2),
        ])?;
        if known {
            of_unit.insert(worn.0, worn);
            of_device.insert(device, worn);
        }
    }
    Ok(())
}
