//! What the real reader, the real checks and the real comparison say of a sheet.

use crate::reader::Sheet;
use crate::sheets;
use counterpane_formats::Limits;
use counterpane_import::{Bindings, Definition, import_with, shipped};
use counterpane_model::{
    Finding, Fold, Lights, Locator, Night, NightKind, Recording, Severity, Source, TimeBasis, Zone,
};
use std::path::Path;

const ZONE: &str = "Europe/Berlin";
const DEFINITION: &str = "typed-changes";

/// A finding: its code, the line it points at, and what it says.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Told {
    pub(crate) code: String,
    pub(crate) place: Option<String>,
    pub(crate) message: String,
}

impl Told {
    /// The findings that the program printed.
    pub(crate) fn printed(findings: &serde_json::Value) -> Vec<Told> {
        let text = |f: &serde_json::Value, key: &str| f[key].as_str().map(str::to_owned);
        let of = |f: &serde_json::Value| Told {
            code: text(f, "code").unwrap(),
            place: text(f, "locator"),
            message: text(f, "message").unwrap(),
        };
        sorted(findings.as_array().unwrap().iter().map(of).collect())
    }

    fn of(finding: &Finding) -> Told {
        let place = finding.place.as_ref().map(|p| p.locator.to_string());
        Told { code: finding.code.to_string(), place, message: finding.message.clone() }
    }
}

fn sorted(mut told: Vec<Told>) -> Vec<Told> {
    told.sort();
    told
}

/// The definition of sheets and the night of all of them.
pub(crate) struct Reader {
    definition: Definition,
    night: Night,
}

impl Reader {
    pub(crate) fn new() -> Reader {
        let text = shipped().iter().find(|(id, _)| *id == DEFINITION).unwrap().1;
        let definition = Definition::parse(DEFINITION, text).ok().unwrap();
        let zone = Zone::named(ZONE).unwrap();
        let noon = |day: &str| zone.instant_of(format!("{day} 12:00:00").parse().unwrap(), Fold::Error).unwrap();
        let night = Night {
            participant: "P01".into(),
            label: "2026-04-04".into(),
            kind: NightKind::Night,
            zone: ZONE.into(),
            window: (noon("2026-04-04"), noon("2026-04-05")),
            lights: Lights::default(),
        };
        Reader { definition, night }
    }

    /// What import and the checks of one recording say of a sheet.
    pub(crate) fn told(&self, sheet: &Sheet, totals: bool) -> Vec<Told> {
        sorted(self.findings(sheet, totals).iter().map(Told::of).collect())
    }

    /// What speaks of an error: errors, warnings, and a row that stands there twice.
    pub(crate) fn alarms(&self, sheet: &Sheet, totals: bool) -> Vec<Told> {
        let findings = self.findings(sheet, totals);
        let speaks = |f: &&Finding| f.severity != Severity::Info || f.code == "duplicate-row";
        findings.iter().filter(speaks).map(Told::of).collect()
    }

    fn findings(&self, sheet: &Sheet, totals: bool) -> Vec<Finding> {
        let bindings = Bindings {
            file: "sheet.tsv".into(),
            participant: "P01".into(),
            nights: vec![self.night.clone()],
            night: Some(self.night.label.clone()),
            ..Bindings::default()
        };
        let text = sheet.text(totals);
        let outcome = import_with(&self.definition, &mut text.as_bytes(), &[], &bindings, Limits::default()).unwrap();
        let mut out = outcome.findings.clone();
        for part in &outcome.parts {
            let recording = Recording {
                key: String::new(),
                source: Source::Device { device: "ring-x".into(), unit: "ring-x-1".into() },
                participant: "P01".into(),
                night: self.night.label.clone(),
                zone: part.zone.clone(),
                time_basis: TimeBasis::ZoneOfNight,
                vocabulary: self.definition.vocabulary(),
                step_ms: part.step_ms,
                precision_ms: (sheet.precision * 60_000.0) as i64,
                spans: part.spans.clone(),
                claims: part.claims.clone(),
                notes: part.notes.clone(),
                file: "sheet.tsv".into(),
            };
            let imported: Vec<Finding> = outcome.findings.iter().chain(&part.findings).cloned().collect();
            out.extend(counterpane_check::check_recording(&recording, DEFINITION, &imported));
            out.extend(part.findings.clone());
        }
        out
    }
}

/// What two readings say differently, each as (first, second); `None` where one of them cannot be read.
pub(crate) fn differences(first: &Sheet, second: &Sheet) -> Option<Vec<(String, String)>> {
    let [first, second] = [first, second].map(as_read);
    let both = sheets::both(&first, &second).ok()?;
    Some(both.differences().iter().map(|d| (d.first.to_owned(), d.second.to_owned())).collect())
}

/// The sheet as `sheets::sheet` reads it from a file.
fn as_read(sheet: &Sheet) -> sheets::Sheet {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("sheet.tsv");
    std::fs::write(&path, sheet.text(false)).unwrap();
    sheets::sheet(Path::new(&path)).unwrap()
}

/// The line of a place such as `line 17:2`.
pub(crate) fn lines(text: &str) -> Vec<u64> {
    let after = text.split("line ").skip(1);
    after.filter_map(|rest| rest.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()).collect()
}

#[test]
fn places_are_found_in_words() {
    let locator = Locator::Text { line: 17, column: 2 };
    assert_eq!(lines(&format!("between {locator} and line 18:2")), [17, 18]);
}
