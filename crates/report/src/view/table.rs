//! A table with a caption, in a box that scrolls by itself where it is too wide.

use crate::draw::text::{clean, coded};
use askama::Template;

/// A table.
#[derive(Debug, Template)]
#[template(path = "table.html")]
pub(crate) struct Table {
    id: String,
    caption: String,
    note: String,
    columns: Vec<String>,
    rows: Vec<Row>,
    /// On a narrow screen each row is a block of its own, so that nothing is cut.
    stacked: bool,
}

/// A row; its head names what it speaks of.
#[derive(Debug)]
pub(crate) struct Row {
    head: String,
    under: String,
    class: &'static str,
    cells: Vec<Cell>,
}

/// A cell: what it says, and smaller lines below.
#[derive(Debug)]
pub(crate) struct Cell {
    text: String,
    under: Vec<String>,
    class: &'static str,
}

impl Table {
    /// Returns an empty table; the first column holds the heads of the rows.
    pub(crate) fn new(id: String, caption: &str, note: &str, columns: &[&str]) -> Table {
        let columns = columns.iter().map(|c| clean(c)).collect();
        Table { id, caption: clean(caption), note: clean(note), columns, rows: Vec::new(), stacked: false }
    }

    /// The same for words rather than numbers: rows become blocks where there is little room.
    pub(crate) fn stacked(self) -> Table {
        Table { stacked: true, ..self }
    }

    /// Adds a row.
    pub(crate) fn row(&mut self, row: Row) {
        self.rows.push(row);
    }

    /// Says whether there is no row.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Says whether a column holds numbers, and so is set to the right; 0 is the column of the heads.
    fn numeric(&self, column: &usize) -> bool {
        let cell = |row: &Row| row.cells.get(column.wrapping_sub(1)).is_some_and(|c| c.class == "number");
        self.rows.iter().any(cell)
    }

    /// Where rows are blocks, each cell bears the head of its column; the style finds them here. Six columns at most.
    fn heads(&self) -> String {
        let heads = self.columns.iter().enumerate().skip(1);
        heads.map(|(i, head)| format!("--h{}:'{}';", i + 1, style_text(head))).collect()
    }
}

/// Returns a text for the inside of a string of a style: whatever is no letter, digit or blank is written as a number,
/// so that nothing can end the string.
fn style_text(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == ' ';
    text.chars().map(|c| if plain(c) { c.to_string() } else { format!("\\{:x} ", u32::from(c)) }).collect()
}

impl Row {
    /// Returns a row.
    pub(crate) fn new(head: &str, under: &str, cells: Vec<Cell>) -> Row {
        Row { head: clean(head), under: clean(under), class: "", cells }
    }

    /// The same, set apart as the reference.
    pub(crate) fn reference(self) -> Row {
        Row { class: "reference", ..self }
    }

    /// The same, marked as claims.
    pub(crate) fn claim(self) -> Row {
        Row { class: "claim", ..self }
    }
}

impl Cell {
    fn new(text: &str, under: &[&str], class: &'static str) -> Cell {
        let under = under.iter().filter(|u| !u.is_empty()).map(|u| coded(u)).collect();
        Cell { text: coded(text), under, class }
    }

    /// Returns a cell of a number.
    pub(crate) fn number(text: &str, under: &str) -> Cell {
        Cell::new(text, &[under], "number")
    }

    /// Returns a cell of a number with several smaller lines below.
    pub(crate) fn number_lines(text: &str, under: &[&str]) -> Cell {
        Cell::new(text, under, "number")
    }

    /// Returns a cell of words.
    pub(crate) fn words(text: &str) -> Cell {
        Cell::new(text, &[], "")
    }

    /// Returns a cell of a few words that stay on one line.
    pub(crate) fn brief(text: &str) -> Cell {
        Cell::new(text, &[], "brief")
    }

    /// Returns a cell of a few words that stay on one line, with a smaller line below.
    pub(crate) fn brief_under(text: &str, under: &str) -> Cell {
        Cell::new(text, &[under], "brief")
    }

    /// Returns a cell of words with a smaller line below.
    pub(crate) fn words_under(text: &str, under: &str) -> Cell {
        Cell::new(text, &[under], "")
    }

    /// Returns a cell of words with several smaller lines below.
    pub(crate) fn words_lines(text: &str, under: &[&str]) -> Cell {
        Cell::new(text, under, "")
    }

    /// Returns a cell that says why there is no number.
    pub(crate) fn none(why: &str) -> Cell {
        Cell::new(why, &[], "none")
    }

    /// Returns a cell of a hash, which may be broken anywhere.
    pub(crate) fn hash(name: &str, hash: &str) -> Cell {
        Cell::new(name, &[hash], "hash")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_ends_a_string_of_a_style() {
        assert_eq!(style_text("Value"), "Value");
        assert_eq!(style_text("';x\"<\u{e9}"), "\\27 \\3b x\\22 \\3c \\e9 ");
    }
}
