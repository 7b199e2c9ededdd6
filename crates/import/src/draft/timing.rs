//! A time written down: how it is read, its offset, its zone, its anchor, its night.

use super::columns::TimeColumn;
use super::fit::midnights;
use super::look::{Line, Look};
use super::plan::{Block, Pick, Time};
use super::times::{HALF, Reading, Says};
use super::wording::rows;
use super::write::quoted;
use super::{elapsed, nights, zones};

/// Writes a time down: how it is read, its offset, its zone, its anchor, its night.
pub(super) fn time(
    look: &Look<'_>,
    column: &TimeColumn,
    lines: &[Line],
    what: &str,
    totals: &[Option<f64>],
    block: &mut Block,
) -> Time {
    let first = &lines[0].reading;
    let why = format!("{what}; {} of {} read so", first.count, rows(first.present));
    let zone = zones::zone(look.table, look.columns, look.options.zone_of_night);
    let mut time =
        Time { origin: column.origin(look.table), why, read: None, offset: None, zone: None, fold: None, from: None };
    let value = |r: &Reading| match r.read.as_slice() {
        [one] => quoted(one),
        several => format!("[{}]", several.iter().map(|p| quoted(p)).collect::<Vec<_>>().join(", ")),
    };
    block.rank.time = block.rank.time.max(match first.says {
        Says::Offset { zulu: false } | Says::Epoch => 4,
        Says::Elapsed => 3,
        Says::Offset { .. } | Says::Wall => 2,
        Says::Clock | Says::Date => 1,
    });
    if first.says == Says::Elapsed {
        elapsed::anchor(look, column, lines, totals, &mut time, block);
        return time;
    }
    time.read = Some(match lines {
        [one] => Pick::one(value(&one.reading), reason(look, column, &one.reading)),
        several => {
            let options = several
                .iter()
                .map(|l| {
                    (value(&l.reading), if l.reading.says == Says::Clock { String::new() } else { days(&l.seconds) })
                })
                .collect();
            let names = several.iter().map(|l| l.reading.read[0].as_str()).collect::<Vec<_>>();
            let half = names.contains(&HALF);
            let serial = names.iter().any(|n| n.starts_with("serial"));
            let why = match (serial, half) {
                (true, _) => "a spreadsheet counts days in one of two systems, and the file does not say which",
                (_, true) => "all hours lie between one and twelve, so this may be a clock that does not say AM or PM",
                _ => "every row reads in each of these ways, and no midnight tells them apart",
            };
            Pick::open(options, why)
        }
    });
    time.offset = zones::offset(look.columns, column, first, &zone);
    match first.says {
        Says::Wall => time.zone = Some(zone),
        // The end of a row whose start has a date is the first such time behind it.
        Says::Clock if block.start.as_ref().is_some_and(|s| s.fold.is_none()) => time.zone = Some(zone),
        Says::Clock => {
            time.zone = Some(zone);
            time.fold = Some(Pick::one(quoted("order"), ""));
            nights::of_clock(look, block);
        }
        _ => {}
    }
    time
}

/// Says why a way to read was taken before others.
fn reason(look: &Look<'_>, column: &TimeColumn, reading: &Reading) -> String {
    let tried = column.readings.iter().filter(|r| r.says == reading.says).count();
    match reading.says {
        Says::Epoch => format!("a number since 1970; {}", days(&reading.seconds)),
        Says::Wall if tried > 1 => {
            let n = midnights(&look.table.groups, &reading.seconds);
            format!(
                "other ways read every row too, but part neighbours around midnight ({n}) by weeks; {}",
                days(&reading.seconds)
            )
        }
        Says::Wall | Says::Offset { .. } => days(&reading.seconds),
        _ => String::new(),
    }
}

/// Returns the first and the last day, in words.
fn days(seconds: &[Option<f64>]) -> String {
    let day = |s: f64| {
        #[expect(clippy::cast_possible_truncation, reason = "times of this century")]
        let days = jiff::Span::new().try_days((s / 86_400.0).floor() as i64);
        days.ok()
            .and_then(|d| jiff::civil::date(1970, 1, 1).checked_add(d).ok())
            .map(|d| d.to_string())
            .unwrap_or_default()
    };
    let first = seconds.iter().flatten().copied().fold(f64::INFINITY, f64::min);
    let last = seconds.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
    format!("from {} to {}", day(first), day(last))
}
