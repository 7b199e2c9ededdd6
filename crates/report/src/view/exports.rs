//! Several exports of one night by one source: which counts and why, and how much they differ.

use super::table::{Cell, Row, Table};
use crate::input::{Chosen, ExportLine};
use crate::words;
use counterpane_model::Mark;
use counterpane_model::night::minutes_changed;

/// Returns every export of the nights that have several as a table.
pub(crate) fn exports(lines: &[ExportLine]) -> Table {
    let note = "A device may give a night again and tell it otherwise. One export counts in every number; the others stand \
                beside it, and here is what they say otherwise.";
    let columns = ["Recording", "File", "Which counts", "Minutes"];
    let mut table = Table::new("exports-t".into(), "Several exports of one night", note, &columns).stacked();
    for of_one in lines.chunk_by(|a, b| (&a.night, &a.source) == (&b.night, &b.source)) {
        let counting = of_one.iter().find(|e| e.chosen.is_some());
        for e in of_one {
            let brought = format!("decision {}, {}", e.decision, words::when(&e.at));
            let minutes = match counting {
                Some(counting) if e.chosen.is_none() => difference(counting, e),
                _ => joined(e.minutes.iter().map(|(mark, m)| (*mark, words::minutes(*m)))),
            };
            let cells = vec![Cell::words_under(&e.file, &brought), chosen(e.chosen.as_ref()), Cell::words(&minutes)];
            table.row(Row::new(&e.recording, &e.night, cells));
        }
    }
    table
}

fn chosen(chosen: Option<&Chosen>) -> Cell {
    match chosen {
        None => Cell::words("stands beside the one that counts"),
        Some(Chosen::First) => Cell::words_under("counts", "because it came first"),
        Some(Chosen::Decided { decision, reason, author, date }) => {
            let why = format!("since decision {decision}: {reason}");
            Cell::words_lines("counts", &[&why, &format!("{author}, {}", words::when(date))])
        }
    }
}

/// What an export has more or less than the one that counts, where they differ.
fn difference(counting: &ExportLine, other: &ExportLine) -> String {
    let changed = minutes_changed(&counting.minutes, &other.minutes);
    let said = joined(changed.into_iter().map(|(mark, more)| (mark, words::signed(more))));
    if said.is_empty() {
        "no stage differs in minutes".to_owned()
    } else {
        format!("against the one that counts: {said}")
    }
}

fn joined(minutes: impl Iterator<Item = (Mark, String)>) -> String {
    let name = |mark: Mark| match mark {
        Mark::Stage(stage) => words::class_head(stage),
        Mark::Unscored => "not scored",
        Mark::Off => "off the body",
    };
    minutes.map(|(mark, said)| format!("{} {said}", name(mark))).collect::<Vec<_>>().join(", ")
}
