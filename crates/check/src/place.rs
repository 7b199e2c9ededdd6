//! Where a finding points, for recordings whose original lines are no longer at hand.

use crate::clock::Clock;
use counterpane_model::{Claim, Finding, Kind, Place, Quantity, Recording, Span};

/// Returns a finding of a recording that points at one of its spans.
///
/// The store keeps where a span stands and not the line itself, so the span in local time stands in
/// for the line, such as `2026-04-04 23:10 - 23:40 light`.
pub(crate) fn at_span(kind: &Kind, recording: &Recording, span: &Span, clock: &Clock, message: String) -> Finding {
    let line = format!("{} {}", clock.dated_stretch(span.start, span.end), label(span));
    let place = Place { file: recording.file.clone(), locator: span.locator.clone(), line };
    kind.finding(message).of(recording).at(place)
}

/// Returns a finding of a recording that points at one of its claims.
pub(crate) fn at_claim(kind: &Kind, recording: &Recording, claim: &Claim, clock: &Clock, message: String) -> Finding {
    let line = format!("{} {}", claim.quantity, claimed(claim.quantity, claim.value, clock));
    let place = Place { file: recording.file.clone(), locator: claim.locator.clone(), line };
    kind.finding(message).of(recording).at(place)
}

/// Returns a value with its unit; a point in time as local date and time.
pub(crate) fn claimed(quantity: Quantity, value: f64, clock: &Clock) -> String {
    match quantity.unit() {
        "ms" => clock.dated(counterpane_model::Instant(value as i64)),
        unit => format!("{} {unit}", crate::words::one_decimal(value)),
    }
}

/// Returns the source's own word for a span, or the stage where the source has no word.
pub(crate) fn label(span: &Span) -> &str {
    if span.label.trim().is_empty() { span.mark.code() } else { &span.label }
}
