//! Nights and recordings for tests, from short texts.

use crate::Check;
use counterpane_model::{
    Claim, Fold, Instant, Lights, Locator, Night, NightFacts, NightKind, Quantity, ReadBy, Recording, ScoredBy, Source,
    Span, Stage, TimeBasis, Vocabulary, Zone,
};

/// The night of 2026-04-04 of P01 in Asia/Tokyo, where no clock changes, from 18:00 to 14:00.
pub(crate) fn night() -> Night {
    night_in("Asia/Tokyo")
}

/// The same night in another zone.
pub(crate) fn night_in(zone: &str) -> Night {
    Night {
        participant: "P01".into(),
        label: "2026-04-04".into(),
        kind: NightKind::Night,
        zone: zone.into(),
        window: (time(zone, "18:00"), time(zone, "14:00")),
        lights: Lights::default(),
    }
}

/// A time of day of that night: from 15:00 on it belongs to the evening's date, else to the next.
pub(crate) fn time(zone: &str, clock: &str) -> Instant {
    let date = if clock >= "15:00" { "2026-04-04" } else { "2026-04-05" };
    let wall = format!("{date} {clock}").parse().unwrap();
    Zone::named(zone).unwrap().instant_of(wall, Fold::Second).unwrap()
}

/// Spans of the night in Tokyo from text such as `22:00-22:30W 22:30-23:10:30Light`.
pub(crate) fn spans(text: &str) -> Vec<Span> {
    let span = |(line, word): (usize, &str)| {
        let (times, label) = word.split_at(word.find(|c: char| c.is_alphabetic()).unwrap());
        let (start, end) = times.split_once('-').unwrap();
        Span {
            start: time("Asia/Tokyo", start),
            end: time("Asia/Tokyo", end),
            mark: label.parse().unwrap(),
            label: label.to_lowercase(),
            locator: Locator::Text { line: line as u64 + 1, column: 1 },
        }
    };
    text.split_whitespace().enumerate().map(span).collect()
}

/// What the ring ring-a-1 says, in wake, light, deep and REM.
pub(crate) fn device(text: &str) -> Recording {
    Recording {
        key: "P01/2026-04-04/ring-a-1".into(),
        source: Source::Device { device: "ring-a".into(), unit: "ring-a-1".into() },
        participant: "P01".into(),
        night: "2026-04-04".into(),
        zone: "Asia/Tokyo".into(),
        time_basis: TimeBasis::OffsetInSource,
        vocabulary: Vocabulary(vec![Stage::W, Stage::Light, Stage::N3, Stage::R]),
        step_ms: 30_000,
        precision_ms: 0,
        spans: spans(text),
        claims: Vec::new(),
        notes: Vec::new(),
        file: "ring.csv".into(),
    }
}

/// What the scorer S1 says, in all stages.
pub(crate) fn reference(text: &str) -> Recording {
    Recording {
        key: "P01/2026-04-04/S1".into(),
        source: Source::Reference { scorer: "S1".into(), scored_by: ScoredBy::Human },
        vocabulary: Vocabulary(vec![Stage::W, Stage::N1, Stage::N2, Stage::N3, Stage::R]),
        file: "S1.edf".into(),
        ..device(text)
    }
}

/// A claim without rounding.
pub(crate) fn claim(quantity: Quantity, value: f64) -> Claim {
    Claim { quantity, value, rounding: 0.0, locator: Locator::Json { path: "$.totals".into() } }
}

/// What a check finds: `severity: message` in a line each, then the place.
pub(crate) fn found(check: &Check, night: &Night, recordings: &[Recording]) -> String {
    found_of(check, &NightFacts::of(night, recordings))
}

/// The same of one recording that a person typed.
pub(crate) fn found_typed(check: &Check, recording: &Recording) -> String {
    let read_by = [ReadBy { recording: recording.key.clone(), definition: "typed-changes".into() }];
    let (night, recordings) = (night(), [recording.clone()]);
    found_of(check, &NightFacts { read_by: &read_by, ..NightFacts::of(&night, &recordings) })
}

/// The same of a night of which more is known.
pub(crate) fn found_of(check: &Check, night: &NightFacts<'_>) -> String {
    let mut found = Vec::new();
    (check.check)(night, &mut found);
    let mut out = String::new();
    for finding in found {
        assert_eq!(finding.code, check.kind.code);
        assert!(!finding.message.ends_with('.'), "a message has no full stop: {}", finding.message);
        out += &format!("{}: {}\n", finding.severity, finding.message);
        if let Some(place) = finding.place {
            out += &format!("  at {} {}: {}\n", place.file, place.locator, place.line);
        }
    }
    out
}
