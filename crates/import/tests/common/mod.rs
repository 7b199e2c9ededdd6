//! One way to try a definition on a text.

#![allow(
    clippy::panic,
    clippy::unwrap_used,
    dead_code,
    unreachable_pub,
    reason = "helpers of tests, of which each file uses some"
)]

pub mod samples;

use counterpane_formats::Limits;
use counterpane_import::{Bindings, Definition, ImportError, Outcome, describe, import};
use counterpane_model::{Fold, Night, NightKind, Wall, Zone};

/// Returns a night from noon to noon.
pub fn night(evening: &str, zone: &str) -> Night {
    let rules = Zone::named(zone).unwrap();
    let noon = |day: jiff::civil::Date| rules.instant_of(day.at(12, 0, 0, 0), Fold::First).unwrap();
    let day: jiff::civil::Date = evening.parse().unwrap();
    Night {
        participant: "P01".into(),
        label: evening.into(),
        kind: NightKind::Night,
        zone: zone.into(),
        window: (noon(day), noon(day.tomorrow().unwrap())),
        lights: Default::default(),
    }
}

/// The night on which clocks on Lord Howe Island went back by half an hour, from 02:00 to 01:30.
pub fn back() -> Bindings {
    Bindings {
        file: "in".into(),
        participant: "P01".into(),
        nights: vec![night("2026-04-04", "Australia/Lord_Howe")],
        night: Some("2026-04-04".into()),
        ..Bindings::default()
    }
}

/// The night on which clocks on Lord Howe Island went forward by half an hour, from 02:00 to 02:30.
pub fn forward() -> Bindings {
    let nights = vec![night("2026-10-03", "Australia/Lord_Howe")];
    Bindings { nights, night: Some("2026-10-03".into()), ..back() }
}

/// Completes a definition: `body` begins with the blocks.
pub fn definition(format: &str, body: &str) -> Definition {
    let text = format!("version = 1\ntitle = \"t\"\n[match]\nformat = \"{format}\"\n{body}");
    Definition::parse("t", &text).unwrap_or_else(|e| panic!("{}", e.render("importer.toml")))
}

pub fn run(definition: &Definition, bindings: &Bindings, input: &str) -> Result<Outcome, ImportError> {
    import(definition, &mut input.as_bytes(), bindings, Limits::default())
}

/// Returns what a text gives, as a dry run shows it; the sum of outcomes is checked on the way.
pub fn given(definition: &Definition, bindings: &Bindings, input: &str) -> String {
    match run(definition, bindings, input) {
        Ok(outcome) => {
            assert_eq!(outcome.tally.rows, outcome.tally.sum());
            describe(&outcome)
        }
        Err(error) => format!("refused: {error}\n"),
    }
}

/// Returns the spans of a text in short: local time of day, stage; then the codes of the findings.
pub fn brief(definition: &Definition, bindings: &Bindings, input: &str) -> String {
    let outcome = match run(definition, bindings, input) {
        Ok(outcome) => outcome,
        Err(error) => return format!("refused: {error}"),
    };
    assert_eq!(outcome.tally.rows, outcome.tally.sum());
    let mut out = Vec::new();
    for part in &outcome.parts {
        let zone = Zone::named(&part.zone).unwrap();
        let clock = |at| zone.text_of(at)[11..].replace(":00+", "+");
        out.extend(part.spans.iter().map(|s| format!("{}-{} {}", clock(s.start), clock(s.end), s.mark)));
        out.extend(part.notes.iter().map(|n| format!("{} {}", clock(n.at), n.kind.code())));
        out.extend(part.findings.iter().map(|f| f.code.to_string()));
    }
    out.extend(outcome.findings.iter().map(|f| f.code.to_string()));
    out.join(", ")
}

pub fn wall(text: &str) -> Wall {
    text.parse().unwrap()
}
