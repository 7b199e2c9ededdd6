//! The tables of minutes of a night.

use super::table::{Cell, Row, Table};
use crate::minutes::{self, Quantity, SourceMinutes};
use crate::words::intervals::{between_shares, interval};
use crate::words::{self, Voices};
use counterpane_compare::comparison::{Figure as Number, Undefined};
use counterpane_compare::{DeviceNight, Inference, Measures, NightComparison, can_say};
use counterpane_model::{Claim, Quantity as Claimed, Stage};

/// How far every source tells sleep from wake: what it misses, and what it makes up. The minutes
/// themselves stand in the next table.
pub(crate) fn sleep_wake(night: &NightComparison, inference: &Inference, id: &str) -> Table {
    let reference = Voices::of_reference(night).reference();
    let note = format!(
        "Counted over the epochs that both sides scored. Missed wake: {reference} says wake, the device sleep. False wake: \
         the other way round. Both can be large while the totals agree. In brackets the 95 % interval within this night, \
         approximate; what is counted (coverage, minutes) has none."
    );
    let columns = ["Source", "Coverage", "Missed wake", "False wake", "Sensitivity to sleep", "Wake detection"];
    let mut table = Table::new(format!("{id}-sw"), "Telling sleep from wake", &note, &columns);
    for device in night.devices.iter().filter(|d| !d.cells.is_empty()) {
        table.row(Row::new(&words::name_on(night, device), "", sleep_wake_cells(night, inference, device)));
    }
    table
}

fn sleep_wake_cells(night: &NightComparison, inference: &Inference, device: &DeviceNight) -> Vec<Cell> {
    let voices = Voices::of(night, &device.source);
    let scored = format!("of {} epochs", device.reference_scored);
    let minutes = |value: Option<f64>| match value {
        Some(value) => Cell::number(&words::minutes(value), ""),
        None => Cell::none("not compared"),
    };
    let share = |wake: bool| {
        let class = device.sleep_wake.as_ref().and_then(|a| a.per_class.iter().find(|c| (c.class == Stage::W) == wake));
        let made = inference.within_nights.of(night, device).and_then(|w| w.sleep_wake.as_ref());
        let own = made.and_then(|all| all.per_class.iter().find(|c| (c.class == Stage::W) == wake));
        let within = own.map_or_else(String::new, |c| format!(" ({})", interval(&c.sensitivity, between_shares)));
        match class {
            Some(c) => {
                let under = format!("of {}{within}", words::epochs(c.reference_n));
                figure(&voices, c.sensitivity, words::share, &under)
            }
            None => Cell::none("not compared"),
        }
    };
    vec![
        figure(&voices, device.coverage, words::share, &scored),
        minutes(device.missed_wake),
        minutes(device.false_wake),
        share(false),
        share(true),
    ]
}

/// A number of a source, and below it the difference and the reference's own number.
fn beside(own: Result<f64, String>, reference: Result<f64, String>) -> Cell {
    match (own, reference) {
        (Ok(own), Ok(reference)) => {
            let under =
                format!("{} ({})", words::signed(own - reference), words::minutes(reference)).replace(" min", "");
            Cell::number(&words::minutes(own), &under)
        }
        (Ok(own), Err(why)) => Cell::number(&words::minutes(own), &format!("reference {why}")),
        (Err(why), _) => Cell::none(&why),
    }
}

fn figure(voices: &Voices, value: Number, wording: impl Fn(f64) -> String, under: &str) -> Cell {
    match value {
        Ok(_) => Cell::number(&voices.say(value, wording), under),
        Err(_) => Cell::none(&voices.say(value, wording)),
    }
}

/// Minutes in each stage, every source beside the reference.
pub(crate) fn stages(night: &NightComparison, sources: &[SourceMinutes<'_>], id: &str) -> Table {
    let mut quantities = minutes::quantities(sources);
    if sources.is_empty() {
        quantities = [Stage::W, Stage::Light, Stage::N3, Stage::R].map(Quantity::In).to_vec();
    }
    let note = "The smaller line: device minus reference, and in brackets the reference's minutes over the same epochs. A row marked \
                \"claim\" holds the source's own totals as it displays them: they could not be cut to those epochs, stand \
                against the whole window, and never enter a matrix.";
    let heads: Vec<&str> = std::iter::once("Source").chain(quantities.iter().map(|q| q.head())).collect();
    let mut table = Table::new(format!("{id}-st"), "Minutes of sleep, of wake and in each stage", note, &heads);
    let cell = |minutes: Result<f64, String>| match minutes {
        Ok(value) => Cell::number(&words::minutes(value), ""),
        Err(why) => Cell::none(&why),
    };
    let own = quantities.iter().map(|q| cell(minutes::counted(&night.measures, None, *q))).collect();
    table.row(Row::new(&words::reference_name(night), "reference, whole window", own).reference());
    for source in sources {
        let cells = quantities.iter().map(|q| beside(source.own(*q), source.reference(*q))).collect();
        let row = if source.claim {
            Row::new(&source.label, "claim: its own total", cells).claim()
        } else {
            Row::new(&source.label, "epochs that both scored", cells)
        };
        table.row(row);
    }
    table
}

/// Whole-night measures, each source on its own epochs of the window. Minutes of sleep and wake are
/// left to the table before, where all sources stand on the same epochs.
pub(crate) fn whole(night: &NightComparison, id: &str) -> Table {
    let note = "Each source on all its own epochs of the window, so these numbers do not stand for the \
                same stretch of the night. A smaller line below the latency to sleep: the range it may lie in, because \
                epochs before the first sleep are not scored. Latency to REM counts from the first sleep. One number for each night: no interval.";
    let columns = [
        "Source",
        "Not scored",
        "Latency to sleep",
        "Wake after sleep began",
        "Latency to REM",
        "Efficiency",
        "Awakenings",
    ];
    let mut table = Table::new(format!("{id}-w"), "Each source by itself (not for comparing)", note, &columns);
    let voices = Voices::of_reference(night);
    let own = measures_cells(&night.measures, &voices, &Stage::ALL);
    table.row(Row::new(&words::reference_name(night), "reference", own).reference());
    for device in &night.devices {
        let name = words::name_on(night, device);
        if let Some(measures) = &device.measures {
            let voices = Voices::of(night, &device.source);
            table.row(Row::new(&name, "", measures_cells(measures, &voices, &device.vocabulary)));
        }
        if device.claims.iter().any(|c| CLAIMED.contains(&c.quantity)) {
            table.row(Row::new(&name, "claim: its own total", claims_cells(&device.claims)).claim());
        }
    }
    table
}

fn measures_cells(m: &Measures, voices: &Voices, vocabulary: &[Stage]) -> Vec<Cell> {
    let minutes = |value: f64| Cell::number(&words::minutes(value), "");
    // Nothing was said at all: a 0 would read as a measurement.
    if m.stage_minutes.iter().all(|(_, minutes)| *minutes <= 0.0) {
        return std::iter::once(minutes(m.unscored)).chain((0..5).map(|_| Cell::none("-"))).collect();
    }
    let rem = match m.rem_latency {
        Err(Undefined::StageAbsent) if !can_say(vocabulary, Stage::R) => Cell::none(minutes::NOT_TOLD_APART),
        value => figure(voices, value, words::minutes, ""),
    };
    let slept =
        format!("{} of {}", words::minutes(m.total_sleep).trim_end_matches(" min"), words::minutes(m.recording_time));
    let latency = match (m.sleep_latency, m.sleep_latency_bounds) {
        (Err(Undefined::NoSleep), _) => {
            Cell::none(&format!("over {}: no sleep in the window", words::minutes(m.recording_time)))
        }
        (value, Some((from, until))) if from < until => {
            let under = format!("{} to {}", words::minutes(from).trim_end_matches(" min"), words::minutes(until));
            figure(voices, value, words::minutes, &under)
        }
        (value, _) => figure(voices, value, words::minutes, ""),
    };
    vec![
        minutes(m.unscored),
        latency,
        figure(voices, m.wake_after_onset, words::minutes, ""),
        rem,
        figure(voices, m.efficiency, |v| words::share(v / 100.0), &slept),
        figure(voices, m.awakenings, |v| format!("{v:.0}"), ""),
    ]
}

/// The claims that have a place in the last table.
const CLAIMED: [Claimed; 4] =
    [Claimed::SleepLatency, Claimed::WakeAfterOnset, Claimed::Efficiency, Claimed::Awakenings];

fn claims_cells(claims: &[Claim]) -> Vec<Cell> {
    let of = |quantity: Claimed| match claims.iter().find(|c| c.quantity == quantity) {
        Some(c) if quantity.unit() == "%" => Cell::number(&words::share(c.value / 100.0), ""),
        Some(c) if quantity.unit() == "count" => Cell::number(&format!("{:.0}", c.value), ""),
        Some(c) => Cell::number(&words::minutes(c.value), ""),
        None => Cell::none("not claimed"),
    };
    vec![
        Cell::none("not claimed"),
        of(Claimed::SleepLatency),
        of(Claimed::WakeAfterOnset),
        Cell::none("not claimed"),
        of(Claimed::Efficiency),
        of(Claimed::Awakenings),
    ]
}
