//! One night: hypnograms, notes, minutes, agreement.

use super::device::Device;
use super::figure::{Figure, Sheet};
use super::left_out::clock_sentences;
use super::minutes_tables::{sleep_wake, stages, whole};
use super::notes::{Event, events, local, notes_table};
use super::table::Table;
use super::{baselines, bouts};
use crate::ReportError;
use crate::draw::Theme;
use crate::draw::text::{clean, coded};
use crate::figures::{deviations, hypnogram, sensitivity};
use crate::minutes;
use crate::words::{self, Voices};
use askama::Template;
use counterpane_compare::{DeviceNight, Inference, NightComparison};
use counterpane_model::Zone;

/// A night.
#[derive(Debug, Template)]
#[template(path = "night.html")]
pub(crate) struct Night {
    /// Anchor of the section.
    pub(crate) id: String,
    /// Name of the night.
    pub(crate) name: String,
    /// The participant's code.
    pub(crate) participant: String,
    /// Name of the night among those of its participant.
    pub(crate) short: String,
    /// The first night stands open; the others are folded.
    open: bool,
    summary: String,
    facts: Vec<(&'static str, String)>,
    rank: Option<String>,
    sheet: Sheet,
    key: Figure,
    /// Clocks that are corrected, a sentence each with the result on either clock.
    clocks: Vec<String>,
    notes: Option<Table>,
    sleep_wake: Table,
    stages: Table,
    has_claims: bool,
    deviations: Option<Figure>,
    sensitivity: Option<Figure>,
    devices: Vec<Device>,
    /// What comes for free in the same epochs.
    baselines: Table,
    /// Wakes as events, and the long ones one by one.
    wakes: Vec<Table>,
    not_compared: Vec<(String, String)>,
    whole: Table,
}

impl Night {
    /// Returns the view of a night.
    pub(crate) fn new(
        night: &NightComparison,
        inference: &Inference,
        index: usize,
        only: bool,
    ) -> Result<Night, ReportError> {
        let id = format!("night-{}", index + 1);
        let mut data = hypnogram::of_night(night, &format!("{id}-h"))?;
        let events = events(night);
        data.markers = events.iter().map(Event::marker).collect();
        let sources = minutes::sources(night);
        let wakes = inference.wakes.of(&night.reference_key).map(|b| {
            let long = bouts::long_of_night(night, b, &id, &data.zone);
            bouts::of_night(night, b, &id).into_iter().chain(long).collect()
        });
        let any = !night.devices.is_empty();
        let devices = night.devices.iter().enumerate();
        Ok(Night {
            name: clean(&words::night_name(night)),
            participant: clean(&night.participant),
            short: clean(&format!("{} {}", night.kind.code(), night.night)),
            open: index == 0,
            summary: summary(night),
            facts: facts(night, &data.zone),
            rank: only.then(|| "One night of one person ranks nothing: what follows describes this night.".to_owned()),
            sheet: Sheet::new(&data)?,
            key: Figure::new(&format!("{id}-k"), |id, size| {
                let data = hypnogram::Hypnogram { id: id.to_owned(), ..data.clone() };
                hypnogram::key(&data, size, Theme::Page)
            }),
            clocks: clock_sentences(night),
            notes: (!events.is_empty()).then(|| notes_table(&events, &id, &data.zone)),
            sleep_wake: sleep_wake(night, inference, &id),
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
                .filter_map(|(i, d)| {
                    let within = inference.within_nights.of(night, d);
                    Device::of_night(night, d, within, format!("{id}-device-{}", i + 1))
                })
                .collect(),
            baselines: baselines::of_night(night, &inference.baselines, &id),
            wakes: wakes.unwrap_or_default(),
            not_compared: night.devices.iter().filter_map(|d| not_compared(night, d)).collect(),
            whole: whole(night, &id),
            id,
        })
    }
}

fn summary(night: &NightComparison) -> String {
    let compared = night.devices.iter().filter(|d| d.agreement.is_some()).count();
    format!(
        "against {}: {}, {compared} in a matrix",
        clean(&words::reference_name(night)),
        words::count(night.devices.len(), "device recording")
    )
}

fn facts(night: &NightComparison, zone: &Zone) -> Vec<(&'static str, String)> {
    let voices = Voices::of_reference(night);
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
    let reference = words::chosen_words(night).map_or(reference.clone(), |how| format!("{reference}; {how}"));
    let n = night.reference.len();
    let mut out = vec![
        ("Reference", clean(&reference)),
        ("Window", format!("{window}: {n} epochs of 30 s from {}", local(zone, night.start))),
        ("Lights", lights),
        ("Zone", clean(&night.zone)),
        ("Sign", format!("every difference is device minus {}", voices.reference().trim_start_matches("the "))),
    ];
    let majority = words::consensus_sentences(night, zone);
    if !majority.is_empty() {
        out.insert(1, ("Majority", clean(&majority.join(" "))));
    }
    out
}

fn not_compared(night: &NightComparison, device: &DeviceNight) -> Option<(String, String)> {
    if device.agreement.is_some() {
        return None;
    }
    let why = device.not_compared.clone().unwrap_or_else(|| "no reason was given".to_owned());
    Some((clean(&words::name_on(night, device)), coded(&why)))
}
