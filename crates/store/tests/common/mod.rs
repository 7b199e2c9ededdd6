//! A small study, recordings for it, and an import as the commands do it.
#![expect(clippy::unwrap_used, reason = "a test may panic")]
#![allow(dead_code, reason = "each test binary uses a part")]

use counterpane_model::{
    Finding, Instant, Locator, Mark, NightFacts, Recording, ScoredBy, Severity, Source, Span, Stage, TimeBasis,
    Vocabulary,
};
use counterpane_store::{Deed, ImportAct, NewRecording, NightTaken, Study};
use std::collections::BTreeMap;
use std::path::Path;

pub(crate) const TOML: &str = r#"
version = 1
name = "a study"
zone = "Australia/Lord_Howe"
[[participant]]
code = "P01"
[[device]]
name = "ring-a"
[[unit]]
name = "ring-a-1"
device = "ring-a"
[[scorer]]
code = "S1"
scored_by = "human"
[[night]]
participant = "P01"
label = "2026-04-04"
"#;

pub(crate) const NOW: Deed<'static> = Deed::New { at: "2026-04-06T00:00:00Z", by: "me" };

/// 2026-04-04T23:00:00+11:00.
pub(crate) const START: i64 = 1_775_304_000_000;

pub(crate) fn recording(source: Source, marks: &[Mark]) -> Recording {
    let spans = marks.iter().enumerate().map(|(i, mark)| {
        let start = Instant(START + i64::try_from(i).unwrap() * 3_600_000);
        Span {
            start,
            end: start.plus_ms(3_600_000).unwrap(),
            mark: *mark,
            label: mark.to_string(),
            locator: Locator::Text { line: i as u64 + 1, column: 1 },
        }
    });
    Recording {
        key: String::new(),
        source,
        participant: "P01".into(),
        night: "2026-04-04".into(),
        zone: "Australia/Lord_Howe".into(),
        time_basis: TimeBasis::OffsetInSource,
        vocabulary: Vocabulary(vec![Stage::W, Stage::Light, Stage::N3, Stage::R]),
        step_ms: 30_000,
        precision_ms: 0,
        spans: spans.collect(),
        claims: Vec::new(),
        notes: Vec::new(),
        file: "night.json".into(),
    }
}

pub(crate) fn ring() -> Source {
    Source::Device { device: "ring-a".into(), unit: "ring-a-1".into() }
}

pub(crate) fn scorer() -> Source {
    Source::Reference { scorer: "S1".into(), scored_by: ScoredBy::Human }
}

pub(crate) const MARKS: [Mark; 4] =
    [Mark::Stage(Stage::W), Mark::Stage(Stage::Light), Mark::Stage(Stage::N3), Mark::Stage(Stage::R)];

pub(crate) fn import(
    study: &mut Study,
    bytes: &[u8],
    definition: &str,
    new: &Recording,
    check: Option<&str>,
) -> Vec<String> {
    let original = study.originals().keep(bytes).unwrap();
    let kept = study.originals().keep(definition.as_bytes()).unwrap();
    let (unit, scorer) = match &new.source {
        Source::Device { unit, .. } => (Some(unit.clone()), None),
        Source::Reference { scorer, .. } => (None, Some(scorer.clone())),
    };
    let night = &study.nights()[0];
    let taken = NightTaken {
        label: night.label.clone(),
        kind: night.kind,
        zone: night.zone.clone(),
        of_unit: false,
        from: night.window.0,
        until: night.window.1,
    };
    let act = ImportAct {
        original: original.sha256.clone(),
        file: new.file.clone(),
        definition: "ring-a".into(),
        definition_sha256: kept.sha256,
        participant: "P01".into(),
        unit,
        scorer,
        night: None,
        zone: None,
        study_zone: "Australia/Lord_Howe".into(),
        start: None,
        end: None,
        lights_off: None,
        lights_on: None,
        precision_ms: None,
        beside: Vec::new(),
        blanked: None,
        pictures: Vec::new(),
        settles: None,
        clock_reason: None,
        limits: BTreeMap::new(),
        nights: vec![taken.clone()],
    };
    assert!(!study.has_taken(&act, &taken).unwrap());
    let checker = |night: &NightFacts<'_>| check.map_or_else(Vec::new, |code| in_each(code, night));
    let new = NewRecording { recording: new.clone(), raw_time: "23:00".into(), findings: Vec::new() };
    let keys = study.import(NOW, &act, std::slice::from_ref(&original), definition, &[new], &checker).unwrap();
    assert!(study.has_taken(&act, &taken).unwrap());
    keys
}

/// An error of a code in each recording, as a checker might have it.
pub(crate) fn in_each(code: &str, night: &NightFacts<'_>) -> Vec<Finding> {
    let on = |r: &Recording| Finding {
        code: code.to_owned().into(),
        severity: Severity::Error,
        recording: Some(r.key.clone()),
        night: None,
        place: None,
        message: "a fault".into(),
        help: "mend it".into(),
        count: 1,
    };
    night.recordings.iter().map(on).collect()
}

pub(crate) fn study(dir: &Path) -> Study {
    Study::create(dir, TOML, "test").unwrap()
}
