//! The tables of minutes of a night.

use super::table::{Cell, Row, Table};
use crate::minutes::{self, Quantity, SourceMinutes};
use crate::words::{self, Voices};
use counterpane_compare::comparison::{Figure as Number, Undefined};
use counterpane_compare::{DeviceNight, Measures, NightComparison};
use counterpane_model::{Claim, Quantity as Claimed, Stage};

/// Sleep and wake of every source: what it calls sleep, what it misses, and what it makes up.
pub(crate) fn sleep_wake(night: &NightComparison, id: &str) -> Table {
    let reference = Voices { scored_by: night.scored_by, other: None }.reference();
    let note = format!(
        "Counted over the epochs that both sides scored; in brackets the reference's minutes. Missed wake: {reference} says wake, the device sleep. False wake: \
         the other way round. Both can be large while the totals agree. Interval of every share: not computed yet."
    );
    let columns =
        ["Source", "Coverage", "Sleep", "Wake", "Missed wake", "False wake", "Sensitivity to sleep", "Wake detection"];
    let mut table = Table::new(format!("{id}-sw"), "Sleep and wake", &note, &columns);
    let m = &night.measures;
    let dash = || Cell::words("");
    let cells = vec![
        Cell::number(&words::minutes(m.total_sleep + m.wake), "scored in the window"),
        Cell::number(&words::minutes(m.total_sleep), ""),
        Cell::number(&words::minutes(m.wake), ""),
        dash(),
        dash(),
        dash(),
        dash(),
    ];
    table.row(Row::new(&words::reference_name(night), "reference, whole window", cells).reference());
    for device in night.devices.iter().filter(|d| !d.cells.is_empty()) {
        table.row(Row::new(&words::source_name(&device.source), "", sleep_wake_cells(night, device)));
    }
    table
}

fn sleep_wake_cells(night: &NightComparison, device: &DeviceNight) -> Vec<Cell> {
    let voices = Voices::of(night.scored_by, &device.source);
    let scored = format!("of {} epochs", device.reference_scored);
    let both = |pick: fn(&Measures) -> f64| match (&device.measures_masked, &device.reference_masked) {
        (Some(own), Some(reference)) => beside(Ok(pick(own)), Ok(pick(reference))),
        _ => Cell::none("not compared"),
    };
    let minutes = |value: Option<f64>| match value {
        Some(value) => Cell::number(&words::minutes(value), ""),
        None => Cell::none("not compared"),
    };
    let share = |wake: bool| {
        let class = device.sleep_wake.as_ref().and_then(|a| a.per_class.iter().find(|c| (c.class == Stage::W) == wake));
        match class {
            Some(c) => figure(&voices, c.sensitivity, words::share, &format!("of {}", words::epochs(c.reference_n))),
            None => Cell::none("not compared"),
        }
    };
    vec![
        figure(&voices, device.coverage, words::share, &scored),
        both(|m| m.total_sleep),
        both(|m| m.wake),
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

/// Whole-night measures, each source on its own epochs of the window.
pub(crate) fn whole(night: &NightComparison, id: &str) -> Table {
    let note = "Each source on all its own epochs of the window, so a source with gaps has fewer minutes of everything. \
                A smaller line below the latency to sleep: between what and what it \
                lies, where epochs before the first sleep are not scored. Latency to REM counts from the first sleep. One number for each night: no interval.";
    let columns = [
        "Source",
        "Total sleep",
        "Wake",
        "Not scored",
        "Latency to sleep",
        "Wake after sleep began",
        "Latency to REM",
        "Efficiency",
        "Awakenings",
    ];
    let mut table = Table::new(format!("{id}-w"), "The whole night", note, &columns);
    let voices = Voices { scored_by: night.scored_by, other: None };
    let own = measures_cells(&night.measures, &voices);
    table.row(Row::new(&words::reference_name(night), "reference", own).reference());
    for device in &night.devices {
        let name = words::source_name(&device.source);
        if let Some(measures) = &device.measures {
            let voices = Voices::of(night.scored_by, &device.source);
            table.row(Row::new(&name, "", measures_cells(measures, &voices)));
        }
        if device.claims.iter().any(|c| c.quantity.unit() != "ms") {
            table.row(Row::new(&name, "claim: its own total", claims_cells(&device.claims)).claim());
        }
    }
    table
}

fn measures_cells(m: &Measures, voices: &Voices) -> Vec<Cell> {
    let minutes = |value: f64| Cell::number(&words::minutes(value), "");
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
        minutes(m.total_sleep),
        minutes(m.wake),
        minutes(m.unscored),
        latency,
        figure(voices, m.wake_after_onset, words::minutes, ""),
        figure(voices, m.rem_latency, words::minutes, ""),
        figure(voices, m.efficiency, |v| words::share(v / 100.0), &format!("of {}", words::minutes(m.recording_time))),
        figure(voices, m.awakenings, |v| format!("{v:.0}"), ""),
    ]
}

fn claims_cells(claims: &[Claim]) -> Vec<Cell> {
    let of = |quantity: Claimed| match claims.iter().find(|c| c.quantity == quantity) {
        Some(c) if quantity.unit() == "%" => Cell::number(&words::share(c.value / 100.0), ""),
        Some(c) if quantity.unit() == "count" => Cell::number(&format!("{:.0}", c.value), ""),
        Some(c) => Cell::number(&words::minutes(c.value), ""),
        None => Cell::none("not claimed"),
    };
    vec![
        of(Claimed::TotalSleep),
        of(Claimed::Minutes(Stage::W)),
        Cell::none("not claimed"),
        of(Claimed::SleepLatency),
        of(Claimed::WakeAfterOnset),
        Cell::none("not claimed"),
        of(Claimed::Efficiency),
        of(Claimed::Awakenings),
    ]
}
