//! The last sections: findings, and where each number came from.

use super::table::{Cell, Row, Table};
use crate::input::{FindingLine, ProvenanceLine, Status};
use crate::words::count;
use counterpane_model::Severity;

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

/// Returns the findings as a table.
pub(crate) fn findings(findings: &[FindingLine]) -> Table {
    let note = "An error would make a number wrong; a warning lets it stand, with this said; info is unusual.";
    let columns = ["Finding", "What", "Where", "Decision"];
    let mut table = Table::new("findings-t".into(), "Findings of the checks", note, &columns);
    for f in findings {
        let times = if f.count > 1 { format!("{} times", f.count) } else { String::new() };
        let whose = [f.night.as_str(), f.source.as_str()].into_iter().filter(|t| !t.is_empty());
        let place = whose.collect::<Vec<_>>().join(", ");
        let decision = match &f.status {
            Status::Open if f.severity == Severity::Error => Cell::words("open"),
            Status::Open => Cell::words("none needed"),
            Status::Accepted { reason, author, date } => {
                Cell::words_under(&format!("accepted: {reason}"), &format!("{author}, {date}"))
            }
        };
        let cells = vec![Cell::words_under(&f.message, &times), Cell::words_under(&place, &f.place), decision];
        table.row(Row::new(f.severity.code(), &f.code, cells));
    }
    table
}

/// Returns the origins of the recordings as a table.
pub(crate) fn provenance(lines: &[ProvenanceLine]) -> Table {
    let note = "A hash names the exact bytes: whoever holds the file can compute its SHA-256 and compare.";
    let columns = ["Recording", "Original, and its SHA-256", "Definition, and its SHA-256", "How times were known"];
    let mut table = Table::new("provenance-t".into(), "Originals and definitions", note, &columns);
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
