//! The rows of a sheet under its header.

use super::cell::{Cell, Run, address, column_of};
use crate::{Event, Flow, FormatError, Head, Request, Row, Value, shorten};
use counterpane_model::Locator;

/// Rows above the header that are kept, because an area that is merged may begin there.
const ABOVE: usize = 16;

/// An area of cells that is shown as its first cell; rows and columns count from 0, both ends belong to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Merged {
    pub(super) rows: (u32, u32),
    pub(super) columns: (u32, u32),
}

/// A sheet being read: its header is looked for first.
pub(super) struct Table<'q> {
    request: &'q Request,
    sheet: &'q str,
    /// Rows above the header.
    above: Vec<(u32, Vec<Run>)>,
    first: Option<String>,
    /// Column of each wanted field, once the header is known.
    wanted: Option<Vec<u32>>,
    rows: u64,
}

impl<'q> Table<'q> {
    pub(super) fn new(request: &'q Request, sheet: &'q str) -> Table<'q> {
        Table { request, sheet, above: Vec::new(), first: None, wanted: None, rows: 0 }
    }

    /// Takes the next row that holds anything.
    pub(super) fn row(
        &mut self,
        row: u32,
        runs: &[Run],
        merged: &[Merged],
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        let Some(wanted) = &self.wanted else { return self.maybe_header(row, runs, merged, sink) };
        self.rows += 1;
        let limit = self.request.limits.rows;
        if self.rows > limit {
            return Err(FormatError::Limit { what: format!("row {}", self.rows), name: "rows", limit });
        }
        Ok(sink(Event::Row(&SheetRow { sheet: self.sheet, row, runs, wanted })))
    }

    /// Says that there was no header.
    pub(super) fn finish(&self) -> Result<(), FormatError> {
        match (&self.wanted, &self.request.text.header_with, &self.first) {
            (Some(_), _, _) => Ok(()),
            (None, Some(mark), Some(first)) => {
                let why = format!("no row of the sheet holds it, so there is no header; the first row is `{first}`");
                Err(FormatError::Request { what: mark.clone(), why })
            }
            _ => {
                Err(FormatError::NotThis { expected: "a sheet with rows", found: format!("`{}` is empty", self.sheet) })
            }
        }
    }

    fn maybe_header(
        &mut self,
        row: u32,
        runs: &[Run],
        merged: &[Merged],
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        self.first.get_or_insert_with(|| shorten::cut(&line(runs), 80));
        if let Some(mark) = &self.request.text.header_with
            && !runs.iter().any(|r| r.cell.shown().contains(mark.as_str()))
        {
            if self.above.len() == ABOVE {
                self.above.remove(0);
            }
            self.above.push((row, runs.to_vec()));
            return Ok(Flow::Continue);
        }
        let columns = self.columns(row, runs, merged)?;
        self.wanted = Some(self.resolve(&columns)?);
        self.above.clear();
        Ok(sink(Event::Head(&Head { columns, ..Head::default() })))
    }

    /// Returns the names of the columns: the text of a merged area is that of each of its columns.
    fn columns(&self, row: u32, runs: &[Run], merged: &[Merged]) -> Result<Vec<String>, FormatError> {
        let most = self.request.limits.columns;
        let areas: Vec<&Merged> = merged.iter().filter(|m| (m.rows.0..=m.rows.1).contains(&row)).collect();
        let end = runs.iter().map(|r| r.from + r.count).chain(areas.iter().map(|m| m.columns.1 + 1)).max().unwrap_or(0);
        if end as usize > most {
            let what = format!("a header of {end} columns");
            return Err(FormatError::Limit { what, name: "columns", limit: most as u64 });
        }
        let mut columns = vec![String::new(); end as usize];
        for run in runs {
            for column in run.from..run.from + run.count {
                columns[column as usize] = run.cell.shown().trim().to_owned();
            }
        }
        for area in areas {
            let first = match area.rows.0 {
                begins if begins == row => Some(runs),
                begins => self.above.iter().find(|(r, _)| *r == begins).map(|(_, runs)| runs.as_slice()),
            };
            let text = first.and_then(|runs| find(runs, area.columns.0)).map(|cell| cell.shown().trim().to_owned());
            for column in area.columns.0..=area.columns.1 {
                columns[column as usize].clone_from(&text.clone().unwrap_or_default());
            }
        }
        Ok(columns)
    }

    /// Returns the column of each wanted field.
    fn resolve(&self, columns: &[String]) -> Result<Vec<u32>, FormatError> {
        self.request.wants.iter().map(|want| self.column(columns, want.up, want.path.trim())).collect()
    }

    fn column(&self, columns: &[String], up: usize, path: &str) -> Result<u32, FormatError> {
        let refuse = |why: String| Err(FormatError::Request { what: path.to_owned(), why });
        if up > 0 {
            return refuse("a row of a sheet has no level above it; leave out `up`".to_owned());
        }
        let named: Vec<usize> = (0..columns.len()).filter(|n| columns[*n] == path && !path.is_empty()).collect();
        match named.as_slice() {
            [one] => return Ok(*one as u32),
            [] => {}
            several => {
                let numbers: Vec<String> = several.iter().map(|n| format!("`#{}`", n + 1)).collect();
                let all = numbers.join(", ");
                return refuse(format!("several columns have this name; ask for one of them by its number: {all}"));
            }
        }
        let number = path.strip_prefix('#').and_then(|n| n.parse::<u32>().ok()).and_then(|n| n.checked_sub(1));
        let letters = column_of(path).filter(|(_, n)| *n == path.len()).map(|(column, _)| column);
        match number.or(letters).filter(|n| (*n as usize) < self.request.limits.columns) {
            Some(column) => Ok(column),
            None => {
                let known = shorten::names(columns.iter().map(String::as_str).filter(|c| !c.is_empty()));
                refuse(format!("no column has this name; the columns are {known}"))
            }
        }
    }
}

/// A row under the header.
struct SheetRow<'a> {
    sheet: &'a str,
    row: u32,
    runs: &'a [Run],
    wanted: &'a [u32],
}

impl SheetRow<'_> {
    fn place(&self, column: u32) -> Locator {
        Locator::Cell { sheet: self.sheet.to_owned(), cell: address(self.row, column) }
    }
}

impl Row for SheetRow<'_> {
    fn locator(&self) -> Locator {
        self.place(0)
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        find(self.runs, *self.wanted.get(want)?).map(Cell::value)
    }

    fn locate(&self, want: usize) -> Locator {
        self.place(self.wanted.get(want).copied().unwrap_or(0))
    }

    fn line(&self) -> String {
        shorten::line(&line(self.runs))
    }
}

/// Returns the cell of a column.
fn find(runs: &[Run], column: u32) -> Option<&Cell> {
    let n = runs.partition_point(|r| r.from <= column).checked_sub(1)?;
    (column < runs[n].from + runs[n].count).then_some(&runs[n].cell)
}

/// Returns the beginning of a row as a person would read it.
fn line(runs: &[Run]) -> String {
    let mut out = String::new();
    for cell in runs.iter().flat_map(|r| std::iter::repeat_n(&r.cell, r.count as usize)) {
        if !out.is_empty() {
            out.push_str(" | ");
        }
        out.extend(cell.shown().chars().take(shorten::LINE + 1));
        if out.len() > 4 * shorten::LINE {
            break;
        }
    }
    out
}
