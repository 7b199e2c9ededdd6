//! A look at the part that holds a sheet of an XLSX workbook, before calamine reads its cells.
//!
//! **Invariant.** What calamine would take for something else is refused here: an address that it would multiply
//! beyond its bounds, a number in pieces of which it reads the first, a place in the table of texts for which it
//! would take the first one, a cell of two values. So is what would grow in it: entities, texts, elements inside
//! elements. The whole part is read, because merged areas stand behind the rows in which they are.

use super::cell::place_of;
use super::table::Merged;
use crate::xml::pull::{Pull, broken};
use crate::{FormatError, Limits, shorten};
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeMap;

/// Rows that a sheet can have (common practice of spreadsheet programs; ECMA-376 sets no bound).
const ROWS: u32 = 1_048_576;
/// Bytes that an odd cell takes besides its text: its place, three words of the text, and about as much around.
const ODD: u64 = 64;
/// Attributes that an element of a sheet may have; ECMA-376 knows 13 of a row.
const ATTRIBUTES: usize = 64;
/// Errors that calamine gives as they stand (ECMA-376 part 1, 18.17.3, without `#GETTING_DATA`).
const ERRORS: [&str; 7] = ["#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"];

/// What was found.
#[derive(Default)]
pub(super) struct Looked {
    pub(super) merged: Vec<Merged>,
    /// How often the part says how large the sheet is, before its cells.
    pub(super) dimensions: usize,
    /// Texts of cells that calamine does not give, by row and column: other errors, and numbers that are none.
    pub(super) odd: BTreeMap<(u32, u32), String>,
}

/// Looks over a part; `shared` is the number of texts that its cells may share.
///
/// # Errors
/// It is refused for a reason above, breaks off, or goes beyond a limit.
pub(super) fn look(pull: &mut Pull<'_>, limits: Limits, shared: usize) -> Result<Looked, FormatError> {
    if pull.encoding() != "UTF-8" {
        let problem = format!("the sheet is written in {}; save the workbook anew, in UTF-8", pull.encoding());
        return Err(broken(problem, 1));
    }
    let mut look = Look { limits, shared, ..Look::default() };
    loop {
        let line = pull.next_line();
        let result = match pull.next()? {
            Event::Start(tag) => look.start(&tag, false),
            Event::Empty(tag) => look.start(&tag, true),
            Event::End(tag) => look.end(tag.local_name().into_inner()),
            Event::Eof if look.stage == Stage::After => return Ok(look.out),
            Event::Eof => Err(Wrong::Broken("the sheet breaks off before its end".to_owned())),
            event => look.text(&event),
        };
        result.map_err(|wrong| match wrong {
            Wrong::Broken(problem) => broken(problem, line),
            Wrong::Limit(what, name, limit) => FormatError::Limit { what, name, limit },
        })?;
    }
}

enum Wrong {
    Broken(String),
    Limit(String, &'static str, u64),
}

fn refuse<T>(problem: &str) -> Result<T, Wrong> {
    Err(Wrong::Broken(problem.to_owned()))
}

#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum Stage {
    #[default]
    Before,
    Cells,
    After,
}

#[derive(Default)]
struct Look {
    limits: Limits,
    shared: usize,
    stage: Stage,
    /// Row, from 0, of the last row element, and whether it is still open.
    row: Option<u32>,
    in_row: bool,
    /// Least column of the next cell.
    next: u32,
    cell: Option<Seen>,
    /// Bytes of the texts of the row.
    weight: usize,
    /// Bytes that the odd cells take.
    odd_bytes: u64,
    out: Looked,
}

/// A cell that is being looked at.
struct Seen {
    at: (u32, u32),
    kind: String,
    /// Elements that are open inside of it.
    depth: usize,
    /// Whether a value began, and whether one is open.
    valued: bool,
    open: bool,
    /// Its value, of a kind that is read in one piece.
    text: String,
    pieces: usize,
}

impl Look {
    fn start(&mut self, tag: &BytesStart<'_>, empty: bool) -> Result<(), Wrong> {
        let name = tag.local_name().into_inner();
        match (self.stage, name) {
            (Stage::Before, "dimension") => self.out.dimensions += 1,
            (Stage::Before, "sheetData") => self.stage = if empty { Stage::After } else { Stage::Cells },
            (Stage::Cells, "sheetData") => return refuse("a sheet stands inside of a sheet"),
            (Stage::Cells, "row") if self.in_row => return refuse("a row stands inside of a row"),
            (Stage::Cells, "row") => self.begin_row(tag, empty)?,
            (Stage::Cells, "c") if self.cell.is_some() => return refuse("a cell stands inside of a cell"),
            (Stage::Cells, "c") => self.begin_cell(tag, empty)?,
            (Stage::Cells, _) => self.begin_inside(name, empty)?,
            (_, "mergeCell") => self.merge(tag)?,
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, name: &str) -> Result<(), Wrong> {
        match name {
            _ if self.stage != Stage::Cells => {}
            "sheetData" => self.stage = Stage::After,
            "row" => self.in_row = false,
            "c" => return self.cell.take().map_or(Ok(()), |cell| self.end_cell(cell)),
            _ => {
                if let Some(cell) = &mut self.cell {
                    cell.depth = cell.depth.saturating_sub(1);
                    cell.open &= name != "v" && name != "t";
                }
            }
        }
        Ok(())
    }

    fn begin_row(&mut self, tag: &BytesStart<'_>, empty: bool) -> Result<(), Wrong> {
        let next = self.row.map_or(0, |r| r + 1);
        let row = match attributes(tag, ["r"])? {
            [None] => next,
            [Some(said)] => match said.parse::<u32>().ok().and_then(|r| r.checked_sub(1)) {
                Some(row) if row >= next => row,
                _ => return refuse("the number of a row is not above that of the row before it"),
            },
        };
        if row >= ROWS {
            return refuse("the number of a row is beyond the last row that a sheet has");
        }
        (self.row, self.next, self.weight, self.in_row) = (Some(row), 0, 0, !empty);
        Ok(())
    }

    fn begin_cell(&mut self, tag: &BytesStart<'_>, empty: bool) -> Result<(), Wrong> {
        let Some(row) = self.row.filter(|_| self.in_row) else { return refuse("a cell stands outside of a row") };
        let [said, _, kind] = attributes(tag, ["r", "s", "t"])?;
        let column = match said.map(|r| place_of(&r)) {
            None => self.next,
            Some(Some((r, column))) if r == row && column >= self.next => column,
            Some(_) => return refuse("the address of a cell does not follow from the one before it"),
        };
        if column as usize >= self.limits.columns {
            let what = format!("column {} of row {}", column + 1, u64::from(row) + 1);
            return Err(Wrong::Limit(what, "columns", self.limits.columns as u64));
        }
        self.next = column + 1;
        let kind = kind.unwrap_or_default();
        if !["", "b", "d", "e", "inlineStr", "n", "s", "str"].contains(&kind.as_str()) {
            let kind = shorten::cut(&kind, 40);
            return Err(Wrong::Broken(format!("a cell is of the kind `{kind}`, which ECMA-376 does not have")));
        }
        if !empty {
            let at = (row, column);
            self.cell = Some(Seen { at, kind, depth: 0, valued: false, open: false, text: String::new(), pieces: 0 });
        }
        Ok(())
    }

    fn begin_inside(&mut self, name: &str, empty: bool) -> Result<(), Wrong> {
        let Some(cell) = &mut self.cell else { return Ok(()) };
        if cell.open {
            return refuse("the value of a cell holds an element");
        }
        if cell.depth == 0 {
            match name {
                "f" if !cell.valued => {}
                "v" if !cell.valued => cell.valued = true,
                // A plain copy of the text may stand before it.
                "is" if !cell.valued || cell.kind == "inlineStr" => cell.valued = true,
                "f" | "is" | "v" => return refuse("a cell holds something behind its value"),
                _ => {
                    let name = shorten::cut(name, 40);
                    return Err(Wrong::Broken(format!("a cell holds `{name}`, which is no value and no formula")));
                }
            }
        }
        if !empty {
            cell.depth += 1;
            cell.open = name == "v" || name == "t";
        }
        Ok(())
    }

    fn text(&mut self, event: &Event<'_>) -> Result<(), Wrong> {
        let Some(cell) = self.cell.as_mut().filter(|c| c.open) else { return Ok(()) };
        let (is_value, is_one) = (cell.depth == 1, matches!(cell.kind.as_str(), "" | "b" | "e" | "n" | "s"));
        cell.pieces += 1;
        let bytes = match event {
            Event::Text(text) => {
                if is_value && is_one {
                    cell.text.push_str(text);
                }
                text.len()
            }
            _ if is_value && is_one => return refuse("a number, an error or a truth is not written in one piece"),
            Event::CData(_) if is_value => return refuse("the value of a cell is written as a section (CDATA)"),
            Event::CData(text) => text.len(),
            Event::GeneralRef(name) => {
                let known = matches!(name.resolve_char_ref(), Ok(Some(_))) || resolve_predefined_entity(name).is_some();
                if !known {
                    let name = shorten::cut(name, 40);
                    return Err(Wrong::Broken(format!("`&{name};` stands for nothing")));
                }
                4
            }
            _ => 0,
        };
        self.weight += bytes;
        if self.weight > self.limits.row_bytes {
            let what = format!("row {} with texts of {} bytes", u64::from(cell.at.0) + 1, self.weight);
            return Err(Wrong::Limit(what, "row_bytes", self.limits.row_bytes as u64));
        }
        Ok(())
    }

    fn end_cell(&mut self, cell: Seen) -> Result<(), Wrong> {
        let text = cell.text.as_str();
        let shown = || shorten::cut(text.trim(), 40);
        match cell.kind.as_str() {
            _ if text.is_empty() => {}
            _ if cell.pieces > 1 => return refuse("a number, an error or a truth is not written in one piece"),
            "s" => {
                let number = text.parse::<usize>().ok().filter(|_| text.bytes().all(|b| b.is_ascii_digit()));
                if number.is_none_or(|n| n >= self.shared) {
                    return Err(Wrong::Broken(format!("a cell shares text `{}`, which is not there", shown())));
                }
            }
            "b" if !["0", "1", "false", "true"].contains(&text.trim().to_ascii_lowercase().as_str()) => {
                return Err(Wrong::Broken(format!("a cell is said to be a truth and holds `{}`", shown())));
            }
            "e" if !ERRORS.contains(&text) => return self.odd(cell.at, cell.text),
            "" | "n" => return self.number(cell),
            _ => {}
        }
        Ok(())
    }

    /// Looks at the value of a cell that should be a number.
    fn number(&mut self, cell: Seen) -> Result<(), Wrong> {
        let text = cell.text.as_str();
        let is_plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e' | b'E'));
        match (is_plain, text.trim().parse::<f64>()) {
            (true, Ok(number)) if number.is_finite() && !text.starts_with('+') => Ok(()),
            (true, Ok(number)) if !number.is_finite() => self.odd(cell.at, cell.text),
            // A text that nobody called one.
            (_, Err(_)) if cell.kind.is_empty() => Ok(()),
            (false, Ok(number)) if !number.is_finite() && cell.kind.is_empty() => self.odd(cell.at, cell.text),
            _ => {
                let shown = shorten::cut(text, 40);
                Err(Wrong::Broken(format!("a cell is said to be a number and holds `{shown}`")))
            }
        }
    }

    fn odd(&mut self, at: (u32, u32), text: String) -> Result<(), Wrong> {
        self.odd_bytes += ODD + text.len() as u64;
        self.out.odd.insert(at, text);
        let limit = self.limits.shared_bytes;
        match self.odd_bytes > limit {
            true => Err(Wrong::Limit("the errors in a sheet".to_owned(), "shared_bytes", limit)),
            false => Ok(()),
        }
    }

    fn merge(&mut self, tag: &BytesStart<'_>) -> Result<(), Wrong> {
        let [area] = attributes(tag, ["ref"])?;
        let area = area.unwrap_or_default();
        let (first, last) = area.split_once(':').unwrap_or((&area, &area));
        if let (Some(a), Some(b)) = (place_of(first), place_of(last)) {
            self.out.merged.push(Merged { rows: (a.0, b.0), columns: (a.1, b.1) });
        }
        let limit = self.limits.shared_bytes;
        match 16 * self.out.merged.len() as u64 > limit {
            true => Err(Wrong::Limit("the merged areas of a sheet".to_owned(), "shared_bytes", limit)),
            false => Ok(()),
        }
    }
}

/// Returns the values of attributes as they are written; two of one name are refused, of which a reader may take
/// either.
fn attributes<const N: usize>(tag: &BytesStart<'_>, names: [&str; N]) -> Result<[Option<String>; N], Wrong> {
    let mut out = [const { None }; N];
    for (n, attribute) in tag.attributes().with_checks(false).enumerate() {
        let Ok(attribute) = attribute else { return refuse("an attribute is not written as XML writes it") };
        if n >= ATTRIBUTES {
            return refuse("an element has more attributes than ECMA-376 knows");
        }
        let Some(at) = names.iter().position(|name| *name == attribute.key.into_inner()) else { continue };
        if out[at].replace(attribute.value.into_owned()).is_some() {
            return refuse("an element has an attribute twice");
        }
    }
    Ok(out)
}
