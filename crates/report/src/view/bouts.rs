//! Wakes as events: how many each device found and made up, and what it made of each long one.

use super::table::{Cell, Row, Table};
use crate::words::intervals::between_shares;
use crate::words::{self, bouts as said, fine_share};
use counterpane_compare::{
    BOUT_LONG, BoutCounts, BoutSeen, BoutsTogether, Figure, NightBouts, NightComparison, OverPeople, Tally, Verdict,
    WakeEvents,
};
use counterpane_model::Zone;

const COLUMNS: [&str; 8] = [
    "Device",
    "Found",
    "0.5 to 2 min",
    "2 to 5 min",
    "5 min and more",
    "Its own that are true",
    "Made up in an hour of sleep",
    "Starts late by",
];

/// Counts of each device of a night; `None` where no device tells wake from sleep.
pub(crate) fn of_night(night: &NightComparison, bouts: &NightBouts, id: &str) -> Option<Table> {
    let note = format!("{} Small: of the device's own wakes of that length. {}", said::MEANING, said::NO_INTERVAL);
    let mut table = Table::new(format!("{id}-wakes"), "Wakes as events", &note, &COLUMNS);
    for device in &bouts.devices {
        let under = left_out(&device.counts);
        table.row(Row::new(&said::device_name(night, device), &under, counted(&device.counts)));
    }
    (!table.is_empty()).then_some(table)
}

/// What each device made of each long wake of a night; `None` without one, or without a device.
pub(crate) fn long_of_night(night: &NightComparison, bouts: &NightBouts, id: &str, zone: &Zone) -> Option<Table> {
    let note =
        "Each wake of the reference of 5 min or more, as one event. Found: the device calls at least half of it wake.";
    let heads = ["Source", "What it made of the wake", "Of which it called wake"];
    let long: Vec<_> = bouts.bouts.iter().filter(|b| b.at.len() >= BOUT_LONG).collect();
    if long.is_empty() || bouts.devices.is_empty() {
        return None;
    }
    let mut table = Table::new(format!("{id}-long"), "The long wakes, one by one", note, &heads).stacked();
    for bout in long {
        let awake = Row::new(
            &said::when(bout, zone),
            "awake, as the reference scored it",
            vec![Cell::words(""), Cell::words("")],
        );
        table.row(awake.reference());
        for (device, seen) in bouts.devices.iter().zip(&bout.seen) {
            let cells = vec![verdict(seen), Cell::words(&said::seen(bout, seen))];
            table.row(Row::new(&said::device_name(night, device), "", cells));
        }
    }
    Some(table)
}

/// Counts of each device over all nights.
pub(crate) fn of_all(events: &WakeEvents) -> Table {
    let note = format!(
        "{} All wakes of all nights are counted together, so restless nights weigh more; small, in the columns of all lengths, the mean over \
         people of the mean over their nights, with its 95 % interval, or below five people with each of them.",
        said::MEANING
    );
    let mut table = Table::new("all-wakes".into(), "Wakes as events, over all nights", &note, &COLUMNS);
    for device in &events.devices {
        table.row(Row::new(&device.name, &over(device), means(device)));
    }
    table
}

fn over(device: &BoutsTogether) -> String {
    let nights = words::count(device.nights, "night");
    let over = format!("{nights} of {}", words::count(device.participants, "participant"));
    [over, left_out(&device.pooled)].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join("; ")
}

fn left_out(counts: &BoutCounts) -> String {
    match counts.left_out {
        0 => String::new(),
        n => format!("{} not judged: a gap beside or in it", words::count(n, "wake")),
    }
}

fn counted(counts: &BoutCounts) -> Vec<Cell> {
    let share = |figure: Figure| figure.ok().map(fine_share).into_iter().collect();
    cells(counts, [share(counts.all.recall()), share(counts.all.precision()), Vec::new()])
}

fn means(device: &BoutsTogether) -> Vec<Cell> {
    let share = |of: &OverPeople| said::mean(of, fine_share, between_shares);
    let made_up = said::mean(&device.false_per_hour, said::rate, said::between_rates);
    cells(&device.pooled, [share(&device.recall), share(&device.precision), made_up])
}

/// `under` are the smaller lines of what was found, what is true, and what is made up.
fn cells(counts: &BoutCounts, under: [Vec<String>; 3]) -> Vec<Cell> {
    let [found, is_true, per_hour] = under;
    let lined = |text: String, under: &[String]| {
        Cell::number_lines(&text, &under.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let Tally { bouts, found: n_found, device, device_true } = counts.all;
    let of_length = |t: &Tally| {
        Cell::number(&said::part(t.found, t.bouts), &format!("own true: {}", said::part(t.device_true, t.device)))
    };
    let [short, middle, long] = counts.by_length.each_ref().map(of_length);
    let onset = match (counts.onset_error(), counts.onset_off()) {
        (Ok(late), Ok(off)) => Cell::number(&words::signed(late), &format!("off by {}", words::minutes(off))),
        _ => Cell::none("none found"),
    };
    let one_to_one = format!("one to one {}", counts.partners);
    let found: Vec<String> = found.into_iter().chain([one_to_one]).collect();
    vec![
        lined(said::part(n_found, bouts), &found),
        short,
        middle,
        long,
        lined(said::part(device_true, device), &is_true),
        lined(said::per_hour(counts.false_per_hour()), &per_hour),
        onset,
    ]
}

fn verdict(seen: &BoutSeen) -> Cell {
    Cell::words(match seen.verdict {
        Verdict::Found => "found",
        Verdict::Missed => "missed",
        Verdict::NotJudged => "not judged",
    })
}
