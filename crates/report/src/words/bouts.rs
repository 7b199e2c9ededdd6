//! Wakes as events: what the terminal and the page say alike.

use super::{decimal_of_minutes, intervals, listed, minutes, name_on};
use crate::draw::time::offset_text;
use counterpane_compare::{
    Across, BOUT_LONG, Bout, BoutCounts, BoutSeen, DeviceBouts, Figure, Limits, NightBouts, NightComparison,
    OverPeople, SHOW_EACH_BELOW, Verdict,
};
use counterpane_model::Zone;

/// What stands above the numbers.
pub const MEANING: &str = "Each wake between the reference's first and last epoch of sleep counts once, however long it is; one of at least \
    1 min counts among all. It is found where the device calls at least half of it wake; a wake of the device is true where the reference \
    calls at least half of it wake. Read found beside true: a device that says wake all night finds every wake, and few of its own are true. One to one, two \
    wakes are partners where they have at least half of what they cover together in common: one long wake finds one at most.";

/// Why these numbers have no interval within a night.
pub const NO_INTERVAL: &str =
    "A night has a handful of wakes: they are told one by one, and no interval is made within a night.";

/// Returns a part of a whole as both numbers: `7 of 12`; `none` where there is nothing to count.
#[must_use]
pub fn part(of: usize, all: usize) -> String {
    if all == 0 { "none".to_owned() } else { format!("{of} of {all}") }
}

/// Returns how many wakes have a partner, one to one: `one to one: ring-a 3 (of 5 and its own 8)`.
#[must_use]
pub fn one_to_one<'a>(devices: impl Iterator<Item = (String, &'a BoutCounts)>) -> String {
    let said = |(name, counts): (String, &BoutCounts)| {
        let all = counts.one_to_one();
        format!("{name} {} (of {} and its own {})", all.found, all.bouts, all.device)
    };
    format!("one to one: {}", devices.map(said).collect::<Vec<_>>().join(", "))
}

/// Returns the wakes made up in an hour of sleep: `1.9`; `-` without sleep.
#[must_use]
pub fn per_hour(figure: Figure) -> String {
    figure.map_or_else(|_| "-".to_owned(), rate)
}

/// Returns a number of wakes an hour with one decimal.
#[must_use]
pub fn rate(value: f64) -> String {
    format!("{value:.1}")
}

/// Returns the ends of an interval of a number of wakes an hour: `0.1-0.6`.
#[must_use]
pub fn between_rates(limits: Limits) -> String {
    format!("{}-{}", rate(limits.low), rate(limits.high))
}

/// Returns a mean over people in short lines: `mean 45.2 %`, then `32-59 % (8 participants)`; below five of them
/// a line for each person's own mean in place of an interval that would say little.
#[must_use]
pub fn mean(of: &OverPeople, wording: fn(f64) -> String, between: fn(Limits) -> String) -> Vec<String> {
    let Ok(mean) = of.mean else { return Vec::new() };
    let first = format!("mean {}", wording(mean));
    if each_for_itself(of) {
        let each = of.each.iter().map(|person| format!("{} {}", person.code, wording(person.mean)));
        return std::iter::once(first).chain(each).collect();
    }
    vec![first, intervals::interval(&of.interval, between), intervals::over(of)]
}

/// Says whether so few people stand behind a mean that each is shown, in place of an interval that would say little.
#[must_use]
pub fn each_for_itself(of: &OverPeople) -> bool {
    of.across == Across::People && (2..SHOW_EACH_BELOW).contains(&of.n())
}

/// Returns how late the found wakes start on average, and how far off: `+0.4 (0.9)`, in minutes; `-` where none was found.
#[must_use]
pub fn onset(counts: &BoutCounts) -> String {
    match (counts.onset_error(), counts.onset_off()) {
        (Ok(late), Ok(off)) => format!("{:+.1} ({off:.1})", late + 0.0),
        _ => "-".to_owned(),
    }
}

/// Returns the long wakes of a night with what each device made of them, a sentence each; those that are named are at least
/// 5 min long.
#[must_use]
pub fn long_wakes(night: &NightComparison, bouts: &NightBouts, zone: &Zone) -> Vec<String> {
    let long = bouts.bouts.iter().filter(|b| b.at.len() >= BOUT_LONG);
    long.map(|b| sentence(night, bouts, b, zone)).collect()
}

/// Returns when a wake was: `03:12-03:41 (29 min)`.
#[must_use]
pub fn when(bout: &Bout, zone: &Zone) -> String {
    let length = minutes(length(bout.at.len()));
    let (from, until) = (zone.clock_of(bout.start), zone.clock_of(bout.end));
    // The clocks changed meanwhile: without the offsets the end may seem to come before the start.
    match [bout.start, bout.end].map(|at| zone.offset_at(at)) {
        [before, after] if before != after => {
            format!("{from} UTC{} to {until} UTC{} ({length})", offset_text(before), offset_text(after))
        }
        _ => format!("{from}-{until} ({length})"),
    }
}

/// Returns what a device made of a wake, without the device's name: `27 of 29 min, starts 1 min late`.
#[must_use]
pub fn seen(bout: &Bout, seen: &BoutSeen) -> String {
    let awake = format!("{} of {}", decimal_of_minutes(length(seen.awake)), minutes(length(bout.at.len())));
    match (seen.verdict, seen.onset_error) {
        (Verdict::NotJudged, _) => "no stage at its edge or in it".to_owned(),
        (Verdict::Found, Some(late)) => format!("{awake}, {}", starts(late)),
        _ => awake,
    }
}

/// Returns the name of a device of the wakes of a night.
#[must_use]
pub fn device_name(night: &NightComparison, device: &DeviceBouts) -> String {
    let of = night.devices.iter().find(|d| d.key == device.key);
    of.map_or_else(|| device.source.name().to_owned(), |d| name_on(night, d))
}

fn sentence(night: &NightComparison, bouts: &NightBouts, bout: &Bout, zone: &Zone) -> String {
    let with = |verdict: Verdict| {
        let own = bouts.devices.iter().zip(&bout.seen).filter(|(_, s)| s.verdict == verdict);
        own.map(|(device, s)| format!("{} ({})", device_name(night, device), seen(bout, s))).collect::<Vec<_>>()
    };
    let said = [(Verdict::Found, "found by"), (Verdict::Missed, "missed by"), (Verdict::NotJudged, "not judged for")];
    let parts: Vec<String> = said
        .into_iter()
        .map(|(verdict, words)| (words, with(verdict)))
        .filter(|(_, names)| !names.is_empty())
        .map(|(words, names)| format!("{words} {}", listed(&names)))
        .collect();
    format!("awake {}: {}", when(bout, zone), parts.join("; "))
}

fn starts(late: i64) -> String {
    let by = || minutes(length(usize::try_from(late.unsigned_abs()).unwrap_or(usize::MAX)));
    match late {
        0 => "starts with it".to_owned(),
        1.. => format!("starts {} late", by()),
        _ => format!("starts {} early", by()),
    }
}

fn length(epochs: usize) -> f64 {
    epochs as f64 / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::Instant;

    fn bout() -> Bout {
        // 2026-04-04T01:12:00Z, 58 epochs.
        let start = Instant(1_775_265_120_000);
        Bout { at: 100..158, start, end: Instant(start.0 + 58 * 30_000), seen: Vec::new() }
    }

    #[test]
    fn a_wake_is_told_in_local_time() {
        assert_eq!(when(&bout(), &Zone::named("Europe/Berlin").unwrap()), "03:12-03:41 (29 min)");
    }

    #[test]
    fn a_wake_while_clocks_change_has_both_offsets() {
        // 2026-04-04T14:51:00Z: at 15:00Z clocks in Lord Howe go back by half an hour.
        let start = Instant(1_775_314_260_000);
        let bout = Bout { at: 0..34, start, end: Instant(start.0 + 34 * 30_000), seen: Vec::new() };
        let said = when(&bout, &Zone::named("Australia/Lord_Howe").unwrap());
        assert_eq!(said, "01:51 UTC+11:00 to 01:38 UTC+10:30 (17 min)");
    }

    #[test]
    fn what_was_seen_of_a_wake_says_how_much_and_when() {
        let check = |verdict, awake, onset_error, said: &str| {
            assert_eq!(seen(&bout(), &BoutSeen { verdict, awake, onset_error }), said);
        };
        check(Verdict::Found, 54, Some(2), "27 of 29 min, starts 1 min late");
        check(Verdict::Found, 58, Some(-3), "29 of 29 min, starts 1.5 min early");
        check(Verdict::Found, 58, Some(0), "29 of 29 min, starts with it");
        check(Verdict::Missed, 7, Some(4), "3.5 of 29 min");
        check(Verdict::NotJudged, 0, None, "no stage at its edge or in it");
    }

    #[test]
    fn nothing_to_count_is_no_zero() {
        assert_eq!([part(0, 3), part(0, 0)], ["0 of 3", "none"]);
        assert_eq!(onset(&BoutCounts::default()), "-");
        assert_eq!(onset(&BoutCounts { onsets: vec![1.0, -0.5], ..BoutCounts::default() }), "+0.2 (0.8)");
    }
}
