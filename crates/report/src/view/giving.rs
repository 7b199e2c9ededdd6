//! How each device gives its data, and what was worn when, as the study states it.

use super::table::{Cell, Row, Table};
use crate::draw::text::clean;
use crate::input::{DeviceLine, WearingLine};
use crate::words;

/// What stands where the study says nothing.
const NOTHING: &str = "not stated";

/// Returns the facts of each device as a table; remarks only where there are any.
pub(crate) fn devices(lines: &[DeviceLine]) -> Table {
    let note = "As whoever made this study states it; nothing here is measured.";
    let mut columns =
        vec!["Device", "How its data is got", "Effort for a night", "Finest step", "What the export lacks"];
    let remarks = lines.iter().any(|d| d.note.is_some());
    columns.extend(remarks.then_some("Remark"));
    let mut table = Table::new("giving-t".into(), "How each device gives its data", note, &columns).stacked();
    for d in lines {
        let said = |text: &Option<String>| Cell::words(text.as_deref().unwrap_or(NOTHING));
        let mut cells = vec![
            Cell::words_under(d.route.as_deref().unwrap_or(NOTHING), &read_by(d)),
            effort(d),
            said(&d.finest_step),
            said(&d.lost),
        ];
        cells.extend(remarks.then(|| Cell::words(d.note.as_deref().unwrap_or("-"))));
        table.row(Row::new(&d.name, d.obtained.as_deref().unwrap_or_default(), cells));
    }
    table
}

fn effort(device: &DeviceLine) -> Cell {
    let steps = device.steps.map(|n| words::count(n, "step"));
    match (steps, device.minutes.map(words::minutes)) {
        (Some(steps), Some(minutes)) => Cell::brief_under(&minutes, &steps),
        (steps, minutes) => Cell::brief(&steps.or(minutes).unwrap_or(NOTHING.to_owned())),
    }
}

fn read_by(device: &DeviceLine) -> String {
    let definitions: Vec<String> = device.definitions.iter().map(|d| format!("`{d}`")).collect();
    let typed = if device.typed { ": typed from a screen by hand" } else { "" };
    match definitions.is_empty() {
        true => String::new(),
        false => format!("read by {}{typed}", definitions.join(", ")),
    }
}

/// What a wearing says beside unit and night, in the order of the columns.
type Said = [Option<String>; 5];

const HEADS: [&str; 5] = ["Participant", "Site", "Side", "Firmware", "App"];

/// Returns the wearings as a table in which nothing is said twice: nights of a unit that are alike share a row, and what
/// is the same in every wearing stands above the table. `None` where the study states none.
pub(crate) fn wearings(lines: &[WearingLine]) -> Option<Table> {
    let first = said(lines.first()?);
    let same = |column: usize| lines.iter().all(|w| said(w).get(column) == first.get(column));
    let constant: Vec<String> = (0..HEADS.len())
        .filter(|c| same(*c))
        .filter_map(|c| Some(format!("{} {}", HEADS.get(c)?.to_lowercase(), first.get(c)?.as_ref()?)))
        .collect();
    let varying: Vec<usize> = (0..HEADS.len()).filter(|c| !same(*c)).collect();
    let note = match constant.is_empty() {
        true => "Nights on which a unit was worn alike share a row.".to_owned(),
        false => {
            format!("In every wearing: {}. Nights on which a unit was worn alike share a row.", constant.join(", "))
        }
    };
    let heads = varying.iter().filter_map(|c| HEADS.get(*c).copied());
    let columns: Vec<&str> = ["Unit", "Nights"].into_iter().chain(heads).collect();
    let mut table = Table::new("wearings-t".into(), "What was worn when", &note, &columns);
    for (unit, said, nights) in folded(lines) {
        let mut cells = vec![Cell::words(&nights.join(", "))];
        let own = varying.iter().map(|c| said.get(*c).and_then(Option::as_deref).unwrap_or("-"));
        cells.extend(own.map(Cell::words));
        table.row(Row::new(unit, "", cells));
    }
    // Rows become blocks with up to six heads; a unit with everything varying has seven.
    Some(if columns.len() > 6 { table } else { table.stacked() })
}

fn said(w: &WearingLine) -> Said {
    [Some(w.participant.clone()), w.site.clone(), w.side.clone(), w.firmware.clone(), w.app.clone()]
}

/// Wearings of a unit that say the same, with their nights, in the order in which each was first said.
fn folded(lines: &[WearingLine]) -> Vec<(&str, Said, Vec<String>)> {
    let mut out: Vec<(&str, Said, Vec<String>)> = Vec::new();
    for w in lines {
        let own = said(w);
        match out.iter_mut().find(|(unit, said, _)| *unit == w.unit && *said == own) {
            Some((_, _, nights)) => nights.push(clean(&w.night)),
            None => out.push((&w.unit, own, vec![clean(&w.night)])),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wearing from `unit participant night site side firmware app`; `-` is not stated.
    fn worn(text: &str) -> WearingLine {
        let words: Vec<&str> = text.split(' ').collect();
        let fact = |i: usize| Some(words[i].to_owned()).filter(|w| w != "-");
        WearingLine {
            unit: words[0].into(),
            participant: words[1].into(),
            night: words[2].into(),
            site: fact(3),
            side: fact(4),
            firmware: fact(5),
            app: fact(6),
        }
    }

    fn check(lines: &[&str], said: &[&str], never: &[&str]) {
        let html = wearings(&lines.iter().map(|l| worn(l)).collect::<Vec<_>>()).unwrap().to_string();
        assert!(said.iter().all(|s| html.contains(s)), "{html}");
        assert!(!never.iter().any(|s| html.contains(s)), "{html}");
    }

    #[test]
    fn what_never_changes_is_said_once() {
        check(
            &["r-1 P01 n1 finger left 1.0 -", "r-1 P01 n2 finger left 1.0 -", "r-1 P01 n3 finger right 1.0 -"],
            &["In every wearing: participant P01, site finger, firmware 1.0.", ">n1, n2<", ">n3<", ">Side<", ">right<"],
            &[">Site<", ">Firmware<", ">App<", "app", ">finger<"],
        );
    }

    #[test]
    fn units_that_are_worn_alike_keep_rows_of_their_own() {
        check(
            &["r-1 P01 n1 - - - -", "r-2 P01 n1 - - - -"],
            &["In every wearing: participant P01.", ">r-1<", ">r-2<"],
            &[">Participant<"],
        );
        assert!(wearings(&[]).is_none());
    }
}
