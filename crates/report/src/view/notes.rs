//! What happened in a night: every note, in order of time.

use super::table::{Cell, Row, Table};
use crate::draw::text::clean;
use crate::draw::time::offset_text;
use crate::figures::hypnogram;
use crate::words;
use counterpane_compare::NightComparison;
use counterpane_model::{Instant, Note, NoteKind, Zone};

/// Something that happened, with who says so.
pub(crate) struct Event<'a> {
    number: String,
    by: String,
    note: &'a Note,
}

impl Event<'_> {
    pub(crate) fn marker(&self) -> hypnogram::Marker {
        hypnogram::Marker {
            number: self.number.clone(),
            at: self.note.at,
            until: self.note.until,
            precision_ms: self.note.precision_ms,
            text: self.note.words(),
        }
    }
}

/// Every note of the night in order of time. Lights have marks of their own and are left out.
pub(crate) fn events(night: &NightComparison) -> Vec<Event<'_>> {
    let mut all: Vec<(String, &Note)> = Vec::new();
    for remark in &night.remarks {
        let of = remark.source.as_ref().map(|s| format!(" of {}", clean(s))).unwrap_or_default();
        all.push((format!("the reviewer{of}"), &remark.note));
    }
    all.extend(night.notes.iter().map(|n| (words::reference_name(night), n)));
    for device in &night.devices {
        all.extend(device.notes.iter().map(|n| (words::name_on(night, device), n)));
    }
    all.retain(|(_, n)| !matches!(n.kind, NoteKind::LightsOff | NoteKind::LightsOn));
    // The wall clock is no order: it runs through some minutes twice.
    all.sort_by(|a, b| a.1.at.cmp(&b.1.at).then_with(|| a.0.cmp(&b.0)));
    all.into_iter().enumerate().map(|(i, (by, note))| Event { number: (i + 1).to_string(), by, note }).collect()
}

pub(crate) fn notes_table(events: &[Event<'_>], id: &str, zone: &Zone) -> Table {
    let note =
        "The numbers stand on the hypnograms; a band there shows how long it lasted, and how finely its time is known.";
    let mut table =
        Table::new(format!("{id}-n"), "What happened", note, &["No.", "Local time", "What", "Said by"]).stacked();
    for event in events {
        let from = local(zone, event.note.at);
        let until = event.note.until.map_or(String::new(), |t| format!("until {}", local(zone, t)));
        let blur = match event.note.precision_ms {
            0 => String::new(),
            ms => format!("known to {} either way", words::minutes(ms as f64 / 60_000.0)),
        };
        let under = [until, blur].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join("; ");
        let cells = vec![Cell::words_under(&from, &under), Cell::words(&event.note.words()), Cell::words(&event.by)];
        table.row(Row::new(&event.number, "", cells));
    }
    table
}

/// Local time with its offset: `2026-04-05 00:05:00 UTC+11:00`.
pub(crate) fn local(zone: &Zone, at: Instant) -> String {
    let wall = zone.wall_of(at);
    format!("{} {} UTC{}", wall.date(), wall.strftime("%H:%M:%S"), offset_text(zone.offset_at(at)))
}
