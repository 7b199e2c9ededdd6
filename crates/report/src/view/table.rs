//! A table with a caption, in a box that scrolls by itself where it is too wide.

use crate::draw::text::clean;
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
}

/// A row; its head names what it speaks of.
#[derive(Debug)]
pub(crate) struct Row {
    head: String,
    under: String,
    class: &'static str,
    cells: Vec<Cell>,
}

/// A cell: what it says, and a smaller line below.
#[derive(Debug)]
pub(crate) struct Cell {
    text: String,
    under: String,
    class: &'static str,
}

impl Table {
    /// Returns an empty table; the first column holds the heads of the rows.
    pub(crate) fn new(id: String, caption: &str, note: &str, columns: &[&str]) -> Table {
        let columns = columns.iter().map(|c| clean(c)).collect();
        Table { id, caption: clean(caption), note: clean(note), columns, rows: Vec::new() }
    }

    /// Adds a row.
    pub(crate) fn row(&mut self, row: Row) {
        self.rows.push(row);
    }

    /// Says whether there is no row.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
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
    /// Returns a cell of a number.
    pub(crate) fn number(text: &str, under: &str) -> Cell {
        Cell { text: clean(text), under: clean(under), class: "number" }
    }

    /// Returns a cell of words.
    pub(crate) fn words(text: &str) -> Cell {
        Cell { text: clean(text), under: String::new(), class: "" }
    }

    /// Returns a cell of a few words that stay on one line.
    pub(crate) fn brief(text: &str) -> Cell {
        Cell { text: clean(text), under: String::new(), class: "brief" }
    }

    /// Returns a cell of words with a smaller line below.
    pub(crate) fn words_under(text: &str, under: &str) -> Cell {
        Cell { text: clean(text), under: clean(under), class: "" }
    }

    /// Returns a cell that says why there is no number.
    pub(crate) fn none(why: &str) -> Cell {
        Cell { text: clean(why), under: String::new(), class: "none" }
    }

    /// Returns a cell of a hash, which may be broken anywhere.
    pub(crate) fn hash(name: &str, hash: &str) -> Cell {
        Cell { text: clean(name), under: clean(hash), class: "hash" }
    }
}
