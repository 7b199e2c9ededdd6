//! One night: hypnograms, notes, minutes, agreement.

use super::device::Device;
use super::figure::{Figure, Sheet};
use super::table::{Cell, Row, Table};
use crate::ReportError;
use crate::draw::Theme;
use crate::draw::text::clean;
use crate::draw::time::offset_text;
use crate::figures::{deviations, hypnogram, sensitivity};
use crate::input::NightNote;
use crate::minutes::{self, Quantity, SourceMinutes};
use crate::words::{self, Voices};
use askama::Template;
use counterpane_compare::comparison::{Figure as Number, Undefined};
use counterpane_compare::{DeviceNight, Measures, NightComparison};
use counterpane_model::{Claim, Instant, Note, NoteKind, Quantity as Claimed, Stage, Zone};

/// A night.
#[derive(Debug, Template)]
#[template(path = "night.html")]
pub(crate) struct Night {
    /// Anchor of the section.
    pub(crate) id: String,
    /// Name of the night.
    pub(crate) name: String,
    facts: Vec<(&'static str, String)>,
    rank: Option<String>,
    sheet: Sheet,
    notes: Option<Table>,
    sleep_wake: Table,
    stages: Table,
    has_claims: bool,
    deviations: Option<Figure>,
    sensitivity: Option<Figure>,
    devices: Vec<Device>,
    not_compared: Vec<(String, String)>,
    whole: Table,
}

impl Night {
    /// Returns the view of a night.
    pub(crate) fn new(
        night: &NightComparison,
        notes: &[NightNote],
        index: usize,
        only: bool,
    ) -> Result<Night, ReportError> {
        let id = format!("night-{}", index + 1);
        let mut data = hypnogram::of_night(night, &format!("{id}-h"))?;
        let events = events(night, notes);
        data.markers = events.iter().map(Event::marker).collect();
        let sources = minutes::sources(night);
        let any = !night.devices.is_empty();
        let devices = night.devices.iter().enumerate();
        Ok(Night {
            name: clean(&words::night_name(night)),
            facts: facts(night, &data.zone),
            rank: only.then(|| "One night of one person ranks nothing: what follows describes this night.".to_owned()),
            sheet: Sheet::new(&data)?,
            notes: (!events.is_empty()).then(|| notes_table(&events, &id, &data.zone)),
            sleep_wake: sleep_wake(night, &id),
            stages: stages(night, &sources, &id),
            has_claims: sources.iter().any(|s| s.claim),
            deviations: (!sources.is_empty()).then(|| {
                Figure::new(&format!("{id}-d"), |id, size| {
                    deviations::deviations(&deviations::of_night(night, id), size, Theme::Page)
                })
            }),
            sensitivity: any.then(|| {
                Figure::new(&format!("{id}-m"), |id, size| {
                    sensitivity::sensitivity(&sensitivity::of_night(night, id), size, Theme::Page)
                })
            }),
            devices: devices
                .filter_map(|(i, d)| Device::of_night(night, d, format!("{id}-device-{}", i + 1), false))
                .collect(),
            not_compared: night.devices.iter().filter_map(not_compared).collect(),
            whole: whole(night, &id),
            id,
        })
    }
}

fn facts(night: &NightComparison, zone: &Zone) -> Vec<(&'static str, String)> {
    let voices = Voices { scored_by: night.scored_by, other: None };
    let window = match night.window_name {
        "lights" => "lights off to lights on",
        "scored" => "first to last epoch that the reference scored",
        "span" => "a stretch that was asked for",
        other => other,
    };
    let lights = match night.lights {
        (Some(off), Some(on)) => format!("off {}, on {}", local(zone, off), local(zone, on)),
        (Some(off), None) => format!("off {}, on not known", local(zone, off)),
        (None, Some(on)) => format!("off not known, on {}", local(zone, on)),
        (None, None) => "not known".into(),
    };
    let reference =
        format!("{} ({}), from {}", words::reference_name(night), words::reference_under(night), night.reference_file);
    let n = night.reference.len();
    vec![
        ("Reference", clean(&reference)),
        ("Window", format!("{window}: {n} epochs of 30 s from {}", local(zone, night.start))),
        ("Lights", lights),
        ("Zone", clean(&night.zone)),
        ("Sign", format!("every difference is device minus {}", voices.reference().trim_start_matches("the "))),
    ]
}

/// Local time with its offset: `2026-04-05 00:05:00 UTC+11:00`.
fn local(zone: &Zone, at: Instant) -> String {
    let wall = zone.wall_of(at);
    format!("{} {} UTC{}", wall.date(), wall.strftime("%H:%M:%S"), offset_text(zone.offset_at(at)))
}

/// Something that happened, with who says so.
struct Event<'a> {
    number: String,
    by: String,
    note: &'a Note,
}

impl Event<'_> {
    fn marker(&self) -> hypnogram::Marker {
        hypnogram::Marker {
            number: self.number.clone(),
            at: self.note.at,
            until: self.note.until,
            precision_ms: self.note.precision_ms,
            text: note_words(self.note),
        }
    }
}

/// Every note of the night in order of time. Lights have marks of their own and are left out.
fn events<'a>(night: &'a NightComparison, notes: &'a [NightNote]) -> Vec<Event<'a>> {
    let ours = notes.iter().filter(|n| n.participant == night.participant && n.night == night.night);
    let mut all: Vec<(String, &Note)> = ours.map(|n| ("the reviewer".to_owned(), &n.note)).collect();
    all.extend(night.notes.iter().map(|n| (words::reference_name(night), n)));
    for device in &night.devices {
        all.extend(device.notes.iter().map(|n| (words::source_name(&device.source), n)));
    }
    all.retain(|(_, n)| !matches!(n.kind, NoteKind::LightsOff | NoteKind::LightsOn));
    // The wall clock is no order: it runs through some minutes twice.
    all.sort_by(|a, b| a.1.at.cmp(&b.1.at).then_with(|| a.0.cmp(&b.0)));
    all.into_iter().enumerate().map(|(i, (by, note))| Event { number: (i + 1).to_string(), by, note }).collect()
}

fn note_words(note: &Note) -> String {
    let kind = match note.kind {
        NoteKind::OutOfBed => "out of bed",
        NoteKind::Alarm => "alarm",
        NoteKind::FellOff => "fell off",
        NoteKind::Alcohol => "alcohol",
        NoteKind::RecordingStarts => "recording starts",
        NoteKind::RecordingEnds => "recording ends",
        NoteKind::LightsOff => "lights off",
        NoteKind::LightsOn => "lights on",
        NoteKind::Other => "",
    };
    match (kind, note.text.trim()) {
        ("", text) => text.to_owned(),
        (kind, "") => kind.to_owned(),
        (kind, text) => format!("{kind}: {text}"),
    }
}

fn notes_table(events: &[Event<'_>], id: &str, zone: &Zone) -> Table {
    let note =
        "The numbers stand on the hypnograms; a band there shows how long it lasted, and how finely its time is known.";
    let mut table = Table::new(format!("{id}-n"), "What happened", note, &["No.", "Local time", "What", "Said by"]);
    for event in events {
        let from = local(zone, event.note.at);
        let until = event.note.until.map_or(String::new(), |t| format!("until {}", local(zone, t)));
        let blur = match event.note.precision_ms {
            0 => String::new(),
            ms => format!("known to {} either way", words::minutes(ms as f64 / 60_000.0)),
        };
        let under = [until, blur].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join("; ");
        let cells =
            vec![Cell::words_under(&from, &under), Cell::words(&note_words(event.note)), Cell::words(&event.by)];
        table.row(Row::new(&event.number, "", cells));
    }
    table
}

fn not_compared(device: &DeviceNight) -> Option<(String, String)> {
    if device.agreement.is_some() {
        return None;
    }
    let why = device.not_compared.clone().unwrap_or_else(|| "no reason was given".to_owned());
    Some((clean(&words::source_name(&device.source)), clean(&why)))
}

/// Sleep and wake of every source: what it calls sleep, what it misses, and what it makes up.
fn sleep_wake(night: &NightComparison, id: &str) -> Table {
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
fn stages(night: &NightComparison, sources: &[SourceMinutes<'_>], id: &str) -> Table {
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
fn whole(night: &NightComparison, id: &str) -> Table {
    let note = "Each source on all its own epochs of the window, so a source with gaps has fewer minutes of everything. \
                Latency to REM counts from the first sleep. One number for each night: no interval.";
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
            let under =
                format!("{} to {}: epochs before it are not scored", words::minutes(from), words::minutes(until));
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
