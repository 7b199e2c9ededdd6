//! `compare --what-if`: the headlines with one choice undone at a time, for the terminal.

use crate::output::{Out, clean, table};
use counterpane_compare::what_if::{Headline, WhatIf};
use counterpane_report::words::what_if as said;

/// Prints the headlines as they are, then every choice that changes one, and which changes most.
pub(super) fn print(what_if: &WhatIf, out: &mut Out) -> anyhow::Result<()> {
    out.paragraph("what the headline would be, were one choice made otherwise")?;
    out.paragraph(said::NOTE)?;
    out.line("")?;
    let measures = 0..what_if.measures.len();
    let heads: Vec<String> = what_if.measures.iter().map(|m| said::head(*m)).collect();
    let mut head = vec!["as it is", "people", "nights"];
    head.extend(heads.iter().map(String::as_str));
    let as_is = |h: &Headline| {
        let own = [clean(&h.device), h.participants.to_string(), h.nights.to_string()];
        own.into_iter().chain(measures.clone().map(|m| said::figure(h, what_if, m))).collect()
    };
    let rows: Vec<Vec<String>> = what_if.as_is.iter().map(as_is).collect();
    out.raw(&table(&head, &[1, 2, 3, 4], &rows, out.width()))?;
    out.line("")?;
    let mut head = vec!["otherwise", "device", "nights"];
    head.extend(heads.iter().flat_map(|h| [h.as_str(), "change"]));
    let rows: Vec<Vec<String>> = what_if
        .otherwise
        .iter()
        .flat_map(|o| o.headlines.iter().filter(|h| what_if.changes(h)).map(move |h| (said::otherwise(o), h)))
        .map(|(name, h)| {
            let own = [clean(&name), clean(&h.device), h.nights.to_string()];
            let figures = measures.clone().flat_map(|m| [said::figure(h, what_if, m), said::change(h, what_if, m)]);
            own.into_iter().chain(figures).collect()
        })
        .collect();
    out.raw(&table(&head, &[2, 3, 4, 5, 6], &without_repeats(rows), out.width()))?;
    out.line("")?;
    for sentence in said::largest(what_if).into_iter().chain(said::idle(what_if)) {
        out.paragraph(clean(&sentence))?;
    }
    Ok(())
}

/// What one choice changes in several devices bears its name once.
fn without_repeats(mut rows: Vec<Vec<String>>) -> Vec<Vec<String>> {
    let mut last = String::new();
    for name in rows.iter_mut().filter_map(|row| row.first_mut()) {
        if *name == last { name.clear() } else { last.clone_from(name) }
    }
    rows
}
