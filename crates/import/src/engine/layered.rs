//! Rows inside rows: JSON in a cell of a table, and what a filter makes of a row.

use super::view::value_of;
use counterpane_formats::{Node, Path, Row, Value};
use counterpane_model::Locator;

/// A field of a row inside another one.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Slot<T> {
    /// It stands in the inner row.
    Inner(T),
    /// It is a wanted field of the row around it.
    Outer(usize),
}

/// A row of the JSON in a cell.
pub(super) struct InCell<'r> {
    /// The row of the JSON.
    pub(super) inner: &'r dyn Row,
    /// The row that has the cell.
    pub(super) outer: &'r dyn Row,
    pub(super) slots: &'r [Slot<usize>],
    /// Where the cell stands.
    pub(super) cell: Locator,
    /// Number of the row in the cell, from 1.
    pub(super) number: u64,
}

impl Row for InCell<'_> {
    fn locator(&self) -> Locator {
        self.cell.clone().item(self.number)
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        match self.slots.get(want)? {
            Slot::Inner(want) => self.inner.value(*want),
            Slot::Outer(want) => self.outer.value(*want),
        }
    }

    fn locate(&self, want: usize) -> Locator {
        match self.slots.get(want) {
            Some(Slot::Outer(want)) => self.outer.locate(*want),
            Some(Slot::Inner(_)) | None => self.locator(),
        }
    }

    fn line(&self) -> String {
        self.inner.line()
    }
}

/// A value that a filter gave for a row.
pub(super) struct Given<'r> {
    pub(super) node: Node,
    /// The row that the filter saw.
    pub(super) outer: &'r dyn Row,
    pub(super) slots: &'r [Slot<Path>],
    /// Number of the value, from 1, where the filter gave several.
    pub(super) number: Option<u64>,
}

impl Row for Given<'_> {
    fn locator(&self) -> Locator {
        match self.number {
            Some(number) => self.outer.locator().item(number),
            None => self.outer.locator(),
        }
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        match self.slots.get(want)? {
            Slot::Inner(path) => self.node.follow(&path.steps).map(value_of),
            Slot::Outer(want) => self.outer.value(*want),
        }
    }

    fn locate(&self, want: usize) -> Locator {
        match self.slots.get(want) {
            Some(Slot::Outer(want)) => self.outer.locate(*want),
            Some(Slot::Inner(_)) | None => self.locator(),
        }
    }

    fn line(&self) -> String {
        self.outer.line()
    }
}
