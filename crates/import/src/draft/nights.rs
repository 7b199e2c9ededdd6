//! Times of day: past midnight in the order of rows, and the night that a date names.

use super::look::Look;
use super::plan::{Block, Night, Pick};
use super::tables::Table;
use super::times::Reading;
use super::write::quoted;

/// Returns times of day on a line that goes on past midnight; `None` when rows go back twice, because then they
/// speak of several nights.
///
/// `day` is how long it takes until the clock shows the same again.
pub(super) fn unwrapped(groups: &[usize], seconds: &[Option<f64>], day: f64) -> Option<Vec<Option<f64>>> {
    let mut out = Vec::with_capacity(seconds.len());
    let mut last: std::collections::BTreeMap<usize, (f64, f64)> = std::collections::BTreeMap::new();
    for (group, time) in groups.iter().zip(seconds) {
        let Some(time) = time else {
            out.push(None);
            continue;
        };
        let (days, before) = last.get(group).copied().unwrap_or((0.0, f64::NEG_INFINITY));
        let days = if days + time < before { days + day } else { days };
        if days > 86_400.0 {
            return None;
        }
        last.insert(*group, (days, days + time));
        out.push(Some(days + time));
    }
    Some(out)
}

/// Says whether a date beside a time of day is that of the night, not of the day: every date then has evenings
/// and mornings, while days have only one of both at the ends of a sample.
pub(super) fn names_a_night(dates: &Reading, clocks: &Reading) -> bool {
    let mut halves: std::collections::BTreeMap<u64, (bool, bool)> = std::collections::BTreeMap::new();
    for (date, clock) in dates.seconds.iter().zip(&clocks.seconds).filter_map(|(d, c)| Some(((*d)?, (*c)?))) {
        let half = halves.entry(date.to_bits()).or_default();
        if clock < 43_200.0 { half.1 = true } else { half.0 = true }
    }
    !halves.is_empty() && halves.values().all(|(evening, morning)| *evening && *morning)
}

/// Splits groups by the date that names the night.
pub(super) fn groups_by_night(table: &Table, dates: Option<&Reading>) -> Vec<usize> {
    let Some(dates) = dates else { return table.groups.clone() };
    let mut keys: Vec<(usize, u64)> = Vec::new();
    let key = |(group, date): (&usize, &Option<f64>)| {
        let key = (*group, date.unwrap_or(-1.0).to_bits());
        keys.iter().position(|k| *k == key).unwrap_or_else(|| {
            keys.push(key);
            keys.len() - 1
        })
    };
    table.groups.iter().zip(&dates.seconds).map(key).collect()
}

/// Writes down what times of day need: the order of rows, and a night.
pub(super) fn of_clock(look: &Look<'_>, block: &mut Block) {
    block.order = Some("times of day: the order of rows settles midnight, and they go past it once a night".into());
    if block.night.is_none() {
        block.night = night(look);
    }
    if block.night.is_none() && !block.needs.contains(&"--night") {
        block.needs.push("--night");
    }
}

/// Returns the night that a date of the row names.
pub(super) fn night(look: &Look<'_>) -> Option<Night> {
    let n = look.columns.night?;
    let field = &look.table.fields[n];
    let readings: Vec<&Reading> = look.columns.dates.iter().filter(|(at, _)| *at == n).map(|(_, r)| r).collect();
    let first = readings.first()?;
    let lower = field.path.to_lowercase();
    let (evening, morning) = (quoted("evening"), quoted("morning"));
    let means = match (lower.contains("evening"), ["morning", "wake"].iter().any(|w| lower.contains(w))) {
        (true, false) => Pick::one(evening, format!("the name {} says so", field.name())),
        (false, true) => Pick::one(morning, format!("the name {} says so", field.name())),
        _ => Pick::open(
            vec![(evening, "the date on which the night begins".into()), (morning, "the date on which it ends".into())],
            "nothing in the sample says which of its two dates a night is named by",
        ),
    };
    let read = match readings.as_slice() {
        [one] if one.read[0] == "%Y-%m-%d" => None,
        [one] => Some(Pick::one(quoted(&one.read[0]), "")),
        several => {
            let options = several.iter().map(|r| (quoted(&r.read[0]), String::new())).collect();
            Some(Pick::open(options, "day first or month first: every date reads both ways"))
        }
    };
    let why = format!("the night that the row is about; {} of {} dates read so", first.count, first.present);
    Some(Night { origin: field.origin(), why, means, read })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(hours: &[f64]) -> Option<Vec<f64>> {
        let seconds: Vec<Option<f64>> = hours.iter().map(|h| Some(h * 3600.0)).collect();
        let found = unwrapped(&vec![0; hours.len()], &seconds, 86_400.0)?;
        Some(found.into_iter().flatten().map(|s| s / 3600.0).collect())
    }

    #[test]
    fn rows_go_past_midnight_once() {
        assert_eq!(check(&[22.0, 23.5, 1.0, 6.0]), Some(vec![22.0, 23.5, 25.0, 30.0]));
        assert_eq!(check(&[22.0, 1.0, 22.0, 1.0]), None);
    }
}
