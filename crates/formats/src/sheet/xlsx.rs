//! Workbooks of Office Open XML (ECMA-376): the parts around the cells, and the cells row by row.

use super::cell::{Cell, Run, Shown, place_of};
use super::parts::{Parts, attribute};
use super::table::Merged;
use super::{Books, Each, format_code};
use crate::xml::pull::{Pull, broken};
use crate::{Flow, FormatError};
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};
use std::collections::HashMap;
use std::io::{Read, Seek};

/// A workbook whose sheets are known.
pub(super) struct Xlsx<R> {
    parts: Parts<R>,
    /// Names of the sheets, and the parts that hold them.
    sheets: Vec<(String, String)>,
    from_1904: bool,
    shared: Texts,
    shown: Vec<Shown>,
}

/// Texts that cells share, one behind the other.
#[derive(Default)]
struct Texts {
    all: String,
    ends: Vec<usize>,
}

impl Texts {
    fn get(&self, n: usize) -> Option<&str> {
        let from = n.checked_sub(1).map_or(Some(0), |before| self.ends.get(before).copied())?;
        self.all.get(from..*self.ends.get(n)?)
    }
}

impl<R: Read + Seek> Xlsx<R> {
    pub(super) fn open(mut parts: Parts<R>) -> Result<Xlsx<R>, FormatError> {
        let roots = relations(&mut parts, "", "_rels/.rels")?;
        let workbook = roots.values().find(|r| r.kind == "officeDocument").map(|r| r.target.clone());
        let workbook = workbook.unwrap_or_else(|| "xl/workbook.xml".to_owned());
        let (folder, file) = workbook.rsplit_once('/').unwrap_or(("", &workbook));
        let relations = relations(&mut parts, folder, &format!("{folder}/_rels/{file}.rels"))?;
        let missing = || FormatError::NotThis { expected: "a workbook", found: format!("it has no `{workbook}`") };
        let (named, from_1904) = parts.read(&workbook, sheets)?.ok_or_else(missing)?;
        let sheets = named.into_iter().filter_map(|(name, id)| {
            let relation = relations.get(&id).filter(|r| r.kind == "worksheet")?;
            Some((name, relation.target.clone()))
        });
        let sheets = sheets.collect();
        let part = |kind: &str| relations.values().find(|r| r.kind == kind).map(|r| r.target.clone());
        let limit = parts.limits.shared_bytes;
        let shared = match part("sharedStrings") {
            Some(name) => parts.read(&name, |pull| shared_texts(pull, limit))?.unwrap_or_default(),
            None => Texts::default(),
        };
        let shown = match part("styles") {
            Some(name) => parts.read(&name, |pull| styles(pull, limit))?.unwrap_or_default(),
            None => Vec::new(),
        };
        Ok(Xlsx { parts, sheets, from_1904, shared, shown })
    }
}

impl<R: Read + Seek> Books for Xlsx<R> {
    fn names(&self) -> Vec<String> {
        self.sheets.iter().map(|(name, _)| name.clone()).collect()
    }

    fn rows(&mut self, sheet: usize, each: &mut Each<'_>) -> Result<(), FormatError> {
        let Some((name, part)) = self.sheets.get(sheet) else { return Ok(()) };
        let limit = self.parts.limits.shared_bytes;
        // The merged areas stand behind the rows in which they are.
        let merged = self.parts.read(part, |pull| merged(pull, limit))?;
        let Some(merged) = merged else {
            return Err(FormatError::NotThis {
                expected: "a workbook",
                found: format!("it has no `{part}` for `{name}`"),
            });
        };
        let (row_bytes, columns) = (self.parts.limits.row_bytes, self.parts.limits.columns);
        let (shared, shown, from_1904) = (&self.shared, self.shown.as_slice(), self.from_1904);
        self.parts.read(part, |pull| {
            let mut reading =
                Cells { shared, shown, from_1904, row_bytes, columns, row: None, next: 0, runs: Vec::new(), weight: 0 };
            reading.all(pull, &merged, each)
        })?;
        Ok(())
    }
}

/// What a part says of another one.
struct Relation {
    /// Last word of its type, such as `worksheet`.
    kind: String,
    target: String,
}

fn relations<R: Read + Seek>(
    parts: &mut Parts<R>,
    folder: &str,
    name: &str,
) -> Result<HashMap<String, Relation>, FormatError> {
    let limit = parts.limits.members;
    let found = parts.read(name, |pull| {
        let mut out = HashMap::new();
        loop {
            match pull.next()? {
                Event::Start(tag) | Event::Empty(tag) if tag.local_name().into_inner() == "Relationship" => {
                    let get = |name| attribute(&tag, name).unwrap_or_default();
                    let kind = get("Type").rsplit('/').next().unwrap_or_default().to_owned();
                    out.insert(get("Id"), Relation { kind, target: resolve(folder, &get("Target")) });
                    if out.len() as u64 > limit {
                        let what = "the relations of a workbook".to_owned();
                        return Err(FormatError::Limit { what, name: "members", limit });
                    }
                }
                Event::Eof => return Ok(out),
                _ => {}
            }
        }
    });
    Ok(found?.unwrap_or_default())
}

/// Returns the member that a target names as seen from a folder.
fn resolve(folder: &str, target: &str) -> String {
    let mut path: Vec<&str> = match target.starts_with('/') {
        true => Vec::new(),
        false => folder.split('/').filter(|p| !p.is_empty()).collect(),
    };
    for part in target.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                path.pop();
            }
            part => path.push(part),
        }
    }
    path.join("/")
}

/// Reads names and relations of the sheets, and from which year days are counted.
#[allow(clippy::type_complexity, reason = "both are taken apart by the one caller")]
fn sheets(pull: &mut Pull<'_>) -> Result<(Vec<(String, String)>, bool), FormatError> {
    let (mut sheets, mut from_1904) = (Vec::new(), false);
    loop {
        match pull.next()? {
            Event::Start(tag) | Event::Empty(tag) => match tag.local_name().into_inner() {
                "workbookPr" => from_1904 = attribute(&tag, "date1904").is_some_and(|v| v == "1" || v == "true"),
                "sheet" if sheets.len() < 10_000 => {
                    sheets
                        .push((attribute(&tag, "name").unwrap_or_default(), attribute(&tag, "id").unwrap_or_default()));
                }
                _ => {}
            },
            Event::Eof => return Ok((sheets, from_1904)),
            _ => {}
        }
    }
}

fn too_much(what: &str, limit: u64) -> FormatError {
    FormatError::Limit { what: what.to_owned(), name: "shared_bytes", limit }
}

fn shared_texts(pull: &mut Pull<'_>, limit: u64) -> Result<Texts, FormatError> {
    let mut texts = Texts::default();
    let (mut in_text, mut in_reading) = (false, false);
    loop {
        match pull.next()? {
            Event::Start(tag) => match tag.local_name().into_inner() {
                "t" => in_text = !in_reading,
                // How a word is pronounced is no part of it.
                "rPh" => in_reading = true,
                _ => {}
            },
            Event::End(tag) => match tag.local_name().into_inner() {
                "t" => in_text = false,
                "rPh" => in_reading = false,
                "si" => texts.ends.push(texts.all.len()),
                _ => {}
            },
            Event::Empty(tag) if tag.local_name().into_inner() == "si" => texts.ends.push(texts.all.len()),
            Event::Eof => return Ok(texts),
            event if in_text => push(&mut texts.all, &event),
            _ => {}
        }
        if texts.all.len() as u64 + 8 * texts.ends.len() as u64 > limit {
            return Err(too_much("what the cells of a workbook share", limit));
        }
    }
}

/// Adds the text of an event.
fn push(out: &mut String, event: &Event<'_>) {
    match event {
        Event::Text(text) => out.push_str(text),
        Event::CData(text) => out.push_str(text),
        Event::GeneralRef(name) => match name.resolve_char_ref() {
            Ok(Some(c)) => out.push(c),
            _ => out.push_str(resolve_predefined_entity(name).unwrap_or_default()),
        },
        _ => {}
    }
}

fn styles(pull: &mut Pull<'_>, limit: u64) -> Result<Vec<Shown>, FormatError> {
    let (mut codes, mut shown, mut in_cells) = (HashMap::new(), Vec::new(), false);
    let id = |tag: &BytesStart<'_>| attribute(tag, "numFmtId").and_then(|id| id.parse::<u32>().ok());
    loop {
        let (tag, open) = match pull.next()? {
            Event::Start(tag) => (tag, true),
            Event::Empty(tag) => (tag, false),
            Event::End(tag) if tag.local_name().into_inner() == "cellXfs" => {
                in_cells = false;
                continue;
            }
            Event::Eof => return Ok(shown),
            _ => continue,
        };
        match tag.local_name().into_inner() {
            "numFmt" => {
                if let (Some(id), Some(code)) = (id(&tag), attribute(&tag, "formatCode")) {
                    codes.insert(id, format_code::of_code(&code));
                }
            }
            "cellXfs" => in_cells = open,
            "xf" if in_cells => {
                let id = id(&tag).unwrap_or(0);
                shown.push(codes.get(&id).copied().unwrap_or_else(|| format_code::of_id(id)));
            }
            _ => {}
        }
        if 16 * codes.len() as u64 + shown.len() as u64 > limit {
            return Err(too_much("the styles of a workbook", limit));
        }
    }
}

fn merged(pull: &mut Pull<'_>, limit: u64) -> Result<Vec<Merged>, FormatError> {
    let mut out = Vec::new();
    loop {
        match pull.next()? {
            Event::Start(tag) | Event::Empty(tag) if tag.local_name().into_inner() == "mergeCell" => {
                let area = attribute(&tag, "ref").unwrap_or_default();
                let (first, last) = area.split_once(':').unwrap_or((&area, &area));
                if let (Some(a), Some(b)) = (place_of(first), place_of(last)) {
                    out.push(Merged { rows: (a.0, b.0), columns: (a.1, b.1) });
                }
                if 16 * out.len() as u64 > limit {
                    return Err(too_much("the merged areas of a sheet", limit));
                }
            }
            Event::Eof => return Ok(out),
            _ => {}
        }
    }
}

/// The cells of a sheet, row by row.
struct Cells<'a> {
    shared: &'a Texts,
    shown: &'a [Shown],
    from_1904: bool,
    row_bytes: usize,
    columns: usize,
    /// Row that is being read, from 0.
    row: Option<u32>,
    /// Column of the next cell without an address.
    next: u32,
    runs: Vec<Run>,
    /// Bytes of the texts of the row.
    weight: usize,
}

/// A cell that is being read.
#[derive(Default)]
struct Raw {
    column: u32,
    kind: String,
    style: usize,
    text: String,
}

impl Cells<'_> {
    fn all(&mut self, pull: &mut Pull<'_>, merged: &[Merged], each: &mut Each<'_>) -> Result<(), FormatError> {
        let (mut raw, mut in_value) = (None, false);
        loop {
            let line = pull.next_line();
            match pull.next()? {
                Event::Start(tag) => match tag.local_name().into_inner() {
                    "row" => self.begin_row(&tag, line)?,
                    "c" => raw = Some(self.begin_cell(&tag, line)?),
                    "v" | "t" => in_value = true,
                    _ => {}
                },
                Event::Empty(tag) => match tag.local_name().into_inner() {
                    "row" => self.begin_row(&tag, line)?,
                    "c" => drop(self.begin_cell(&tag, line)?),
                    "sheetData" => return Ok(()),
                    _ => {}
                },
                Event::End(tag) => match tag.local_name().into_inner() {
                    "v" | "t" => in_value = false,
                    "c" => {
                        if let Some(raw) = raw.take() {
                            self.end_cell(raw, line)?;
                        }
                    }
                    "row" => {
                        let flow = self.give(merged, each)?;
                        if flow == Flow::Stop {
                            return Ok(());
                        }
                    }
                    "sheetData" => return Ok(()),
                    _ => {}
                },
                Event::Eof => return Err(broken("the sheet breaks off before its end".to_owned(), line)),
                event => {
                    if let Some(raw) = raw.as_mut().filter(|_| in_value) {
                        push(&mut raw.text, &event);
                        self.check_weight(raw.text.len(), line)?;
                    }
                }
            }
        }
    }

    fn begin_row(&mut self, tag: &BytesStart<'_>, line: u64) -> Result<(), FormatError> {
        let said = attribute(tag, "r").map(|r| r.parse::<u32>().ok().and_then(|r| r.checked_sub(1)));
        let next = self.row.map_or(0, |r| r.saturating_add(1));
        let row = match said {
            None => next,
            Some(Some(row)) if row >= next => row,
            Some(_) => {
                return Err(broken("the number of a row is not above that of the row before it".to_owned(), line));
            }
        };
        (self.row, self.next, self.weight) = (Some(row), 0, 0);
        self.runs.clear();
        Ok(())
    }

    fn begin_cell(&mut self, tag: &BytesStart<'_>, line: u64) -> Result<Raw, FormatError> {
        let row = *self.row.get_or_insert(0);
        let column = match attribute(tag, "r").map(|r| place_of(&r)) {
            None => self.next,
            Some(Some((r, column))) if r == row && column >= self.next => column,
            Some(_) => {
                return Err(broken("the address of a cell does not follow from the one before it".to_owned(), line));
            }
        };
        if column as usize >= self.columns {
            let what = format!("column {} of row {}", column + 1, u64::from(row) + 1);
            return Err(FormatError::Limit { what, name: "columns", limit: self.columns as u64 });
        }
        self.next = column + 1;
        let style = attribute(tag, "s").and_then(|s| s.parse().ok()).unwrap_or(0);
        Ok(Raw { column, kind: attribute(tag, "t").unwrap_or_default(), style, text: String::new() })
    }

    fn end_cell(&mut self, raw: Raw, line: u64) -> Result<(), FormatError> {
        let shared = self.shared;
        let cell = match raw.kind.as_str() {
            "s" => {
                let text = raw.text.trim().parse().ok().and_then(|n| shared.get(n));
                let Some(text) = text else {
                    return Err(broken(format!("a cell shares text `{}`, which is not there", raw.text.trim()), line));
                };
                self.check_weight(text.len(), line)?;
                Cell::Text(text.to_owned())
            }
            "str" | "inlineStr" | "e" => Cell::Text(raw.text),
            "b" => Cell::Bool(matches!(raw.text.trim(), "1" | "true")),
            "d" => Cell::of_iso(raw.text.trim()),
            _ => match raw.text.trim().parse::<f64>() {
                Ok(number) if number.is_finite() => {
                    let shown = self.shown.get(raw.style).copied().unwrap_or_default();
                    Cell::of_number(number, shown, self.from_1904)
                }
                _ => Cell::Text(raw.text),
            },
        };
        if let Cell::Text(text) = &cell {
            if text.trim().is_empty() {
                return Ok(());
            }
            self.weight += text.len();
        }
        self.runs.push(Run { from: raw.column, count: 1, cell });
        Ok(())
    }

    fn check_weight(&self, more: usize, line: u64) -> Result<(), FormatError> {
        match self.weight + more > self.row_bytes {
            true => {
                let what = format!("a row with texts of {} bytes at line {line}", self.weight + more);
                Err(FormatError::Limit { what, name: "row_bytes", limit: self.row_bytes as u64 })
            }
            false => Ok(()),
        }
    }

    fn give(&mut self, merged: &[Merged], each: &mut Each<'_>) -> Result<Flow, FormatError> {
        match self.row {
            Some(row) if !self.runs.is_empty() => each(row, &self.runs, merged),
            _ => Ok(Flow::Continue),
        }
    }
}
