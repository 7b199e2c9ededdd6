//! Made-up recordings for the unit tests: one letter for each epoch, as in `Cell::letter`.

use counterpane_model::{
    Cell, EPOCH_MS, Instant, Lights, Locator, Mark, Night, NightKind, Recording, ScoredBy, Source, Span, Stage,
    TimeBasis, Vocabulary,
};

/// 2026-04-04T12:00:00Z.
pub(crate) const START: Instant = Instant(1_775_304_000_000);

pub(crate) fn at(epoch: i64) -> Instant {
    Instant(START.0 + epoch * EPOCH_MS)
}

/// A scorer that can say the five stages.
pub(crate) fn psg(letters: &str) -> Recording {
    let source = Source::Reference { scorer: "A".into(), scored_by: ScoredBy::Human };
    recording("P01/2026-04-04/psg-A", source, &[Stage::W, Stage::N1, Stage::N2, Stage::N3, Stage::R], letters)
}

/// A device with a vocabulary of its own.
pub(crate) fn ring(can: &[Stage], letters: &str) -> Recording {
    let source = Source::Device { device: "ring-a".into(), unit: "ring-a-1".into() };
    recording("P01/2026-04-04/ring-a-1", source, can, letters)
}

pub(crate) fn recording(key: &str, source: Source, can: &[Stage], letters: &str) -> Recording {
    let (participant, night) = key.split_once('/').unwrap();
    Recording {
        key: key.into(),
        source,
        participant: participant.into(),
        night: night.split('/').next().unwrap().into(),
        zone: "Australia/Sydney".into(),
        time_basis: TimeBasis::ZoneOfNight,
        vocabulary: Vocabulary(can.to_vec()),
        step_ms: EPOCH_MS,
        precision_ms: 0,
        spans: letters.chars().enumerate().filter_map(|(i, letter)| span(i, letter)).collect(),
        claims: Vec::new(),
        notes: Vec::new(),
        file: format!("{}.json", key.replace('/', "-")),
    }
}

fn span(epoch: usize, letter: char) -> Option<Span> {
    let mark = match Cell::all().into_iter().find(|c| c.letter() == letter).unwrap() {
        Cell::Stage(stage) => Mark::Stage(stage),
        Cell::Unscored => Mark::Unscored,
        Cell::Off => Mark::Off,
        Cell::Missing => return None,
    };
    let epoch = i64::try_from(epoch).unwrap();
    let locator = Locator::Text { line: 1, column: 1 };
    Some(Span { start: at(epoch), end: at(epoch + 1), mark, label: letter.into(), locator })
}

pub(crate) fn night() -> Night {
    Night {
        participant: "P01".into(),
        label: "2026-04-04".into(),
        kind: NightKind::Night,
        zone: "Australia/Sydney".into(),
        window: (at(-1000), at(2000)),
        lights: Lights::default(),
    }
}

pub(crate) fn letters(cells: &[Cell]) -> String {
    cells.iter().map(|c| c.letter()).collect()
}
