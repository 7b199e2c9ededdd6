//! Archives, and folders of files: each member is read by the reader of its own format.
//!
//! [`Request::member`] says which members, as a path in which `*` stands for any name or part of one within
//! one folder, and [`Request::inner`] in which format. A path goes on inside an archive in the archive, as in
//! `account.zip/days/*.csv`. Members are read in the order of their names, letter by letter, so `10.csv` comes
//! before `2.csv`. Every place is that of a member, and each member has a head of its own.

pub(crate) mod archive;

use crate::{Event, Flow, Format, FormatError, Head, Limits, Request, Row, Value, shorten, spool::spool};
pub use archive::Member;
use archive::{Archive, Unpack};
use counterpane_model::Locator;
use std::cell::Cell;
use std::io::{self, Read, Seek};
use tempfile::SpooledTempFile;

/// Lists the files of an archive, in the order of their names.
///
/// # Errors
/// It is no archive, goes beyond a limit, or is made in a way that cannot be trusted: members that share
/// bytes or a name, or whose names lead out of it.
pub fn members(input: impl Read + Seek, limits: Limits) -> Result<Vec<Member>, FormatError> {
    Ok(Archive::open(input, limits)?.members().cloned().collect())
}

/// Returns the bytes of one file of an archive.
///
/// # Errors
/// As [`members`]; it has no such file, or the file goes beyond a limit.
pub fn member_bytes(input: impl Read + Seek, name: &str, limits: Limits) -> Result<Vec<u8>, FormatError> {
    let mut archive = Archive::open(input, limits)?;
    let Some(n) = archive.find(name) else { return Err(FormatError::Empty) };
    let budget = Cell::new(limits.bytes);
    let mut unpack = archive.read(n, &budget).map_err(|e| e.in_member(name))?;
    let mut out = Vec::new();
    match unpack.read_to_end(&mut out) {
        Ok(_) => Ok(out),
        Err(error) => Err(unpack.trouble().unwrap_or(FormatError::Io(error)).in_member(name)),
    }
}

/// Reads the members of an archive that [`Request::member`] names.
///
/// # Errors
/// As [`members`] and [`crate::read`]; what is wrong in a member is [`FormatError::Member`]. A path that no member has
/// is a [`FormatError::Request`] that names some that exist.
pub fn read_archive(
    input: impl Read + Seek,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    let pattern = pattern(request)?;
    let mut reading = Reading::new(request, sink)?;
    let mut archive = Archive::open(input, request.limits)?;
    reading.archive(&mut archive, &pattern, "", 0)?;
    let names: Vec<String> = archive.members().map(|m| m.name.clone()).collect();
    reading.found(request, &names)
}

/// Reads an archive of which only the bytes in their order are given.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    pattern(request)?;
    read_archive(spool(input, request.limits)?, request, sink)
}

/// A file of a folder.
pub struct FolderFile<'a> {
    /// Path below the folder, with `/`.
    pub name: String,
    /// Opens it; called at most once.
    #[allow(clippy::type_complexity, reason = "a name for a closure that opens a file would say no more")]
    pub open: Box<dyn FnMut() -> io::Result<Box<dyn Read + 'a>> + 'a>,
}

/// Reads the files of a folder that [`Request::member`] names, as if the folder were an archive.
///
/// # Errors
/// As [`read_archive`].
pub fn read_folder(
    files: &mut [FolderFile<'_>],
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    let pattern = pattern(request)?;
    let mut reading = Reading::new(request, sink)?;
    files.sort_by(|a, b| a.name.cmp(&b.name));
    for file in files.iter_mut() {
        let Some(rest) = fits(&pattern, &file.name) else { continue };
        let mut input = (file.open)()?;
        let flow = match rest {
            [] => reading.member(&file.name, input.as_mut(), |_| None),
            rest => {
                let name = file.name.clone();
                let copy = spool(input.as_mut(), request.limits).map_err(|e| e.in_member(&name))?;
                let mut inner = Archive::open(copy, request.limits).map_err(|e| e.in_member(&name))?;
                reading.archive(&mut inner, rest, &format!("{name}/"), 1)
            }
        };
        if flow? == Flow::Stop {
            break;
        }
    }
    let names: Vec<String> = files.iter().map(|f| f.name.clone()).collect();
    reading.found(request, &names)
}

fn pattern(request: &Request) -> Result<Vec<String>, FormatError> {
    let refuse = |what: &str, why: &str| Err(FormatError::Request { what: what.to_owned(), why: why.to_owned() });
    match (request.member.as_deref(), request.inner) {
        (None | Some(""), _) => refuse("member", "say which members hold the rows, such as `days/*.csv`"),
        (_, None) => refuse("inner", "say which format the members have, such as CSV"),
        (Some(member), Some(Format::Zip)) => {
            refuse(member, "a path goes on inside an archive in the archive, as in `account.zip/days/*.csv`")
        }
        (Some(member), Some(_)) => Ok(member.split('/').map(str::to_owned).collect()),
    }
}

/// What goes on from member to member.
struct Reading<'q> {
    request: &'q Request,
    format: Format,
    sink: &'q mut dyn FnMut(Event<'_>) -> Flow,
    /// Bytes that all members may still unpack to.
    budget: Cell<u64>,
    rows: u64,
    members: u64,
}

impl<'q> Reading<'q> {
    fn new(request: &'q Request, sink: &'q mut dyn FnMut(Event<'_>) -> Flow) -> Result<Reading<'q>, FormatError> {
        let Some(format) = request.inner else { return Err(FormatError::Empty) };
        Ok(Reading { request, format, sink, budget: Cell::new(request.limits.bytes), rows: 0, members: 0 })
    }

    /// Reads the members of an archive that a path leads to; `above` is the path to it.
    fn archive<R: Read + Seek>(
        &mut self,
        archive: &mut Archive<R>,
        pattern: &[String],
        above: &str,
        depth: usize,
    ) -> Result<Flow, FormatError> {
        let limits = self.request.limits;
        let names: Vec<String> = archive.members().map(|m| m.name.clone()).collect();
        for (n, name) in names.iter().enumerate() {
            let Some(rest) = fits(pattern, name) else { continue };
            let full = format!("{above}{name}");
            let flow = if rest.is_empty() {
                let budget = Cell::new(self.budget.get());
                let mut unpack = archive.read(n, &budget).map_err(|e| e.in_member(&full))?;
                let flow = self.member(&full, &mut unpack, Unpack::trouble)?;
                self.budget.set(budget.get());
                flow
            } else if depth >= limits.nesting {
                let what = format!("an archive `{full}` inside {}", shorten::count(depth as u64 + 1, "archive"));
                return Err(FormatError::Limit { what, name: "nesting", limit: limits.nesting as u64 });
            } else {
                let copy = self.copy(archive, n, &full)?;
                let mut inner = Archive::open(copy, limits).map_err(|e| e.in_member(&full))?;
                self.archive(&mut inner, rest, &format!("{full}/"), depth + 1)?
            };
            if flow == Flow::Stop {
                return Ok(Flow::Stop);
            }
        }
        Ok(Flow::Continue)
    }

    /// Copies an archive out of an archive.
    fn copy<R: Read + Seek>(
        &self,
        archive: &mut Archive<R>,
        n: usize,
        full: &str,
    ) -> Result<SpooledTempFile, FormatError> {
        let mut unpack = archive.read(n, &self.budget).map_err(|e| e.in_member(full))?;
        let copy = spool(&mut unpack, self.request.limits);
        copy.map_err(|e| unpack.trouble().unwrap_or(e).in_member(full))
    }

    /// Reads one member.
    fn member<I: Read + ?Sized>(
        &mut self,
        name: &str,
        mut input: &mut I,
        trouble: impl FnOnce(&mut I) -> Option<FormatError>,
    ) -> Result<Flow, FormatError> {
        self.members += 1;
        let limit = self.request.limits.rows;
        let (mut flow, mut over) = (Flow::Continue, false);
        let (rows, sink) = (&mut self.rows, &mut self.sink);
        let result = crate::read(self.format, &mut input, self.request, &mut |event| {
            *rows += u64::from(!matches!(event, Event::Head(_)));
            over = *rows > limit;
            flow = if over { Flow::Stop } else { sink(inside(name, event).event()) };
            flow
        });
        if over {
            return Err(FormatError::Limit { what: format!("row {}", self.rows), name: "rows", limit });
        }
        match result {
            Ok(()) => Ok(flow),
            Err(error) => Err(trouble(input).unwrap_or(error).in_member(name)),
        }
    }

    /// Says that a path led nowhere.
    fn found(&self, request: &Request, names: &[String]) -> Result<(), FormatError> {
        if self.members > 0 {
            return Ok(());
        }
        let known = shorten::names(names.iter().map(String::as_str));
        let what = request.member.clone().unwrap_or_default();
        Err(FormatError::Request { what, why: format!("no member has this name; there are {known}") })
    }
}

/// Returns what is left of a path behind a name, nothing of it when the name is what the path says; `None`
/// when it leads elsewhere. Only an archive has something left behind it.
fn fits<'p>(pattern: &'p [String], name: &str) -> Option<&'p [String]> {
    let parts: Vec<&str> = name.split('/').collect();
    let front = pattern.get(..parts.len())?;
    let rest = &pattern[parts.len()..];
    let is_archive = name.len() > 4 && name.as_bytes()[name.len() - 4..].eq_ignore_ascii_case(b".zip");
    (front.iter().zip(parts).all(|(p, part)| glob(p, part)) && (rest.is_empty() || is_archive)).then_some(rest)
}

/// Returns whether a name is a pattern in which `*` stands for any letters, or none.
fn glob(pattern: &str, name: &str) -> bool {
    let mut pieces = pattern.split('*');
    let first = pieces.next().unwrap_or_default();
    let Some(mut rest) = name.strip_prefix(first) else { return false };
    let Some(last) = pieces.next_back() else { return rest.is_empty() };
    for piece in pieces {
        match rest.find(piece) {
            Some(at) => rest = &rest[at + piece.len()..],
            None => return false,
        }
    }
    rest.len() >= last.len() && rest.ends_with(last)
}

/// An event of a member.
enum Inside<'a> {
    Head(Head),
    Row(MemberRow<'a>),
    Unreadable { locator: Locator, line: String, problem: String },
}

fn inside<'a>(member: &'a str, event: Event<'a>) -> Inside<'a> {
    match event {
        Event::Head(head) => Inside::Head(Head { member: Some(member.to_owned()), ..head.clone() }),
        Event::Row(row) => Inside::Row(MemberRow { member, row }),
        Event::Unreadable { locator, line, problem } => {
            Inside::Unreadable { locator: locate(member, locator), line, problem }
        }
    }
}

impl Inside<'_> {
    fn event(&self) -> Event<'_> {
        match self {
            Inside::Head(head) => Event::Head(head),
            Inside::Row(row) => Event::Row(row),
            Inside::Unreadable { locator, line, problem } => {
                Event::Unreadable { locator: locator.clone(), line: line.clone(), problem: problem.clone() }
            }
        }
    }
}

/// A row of a member, with the member in all its places.
struct MemberRow<'a> {
    member: &'a str,
    row: &'a dyn Row,
}

impl Row for MemberRow<'_> {
    fn locator(&self) -> Locator {
        locate(self.member, self.row.locator())
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        self.row.value(want)
    }

    fn locate(&self, want: usize) -> Locator {
        locate(self.member, self.row.locate(want))
    }

    fn line(&self) -> String {
        self.row.line()
    }
}

fn locate(member: &str, inner: Locator) -> Locator {
    Locator::Member { member: member.to_owned(), inner: Box::new(inner) }
}

#[cfg(test)]
mod tests;
