//! The table of docs/sheets.md.

use crate::measured::{Measured, Share};
use std::fmt::Write as _;

const BEGIN: &str = "<!-- Made by `UPDATE_EXPECT=1 cargo test -p counterpane --test injection`; do not edit. -->\n";
const END: &str = "<!-- end of what is made -->\n";

/// The page with the table written anew.
pub(crate) fn with_table(page: &str, seed: u64, errors: u64, rows: &[Measured]) -> String {
    let (before, rest) = page.split_once(BEGIN).expect("docs/sheets.md has the mark where the table begins");
    let (_, after) = rest.split_once(END).expect("docs/sheets.md has the mark where the table ends");
    format!("{before}{BEGIN}{}{END}{after}", table(seed, errors, rows))
}

/// The table, with what it was made of.
pub(crate) fn table(seed: u64, errors: u64, rows: &[Measured]) -> String {
    let mut out = format!(
        "\nSeed {seed}; {errors} errors of each kind, and {errors} valid sheets, at each precision; in per cent.\n\n"
    );
    out += "| precision, min | error | rows | totals | second | all | first | three |\n";
    out += "| --- | --- | --- | --- | --- | --- | --- | --- |\n";
    for row in rows {
        let [rows, totals, second] = row.alarms.map(percent);
        let p = row.precision;
        let _ = writeln!(out, "| {p} | none: a false alarm | {rows} | {totals} | {second} | | | |");
        for of in &row.kinds {
            let shares = [of.rows, of.claims, of.second, of.all, of.first, of.three].map(percent);
            let _ = writeln!(out, "| {p} | {} | {} |", of.kind.words(), shares.join(" | "));
        }
    }
    out + "\n"
}

fn percent(share: Share) -> String {
    if share.of == 0 { "-".into() } else { format!("{:.1}", share.percent()) }
}

/// Holds a measure with fewer errors against the page: each share within what so few can differ by.
pub(crate) fn assert_like(page: &str, seed: u64, errors: u64, rows: &[Measured]) {
    let how = "UPDATE_EXPECT=1 cargo test -p counterpane --test injection writes docs/sheets.md";
    assert!(
        page.contains(&format!("Seed {seed}; {errors} errors of each kind")),
        "the page is of another measure: {how}"
    );
    for row in rows {
        for of in &row.kinds {
            let head = format!("| {} | {} | ", row.precision, of.kind.words());
            let line = page.lines().find_map(|l| l.strip_prefix(&head)).unwrap_or_else(|| panic!("no `{head}`: {how}"));
            let told: Vec<f64> = line.split('|').filter_map(|cell| cell.trim().parse().ok()).collect();
            for (told, share) in told.iter().zip([of.rows, of.claims, of.second, of.all]) {
                let page = Share { hits: (told * 10.0) as u64, of: 1000 };
                let apart = (told - share.percent()).abs();
                let within = 4.0 * (page.error().powi(2) * 1000.0 / share.of as f64 + 1.0).sqrt();
                assert!(apart <= within, "{head}the page says {told}, and {share:?} was measured: {how}");
            }
        }
    }
}
