//! Offsets and zones of a drafted time: never a default, a rival where the sample is silent.

use super::columns::{Columns, TimeColumn};
use super::plan::{OPEN, Pick, Zone};
use super::tables::Table;
use super::times::{Reading, Says};
use super::write::quoted;

/// Returns whether the offset in a text is to be trusted, or `None` where there is none.
pub(super) fn offset(columns: &Columns, column: &TimeColumn, reading: &Reading, zone: &Zone) -> Option<Pick> {
    let Says::Offset { zulu } = reading.says else { return None };
    let trust = quoted("trust");
    if !zulu {
        return Some(Pick::one(trust, "offsets other than zero stand in the texts: they were set for a place"));
    }
    if confirmed(columns, column, reading) {
        let why = "a number of the same row, counted from 1970, says the same instants";
        return Some(Pick::one(trust, why));
    }
    let hours = hours(reading);
    let zone = zone.pick.options.first().map_or(OPEN, |(value, _)| value);
    let options = vec![
        (trust, format!("the times are UTC; they run {hours} UTC")),
        (
            quoted("ignore"),
            format!("a `Z` stands on local times; they run {hours} local time; then also: zone = {zone}"),
        ),
    ];
    Some(Pick::open(
        options,
        "every offset is zero: these may be times in UTC, or local times with a `Z` that means nothing",
    ))
}

/// Says whether another column of the row counts the same instants from 1970.
fn confirmed(columns: &Columns, column: &TimeColumn, reading: &Reading) -> bool {
    let others = columns.times.iter().filter(|t| t.fields != column.fields).flat_map(|t| &t.readings);
    let same = |r: &Reading| {
        let pairs: Vec<(f64, f64)> =
            r.seconds.iter().zip(&reading.seconds).filter_map(|(a, b)| Some(((*a)?, (*b)?))).collect();
        !pairs.is_empty() && pairs.iter().all(|(a, b)| (a - b).abs() < 1.0)
    };
    others.filter(|r| r.says == Says::Epoch).any(same)
}

/// Returns the hours of the day from the first to the last time, in words.
fn hours(reading: &Reading) -> String {
    let seconds: Vec<f64> = reading.seconds.iter().flatten().copied().collect();
    let clock = |s: f64| {
        let minutes = (s.rem_euclid(86_400.0) / 60.0).floor();
        format!("{:02.0}:{:02.0}", (minutes / 60.0).floor(), minutes % 60.0)
    };
    let first = seconds.iter().copied().fold(f64::INFINITY, f64::min);
    let last = seconds.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    format!("from {} to {}", clock(first), clock(last))
}

/// Returns where the zone of a wall time comes from.
pub(super) fn zone(table: &Table, columns: &Columns, of_night: bool) -> Zone {
    let mut named: Vec<usize> = columns.zones.clone();
    named.sort_by_key(|n| table.fields[*n].up);
    if let Some(nearest) = named.first().map(|n| &table.fields[*n]) {
        let up = nearest.up;
        let path = quoted(&nearest.path);
        let value = if let Some(via) = &nearest.via {
            format!("{{ {} }}", via.keys().join(", "))
        } else if up == 0 {
            format!("{{ at = {path} }}")
        } else {
            format!("{{ at = {path}, up = {up} }}")
        };
        let names: std::collections::BTreeSet<&str> = nearest.cells.iter().filter_map(|c| c.text()).collect();
        let names = names.into_iter().take(3).map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
        let up = if nearest.via.is_some() { 0 } else { up };
        return Zone { pick: Pick::one(value, format!("the source names its zone: {names}")), up };
    }
    let night = quoted("night");
    if of_night {
        return Zone {
            pick: Pick::one(night, "wall time without a zone; --zone-of-night said that it is the night's"),
            up: 0,
        };
    }
    let options = vec![
        (night, "the zone of the night, as study.toml declares it".into()),
        ("{ const = \"Region/City\" }".into(), "always this one; put its IANA name in".into()),
    ];
    Zone { pick: Pick::open(options, "wall time, and nothing in the sample says of which zone"), up: 0 }
}
