//! The last sections: findings, and where each number came from.

use super::table::{Cell, Row, Table};
use crate::input::{FindingLine, ProvenanceLine, Status};
use crate::words::{count, when};
use counterpane_model::Severity;
use std::collections::BTreeSet;

/// Returns how many findings there are of each severity, and how many are open.
pub(crate) fn findings_counted(findings: &[FindingLine]) -> String {
    if findings.is_empty() {
        return "The checks found nothing in the recordings of this report.".into();
    }
    let of = |severity: Severity| findings.iter().filter(|f| f.severity == severity).count();
    let info = match of(Severity::Info) {
        1 => "1 thing that is unusual".to_owned(),
        n => format!("{n} things that are unusual"),
    };
    let open = findings.iter().filter(|f| f.status == Status::Open && f.severity == Severity::Error).count();
    format!(
        "{}, {}, {info}. {}",
        count(of(Severity::Error), "error"),
        count(of(Severity::Warning), "warning"),
        match open {
            0 => "No error is open.".to_owned(),
            1 => "1 error is open: numbers computed from it would be wrong.".to_owned(),
            n => format!("{n} errors are open: numbers computed from them would be wrong."),
        }
    )
}

/// Returns the findings as a table: errors first, and what was found alike in several nights once.
pub(crate) fn findings(findings: &[FindingLine]) -> Table {
    let note = "An error would make a number wrong; a warning lets it stand, with this said; info is unusual. What was \
                found alike in several places stands once, with all its places.";
    let columns = ["Finding", "What", "Where", "Decision"];
    let mut table = Table::new("findings-t".into(), "Findings of the checks", note, &columns).stacked();
    for alike in grouped(findings) {
        let Some(f) = alike.first() else { continue };
        let cells = vec![Cell::words_under(&f.message, &how_often(f, &alike)), places(f, &alike), decision(f)];
        table.row(Row::new(f.severity.code(), &f.code, cells));
    }
    table
}

/// Puts findings together that say the same; those that only inform also where no more than their
/// numbers differ, since no result hangs on them.
fn grouped(findings: &[FindingLine]) -> Vec<Vec<&FindingLine>> {
    let said = |f: &FindingLine| match f.severity {
        Severity::Info => f.message.replace(|c: char| c.is_ascii_digit(), ""),
        _ => f.message.clone(),
    };
    let alike = |a: &FindingLine, b: &FindingLine| {
        (a.severity, &a.code, &a.status) == (b.severity, &b.code, &b.status) && said(a) == said(b)
    };
    let mut groups: Vec<Vec<&FindingLine>> = Vec::new();
    for finding in findings {
        match groups.iter_mut().find(|g| g.first().is_some_and(|f| alike(f, finding))) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    // Stable: within a code the order of the checks stays.
    groups.sort_by_key(|g| g.first().map(|f| (f.severity, &f.code)));
    groups
}

fn how_often(first: &FindingLine, alike: &[&FindingLine]) -> String {
    let times: u64 = alike.iter().map(|f| f.count).sum();
    let others = alike.iter().filter(|f| f.message != first.message).count();
    let times = if times > 1 { format!("{times} times") } else { String::new() };
    if others > 0 { format!("and {others} more like it; {times} in all") } else { times }
}

fn places(first: &FindingLine, alike: &[&FindingLine]) -> Cell {
    let whose = |f: &FindingLine| join(&[&f.night, &f.source], ", ");
    if alike.len() == 1 {
        return Cell::words_under(&whose(first), &first.place);
    }
    let nights: BTreeSet<&str> = alike.iter().map(|f| f.night.as_str()).filter(|n| !n.is_empty()).collect();
    let mut lines: Vec<String> = alike.iter().map(|f| join(&[&whose(f), &f.place], ": ")).collect();
    lines.dedup();
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    Cell::words_lines(&count(nights.len(), "night"), &lines)
}

fn join(parts: &[&str], by: &str) -> String {
    parts.iter().copied().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(by)
}

fn decision(f: &FindingLine) -> Cell {
    match (&f.status, f.severity) {
        (Status::Accepted { reason, author, date }, _) => {
            Cell::words_under(&format!("accepted: {reason}"), &format!("{author}, {}", when(date)))
        }
        (Status::Open, Severity::Error) => Cell::words("open"),
        (Status::Open, Severity::Warning) => Cell::words("stands, with this remark"),
        (Status::Open, Severity::Info) => Cell::words("nothing to decide"),
    }
}

/// Returns the origins of the recordings as a table.
pub(crate) fn provenance(lines: &[ProvenanceLine]) -> Table {
    let note = "A hash names the exact bytes: whoever holds the file can compute its SHA-256 and compare.";
    let columns = ["Recording", "Original, and its SHA-256", "Definition, and its SHA-256", "How times were known"];
    let mut table = Table::new("provenance-t".into(), "Originals and definitions", note, &columns).stacked();
    for p in lines {
        let zone = format!("{}; zone rules {}", p.zone, p.zone_rules);
        let cells = vec![
            Cell::hash(&p.file, &p.sha256),
            Cell::hash(&p.definition, &p.definition_sha256),
            Cell::words_under(&p.time_basis, &zone),
        ];
        table.row(Row::new(&p.recording, "", cells));
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use askama::Template;

    fn line(severity: Severity, code: &str, night: &str, message: &str, count: u64) -> FindingLine {
        let (code, night, message) = (code.into(), night.into(), message.into());
        let (source, place) = ("ring-a-1".into(), String::new());
        FindingLine { severity, code, night, source, message, place, count, status: Status::Open }
    }

    #[test]
    fn errors_come_first_and_equal_findings_of_several_nights_once() {
        let found = [
            line(Severity::Info, "time-settled", "P01/a", "a time came `twice`", 3),
            line(Severity::Warning, "gap-inside", "P01/a", "a gap", 1),
            line(Severity::Info, "time-settled", "P01/b", "a time came `twice`", 4),
            line(Severity::Error, "spans-overlap", "P01/b", "an overlap", 1),
        ];
        let html = findings(&found).render().unwrap();
        let at = |words: &str| html.find(words).unwrap_or_else(|| panic!("`{words}` is not in {html}"));
        assert!(at("spans-overlap") < at("gap-inside") && at("gap-inside") < at("time-settled"));
        assert_eq!(html.matches("time-settled").count(), 1);
        at("2 nights<small>P01/a, ring-a-1</small><small>P01/b, ring-a-1</small>");
        at("a time came <code>twice</code><small>7 times</small>");
        at("stands, with this remark");
        assert!(!html.contains("none needed"));
    }

    #[test]
    fn what_only_informs_is_put_together_where_numbers_alone_differ() {
        let of = |severity| {
            let found =
                [line(severity, "x", "P01/a", "30 s at 02:50", 1), line(severity, "x", "P01/b", "30 s at 03:01", 1)];
            findings(&found).render().unwrap()
        };
        assert!(of(Severity::Info).contains("30 s at 02:50<small>and 1 more like it; 2 times in all</small>"));
        assert!(of(Severity::Warning).contains("30 s at 03:01"));
    }
}
