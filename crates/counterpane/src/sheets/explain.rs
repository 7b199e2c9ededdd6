//! Which slip of the hand would explain that the totals of a screen do not fit the rows that were typed off it.

use counterpane_check::claims_fit;
use counterpane_model::{Mark, Recording, Span, Stage};

/// The stages of a screen, with the words of a sheet.
const STAGES: [(Stage, &str); 4] =
    [(Stage::W, "wake"), (Stage::Light, "light"), (Stage::N3, "deep"), (Stage::R, "rem")];
/// Slips of a time, in minutes, the likelier first (our own order, no source).
const SLIPS: [(i64, &str); 4] =
    [(10, "ten minutes later"), (-10, "ten minutes earlier"), (60, "an hour later"), (-60, "an hour earlier")];
const MINUTE_MS: i64 = 60_000;
/// Explanations that are told.
const TOLD: usize = 3;

/// Returns the single slips under which every total fits, the likeliest first: a stage, ten minutes, an hour, a row too
/// many. Empty where the totals fit as it is, or where no single slip explains them.
///
/// Only the stages of a screen are looked at; rows that say something else leave it empty.
pub(crate) fn explain(recording: &Recording) -> Vec<String> {
    let spans = &recording.spans;
    let known = |s: &Span| STAGES.iter().any(|(stage, _)| s.mark == Mark::Stage(*stage));
    if spans.is_empty() || !spans.iter().all(known) || fits(recording, spans) {
        return Vec::new();
    }
    let mut out = Vec::new();
    for at in 0..spans.len() {
        for (stage, word) in STAGES.iter().filter(|(stage, _)| spans[at].mark != Mark::Stage(*stage)) {
            let mut changed = spans.clone();
            changed[at].mark = Mark::Stage(*stage);
            if fits(recording, &changed) {
                out.push((0, format!("`{}` at {} being {word}", spans[at].label, spans[at].locator)));
            }
        }
        for (rank, (minutes, words)) in (1..).zip(SLIPS) {
            if moved(spans, at, minutes).is_some_and(|changed| fits(recording, &changed)) {
                out.push((rank, format!("`{}` at {} beginning {words}", spans[at].label, spans[at].locator)));
            }
        }
        if at > 0 {
            let mut changed = spans.clone();
            changed[at - 1].end = changed[at].end;
            changed.remove(at);
            if fits(recording, &changed) {
                out.push((5, format!("`{}` at {} not being there", spans[at].label, spans[at].locator)));
            }
        }
    }
    out.sort_by_key(|(rank, _)| *rank);
    out.into_iter().take(TOLD).map(|(_, text)| text).collect()
}

/// Returns the spans with one of them beginning at another time, where that leaves every span a length.
fn moved(spans: &[Span], at: usize, minutes: i64) -> Option<Vec<Span>> {
    let mut out = spans.to_vec();
    out[at].start = out[at].start.plus_ms(minutes * MINUTE_MS)?;
    if let Some(before) = at.checked_sub(1) {
        out[before].end = out[at].start;
    }
    out.iter().all(|s| s.length_ms() > 0).then_some(out)
}

fn fits(recording: &Recording, spans: &[Span]) -> bool {
    claims_fit(&Recording { spans: spans.to_vec(), ..recording.clone() })
}
