//! Workbooks of Office Open XML (ECMA-376): the parts around the cells.
//!
//! The cells are read by calamine, after the part that holds them was looked over. The other parts are read here,
//! because calamine takes them whole: it makes room for as many shared texts as their table claims to have, and a
//! copy of a font for each style.

use super::cell::Shown;
use super::cells::{self, Book};
use super::parts::{Parts, attribute};
use super::{Books, Each, format_code, look};
use crate::FormatError;
use crate::xml::pull::Pull;
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
    shared: Vec<String>,
    shown: Vec<Shown>,
}

/// Bytes that a text takes besides its letters: three words of its own, and about as much for where it lies.
const TEXT: u64 = 48;

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
            None => Vec::new(),
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
        let missing =
            || FormatError::NotThis { expected: "a workbook", found: format!("it has no `{part}` for `{name}`") };
        let (limits, shared) = (self.parts.limits, self.shared.len());
        let looked = self.parts.read(part, |pull| look::look(pull, limits, shared))?.ok_or_else(missing)?;
        let file = self.parts.again(part)?.ok_or_else(missing)?;
        let book = Book { shared: &self.shared, shown: &self.shown, from_1904: self.from_1904, limits };
        cells::rows(file, book, &looked, name, each).map_err(|e| e.in_member(part))
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

fn shared_texts(pull: &mut Pull<'_>, limit: u64) -> Result<Vec<String>, FormatError> {
    let (mut texts, mut text, mut bytes) = (Vec::new(), String::new(), 0);
    let (mut in_text, mut in_reading) = (false, false);
    loop {
        let ended = match pull.next()? {
            Event::Start(tag) => {
                match tag.local_name().into_inner() {
                    "t" => in_text = !in_reading,
                    // How a word is pronounced is no part of it.
                    "rPh" => in_reading = true,
                    _ => {}
                }
                false
            }
            Event::End(tag) => match tag.local_name().into_inner() {
                "t" => {
                    in_text = false;
                    false
                }
                "rPh" => {
                    in_reading = false;
                    false
                }
                name => name == "si",
            },
            Event::Empty(tag) => tag.local_name().into_inner() == "si",
            Event::Eof => return Ok(texts),
            event if in_text => {
                push(&mut text, &event);
                false
            }
            _ => false,
        };
        if ended {
            bytes += TEXT + text.len() as u64;
            // A copy has no room to spare.
            texts.push(text.as_str().to_owned());
            text.clear();
        }
        if bytes + text.len() as u64 > limit {
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
