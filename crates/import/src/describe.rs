//! An outcome as text: what a dry run shows, and what the goldens of the samples hold.

use crate::outcome::{Outcome, Part, PartNight, Tally};
use counterpane_model::{Claim, Finding, Note, Quantity, Span, Zone};
use std::fmt::Write as _;

/// Returns an outcome as text: each night with its spans in local time, its claims, notes and findings, and
/// the tally at the end.
#[must_use]
pub fn describe(outcome: &Outcome) -> String {
    let mut out = String::new();
    for part in &outcome.parts {
        out.push_str(&describe_part(part));
    }
    for finding in &outcome.findings {
        out.push_str(&describe_finding(finding));
    }
    if !outcome.identity.is_empty() {
        let _ = writeln!(out, "the header identifies a person in: {}", outcome.identity.join(", "));
    }
    out.push_str(&describe_tally(&outcome.tally));
    out
}

fn describe_part(part: &Part) -> String {
    let night = match &part.night {
        PartNight::Declared(label) => format!("night {label}"),
        PartNight::Undeclared { evening, .. } => format!("night {evening}, not declared"),
    };
    let mut out = format!("{night}: {}, {}, step {} ms\n", part.zone, part.time_basis.code(), part.step_ms);
    let zone = Zone::named(&part.zone).ok();
    let text = |at: counterpane_model::Instant| zone.as_ref().map_or_else(|| at.utc_text(), |z| z.text_of(at));
    for span in &part.spans {
        let Span { start, end, mark, label, locator } = span;
        let _ = writeln!(out, "  {} {}  {mark:<8}  `{label}`  {locator}", text(*start), text(*end));
    }
    for claim in &part.claims {
        let Claim { quantity, value, rounding, locator } = claim;
        #[expect(clippy::cast_possible_truncation, reason = "a claimed time is a whole number of milliseconds")]
        let value = match quantity {
            Quantity::Start | Quantity::End => text(counterpane_model::Instant(*value as i64)),
            _ => format!("{value} {}", quantity.unit()),
        };
        let _ = writeln!(out, "  claim {quantity} = {value}, to {rounding} {}  {locator}", quantity.unit());
    }
    for note in &part.notes {
        let Note { at, until, kind, text: words, locator, .. } = note;
        let until = until.map(|u| format!(" until {}", text(u))).unwrap_or_default();
        let place = locator.as_ref().map_or_else(|| "typed".into(), ToString::to_string);
        let _ = writeln!(out, "  note {} {}{until}  `{words}`  {place}", kind.code(), text(*at));
    }
    for finding in &part.findings {
        out.push_str(&describe_finding(finding));
    }
    out
}

/// Returns a finding as it is printed: the user's own line under it, and what to do next.
fn describe_finding(finding: &Finding) -> String {
    let times = if finding.count == 1 { String::new() } else { format!(" ({} times)", finding.count) };
    let mut out = format!("{}[{}]: {}{times}\n", finding.severity, finding.code, finding.message);
    if let Some(place) = &finding.place {
        let _ = writeln!(out, " --> {}: {}\n  | {}", place.file, place.locator, place.line);
    }
    let _ = writeln!(out, "  help: {}", finding.help);
    out
}

fn describe_tally(tally: &Tally) -> String {
    let mut parts: Vec<(String, u64)> = vec![
        ("spans".into(), tally.spans),
        ("claims".into(), tally.claims),
        ("notes".into(), tally.notes),
        ("faulty".into(), tally.faulty),
    ];
    parts.extend(tally.ignored.iter().map(|(rule, n)| (format!("ignored ({rule})"), *n)));
    let text =
        parts.iter().filter(|(_, n)| *n > 0).map(|(what, n)| format!("{what} {n}")).collect::<Vec<_>>().join(", ");
    format!("rows {}: {text}\n", tally.rows)
}
