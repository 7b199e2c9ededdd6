//! Columns of words, and which words are unmistakable in English.

use super::tables::{Field, Table};
use std::collections::BTreeMap;

/// A column whose texts may be the source's words for stages.
#[derive(Clone, Debug)]
pub(super) struct Label {
    /// Number of the field.
    pub(super) field: usize,
    /// Each distinct word and its rows.
    pub(super) words: BTreeMap<String, usize>,
    /// Distinct words that are unmistakable.
    pub(super) known: usize,
    /// They are words, not numbers.
    pub(super) worded: bool,
}

/// A source has few words; what has more is a name, an id or a remark.
const MOST_WORDS: usize = 24;

/// Returns the columns of a table that may hold words for stages.
pub(super) fn labels(table: &Table) -> Vec<Label> {
    let all = table.fields.iter().enumerate().filter_map(|(n, field)| label(n, field, table.rows()));
    all.filter(|l| table.fields[l.field].up > 0 || table.kind != super::tables::Kind::Rows || !names_its_list(table, l))
        .collect()
}

/// Says whether a word stands in all rows of its list, and another one in those of another: it names the list.
fn names_its_list(table: &Table, label: &Label) -> bool {
    let cells = &table.fields[label.field].cells;
    let mut words: BTreeMap<usize, (&str, usize)> = BTreeMap::new();
    for (group, cell) in table.groups.iter().zip(cells) {
        let word = cell.word().unwrap_or_default();
        let first = words.entry(*group).or_insert((word, 0));
        if first.0 != word {
            return false;
        }
        first.1 += 1;
    }
    words.len() > 1 && words.values().all(|(_, rows)| *rows > 2)
}

fn label(n: usize, field: &Field, rows: usize) -> Option<Label> {
    if field.up > 1 || field.via.is_some() {
        return None;
    }
    let mut words: BTreeMap<String, usize> = BTreeMap::new();
    for word in field.cells.iter().filter_map(|c| c.word()) {
        *words.entry(word.to_owned()).or_default() += 1;
        if words.len() > MOST_WORDS {
            return None;
        }
    }
    let (present, label) = (words.values().sum::<usize>(), of_words(n, words));
    let distinct = label.words.len();
    let whole =
        |w: &String| w == "null" || w.parse::<f64>().is_ok_and(|i| i.fract() == 0.0 && (-20.0..=99.0).contains(&i));
    let numbers_fit = label.worded || (label.words.keys().all(whole) && distinct <= 9 && distinct * 2 <= rows);
    let like_words = |w: &String| w.chars().count() <= 40 && !w.contains('{') && !(w.starts_with('[') && w.len() > 8);
    let times = field
        .cells
        .iter()
        .filter_map(|c| c.text())
        .any(|t| counterpane_model::Zone::named(t).is_ok() && t.contains('/'));
    let repeats = distinct < present || present <= 8;
    let varies = distinct > 1 || label.known > 0;
    let fits =
        present * 10 >= rows * 9 && numbers_fit && label.words.keys().all(like_words) && !times && repeats && varies;
    // Above the rows only plain words are those of stages: groups that are named by their stage.
    let above = field.up == 0 || label.known >= 2;
    (fits && above).then_some(label)
}

fn of_words(field: usize, words: BTreeMap<String, usize>) -> Label {
    let known = words.keys().filter(|w| stage_of(w).is_some()).count();
    let worded = words.keys().any(|w| w != "null" && w.trim().parse::<f64>().is_err());
    Label { field, words, known, worded }
}

/// Returns what an English word for a stage plainly means, as the right side of `[stages]`.
///
/// Deliberately absent: digits, letters with several uses, and words such as `core` or `quiet` that makers use in
/// different ways.
pub(super) fn stage_of(word: &str) -> Option<&'static str> {
    let lower = word.trim().to_lowercase().replace(['_', '-'], " ");
    let bare = ["sleep stage ", "stage ", "sleep "].iter().find_map(|p| lower.strip_prefix(p)).unwrap_or(&lower);
    let bare = bare.strip_suffix(" sleep").unwrap_or(bare);
    Some(match bare {
        "awake" | "wake" | "w" | "waking" => "W",
        "n1" => "N1",
        "n2" => "N2",
        "n3" => "N3",
        "rem" | "r" => "R",
        "light" => "Light",
        "deep" => "N3",
        "nrem" | "non rem" => "NREM",
        "asleep" | "sleep" | "sleeping" => "Asleep",
        _ => return None,
    })
}

/// Says whether the name of a field says that it holds stages.
pub(super) fn is_named_like_stages(name: &str) -> bool {
    let lower = name.to_lowercase();
    ["stage", "phase", "hypno", "level", "depth", "sleep"].iter().any(|w| lower.contains(w))
}

/// Returns how many of a label's words stand in place of another's: each word of one goes with one of the other.
pub(super) fn same_in_other_words(table: &Table, a: &Label, b: &Label) -> bool {
    let mut pairs: BTreeMap<&str, &str> = BTreeMap::new();
    let (a, b) = (&table.fields[a.field], &table.fields[b.field]);
    a.cells
        .iter()
        .zip(&b.cells)
        .filter_map(|(a, b)| Some((a.word()?, b.word()?)))
        .all(|(a, b)| *pairs.entry(a).or_insert(b) == b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_unmistakable_words_are_suggested() {
        let found = ["awake", "Sleep stage N2", "REM", "deep_sleep", "light", "1", "core", "l", "S1"].map(stage_of);
        assert_eq!(found, [Some("W"), Some("N2"), Some("R"), Some("N3"), Some("Light"), None, None, None, None]);
    }
}
