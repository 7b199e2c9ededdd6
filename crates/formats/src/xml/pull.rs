//! XML events from a text of any size, in any encoding, with limits.
//!
//! **Invariant.** What quick-xml would pass over is refused here: entities of the document's own, and a
//! piece of text or a tag that is longer than a row may be, and elements that lie too deep.

use crate::source::{self, Source, read_full};
use crate::{FormatError, Limits, TextOptions, shorten, sniff};
use counterpane_model::Locator;
use encoding_rs::{Encoding, UTF_8};
use quick_xml::Reader;
use quick_xml::errors::{Error, IllFormedError};
use quick_xml::events::Event;
use std::io::{self, BufRead, Cursor, Read};

/// Bytes that are read at a time.
const CHUNK: usize = 64 << 10;

/// A file whose beginning was looked at.
pub(crate) struct Input<'r> {
    head: Cursor<Vec<u8>>,
    rest: &'r mut dyn Read,
}

impl<'r> Input<'r> {
    /// Looks at the beginning of a file.
    pub(crate) fn new(rest: &'r mut dyn Read) -> io::Result<Input<'r>> {
        let mut head = vec![0; 1024];
        let got = read_full(rest, &mut head)?;
        head.truncate(got);
        Ok(Input { head: Cursor::new(head), rest })
    }
}

impl Read for Input<'_> {
    fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
        match self.head.read(room)? {
            0 => self.rest.read(room),
            got => Ok(got),
        }
    }
}

/// XML being read, event by event.
pub(crate) struct Pull<'r> {
    reader: Reader<Window<'r>>,
    buffer: Vec<u8>,
    depth: usize,
    most: usize,
}

impl<'r> Pull<'r> {
    /// Opens XML: the encoding is the requested one, else the byte order mark's, else the declared one,
    /// else UTF-8.
    ///
    /// # Errors
    /// The file is empty, it is not XML, or its encoding is unknown.
    pub(crate) fn open(input: &'r mut Input<'_>, text: &TextOptions, limits: Limits) -> Result<Pull<'r>, FormatError> {
        let encoding = match &text.encoding {
            Some(label) => Some(label.clone()),
            None => declared(input.head.get_ref())?,
        };
        let is_utf8 = source::encoding_of(input.head.get_ref(), encoding.as_deref())?.0 == UTF_8;
        let (source, found) = if input.head.get_ref().is_empty() {
            return Err(FormatError::Empty);
        } else if is_utf8 {
            let found = disguise(input.head.get_ref());
            (Text::Utf8 { input, bytes: 0 }, found)
        } else {
            let source = Source::open(input, &TextOptions { encoding, ..TextOptions::default() }, limits)?;
            let found = disguise(source.bytes());
            (Text::Decoded(Box::new(source)), found)
        };
        if let Some(found) = found {
            return Err(FormatError::NotThis { expected: "XML", found });
        }
        let window = Window {
            source,
            chunk: Vec::new(),
            at: 0,
            line: 1,
            counted: 0,
            begun: 0,
            begun_line: None,
            left: limits.row_bytes,
            limits,
            trouble: None,
        };
        let reader = Reader::from_reader(window);
        Ok(Pull { reader, buffer: Vec::new(), depth: 0, most: limits.depth })
    }

    /// Returns the name of the encoding, such as `UTF-8`.
    pub(crate) fn encoding(&self) -> &'static str {
        match &self.reader.get_ref().source {
            Text::Utf8 { .. } => UTF_8.name(),
            Text::Decoded(source) => source.encoding(),
        }
    }

    /// Returns the next event; [`Event::Eof`] at the end.
    ///
    /// # Errors
    /// The text is no XML there, breaks off, declares entities, or goes beyond a limit.
    #[inline]
    pub(crate) fn next(&mut self) -> Result<Event<'_>, FormatError> {
        self.next_begun().map(|(event, _)| event)
    }

    /// As [`Pull::next`], and where the event began: lines are counted only when they are asked for.
    #[inline]
    pub(crate) fn next_begun(&mut self) -> Result<(Event<'_>, Begun<'_, 'r>), FormatError> {
        self.buffer.clear();
        self.reader.get_mut().begin();
        let event = match self.reader.read_event_into(&mut self.buffer) {
            Ok(event) => event,
            Err(error) => return Err(fault(self.reader.get_mut(), error)),
        };
        match &event {
            Event::Start(_) if self.depth == self.most => {
                let what =
                    format!("an element at line {} inside {} others", self.reader.get_mut().event_line(), self.depth);
                return Err(FormatError::Limit { what, name: "depth", limit: self.most as u64 });
            }
            Event::Start(_) => self.depth += 1,
            Event::End(_) => self.depth = self.depth.saturating_sub(1),
            Event::DocType(text) if text.contains("<!ENTITY") => {
                let problem = "the document declares entities of its own (`<!ENTITY`); they are not read, because a few of them can grow without end; save the file without them";
                return Err(broken(problem.to_owned(), self.reader.get_mut().event_line()));
            }
            _ => {}
        }
        Ok((event, Begun(self.reader.get_mut())))
    }

    /// Returns the line, from 1, at which the next event begins.
    #[inline]
    pub(crate) fn next_line(&mut self) -> u64 {
        let window = self.reader.get_mut();
        window.count(window.at)
    }
}

/// Returns the error of a document that breaks its own rules at a line.
pub(crate) fn broken(problem: String, line: u64) -> FormatError {
    FormatError::Broken { problem, locator: Locator::Xml { line, path: ".".to_owned() } }
}

fn fault(window: &mut Window<'_>, error: Error) -> FormatError {
    if let Some(trouble) = window.trouble.take() {
        return trouble;
    }
    let name = |name: &str| shorten::cut(name, 60);
    let problem = match error {
        Error::Io(error) => return FormatError::Io(io::Error::new(error.kind(), error.to_string())),
        Error::Encoding(_) => return window.no_text(),
        Error::Syntax(_) => "the file breaks off inside a tag, a comment or a section that is never closed".to_owned(),
        Error::IllFormed(IllFormedError::MismatchedEndTag { expected, found }) => {
            format!("`</{}>` stands where `</{}>` must", name(&found), name(&expected))
        }
        Error::IllFormed(IllFormedError::UnmatchedEndTag(found)) => {
            format!("`</{}>` ends an element that never began", name(&found))
        }
        Error::IllFormed(IllFormedError::UnclosedReference) => "a `&` stands alone; XML writes it `&amp;`".to_owned(),
        other => shorten::cut(&other.to_string(), 160),
    };
    broken(problem, window.event_line())
}

/// Where the text comes from. UTF-8 is not looked at here: quick-xml checks each piece of it.
enum Text<'r> {
    Utf8 { input: &'r mut dyn Read, bytes: u64 },
    Decoded(Box<Source<'r>>),
}

impl Text<'_> {
    /// Fills the chunk anew; it stays empty at the end.
    fn fill(&mut self, chunk: &mut Vec<u8>, limits: Limits) -> Result<(), FormatError> {
        match self {
            Text::Utf8 { input, bytes } => {
                chunk.resize(CHUNK, 0);
                let got = loop {
                    match input.read(chunk) {
                        Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                        got => break got?,
                    }
                };
                chunk.truncate(got);
                *bytes += got as u64;
                if *bytes > limits.bytes {
                    let what = format!("a file of {bytes} bytes or more");
                    return Err(FormatError::Limit { what, name: "bytes", limit: limits.bytes });
                }
            }
            Text::Decoded(source) => {
                if source.bytes().is_empty() {
                    source.more()?;
                }
                chunk.clear();
                chunk.extend_from_slice(source.bytes());
                source.consume(chunk.len());
            }
        }
        Ok(())
    }
}

/// The text, with its lines counted when they are asked for, and what is read for one event held within bounds.
struct Window<'r> {
    source: Text<'r>,
    chunk: Vec<u8>,
    at: usize,
    /// Line, from 1, of the byte of the chunk up to which lines are counted.
    line: u64,
    counted: usize,
    /// Where the present event began: a byte of this chunk, or a line when it began before.
    begun: usize,
    begun_line: Option<u64>,
    /// Bytes that the present event may still take.
    left: usize,
    limits: Limits,
    trouble: Option<FormatError>,
}

impl Window<'_> {
    fn refuse(&mut self, trouble: FormatError) -> io::Error {
        self.trouble = Some(trouble);
        io::Error::other("the reader has its own error")
    }

    /// Returns the error of bytes that are not UTF-8 in the present event.
    fn no_text(&mut self) -> FormatError {
        let (from, line) = match self.begun_line {
            None => (self.begun, self.event_line()),
            Some(_) => (0, self.count(0)),
        };
        let bytes = &self.chunk[from..self.at];
        let (at, bad) = bytes.utf8_chunks().next().map_or((0, &[][..]), |c| (c.valid().len(), c.invalid()));
        let shown: Vec<String> = bad.iter().map(|b| format!("{b:02X}")).collect();
        let line = line + bytes[..at].iter().filter(|b| **b == b'\n').count() as u64;
        FormatError::Encoding {
            encoding: UTF_8.name().to_owned(),
            found: format!("the bytes {} stand for no character; say which encoding it is", shown.join(" ")),
            locator: Locator::Xml { line, path: ".".to_owned() },
        }
    }

    #[inline]
    fn begin(&mut self) {
        (self.left, self.begun, self.begun_line) = (self.limits.row_bytes, self.at, None);
    }

    /// Returns the line at which the present event began.
    fn event_line(&mut self) -> u64 {
        match self.begun_line {
            Some(line) => line,
            None => self.count(self.begun),
        }
    }

    fn count(&mut self, until: usize) -> u64 {
        if until > self.counted {
            self.line += count(&self.chunk[self.counted..until], b'\n');
            self.counted = until;
        }
        self.line
    }

    fn refill(&mut self) -> io::Result<()> {
        if self.begun_line.is_none() {
            self.begun_line = Some(self.count(self.begun));
        }
        self.count(self.chunk.len());
        if let Err(trouble) = self.source.fill(&mut self.chunk, self.limits) {
            self.chunk.clear();
            (self.at, self.counted) = (0, 0);
            return Err(self.refuse(trouble));
        }
        (self.at, self.counted) = (0, 0);
        if self.left == 0 && !self.chunk.is_empty() {
            let (limit, line) = (self.limits.row_bytes as u64, self.line);
            let what = format!("a text or a tag of {limit} bytes or more that goes on at line {line}");
            return Err(self.refuse(FormatError::Limit { what, name: "row_bytes", limit }));
        }
        Ok(())
    }
}

impl Read for Window<'_> {
    fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
        let part = self.fill_buf()?;
        let n = part.len().min(room.len());
        room[..n].copy_from_slice(&part[..n]);
        self.consume(n);
        Ok(n)
    }
}

impl BufRead for Window<'_> {
    #[inline]
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.at == self.chunk.len() {
            self.refill()?;
        }
        Ok(&self.chunk[self.at..])
    }

    #[inline]
    fn consume(&mut self, n: usize) {
        self.at = (self.at + n).min(self.chunk.len());
        self.left = self.left.saturating_sub(n);
    }
}

/// Where an event began.
pub(crate) struct Begun<'a, 'r>(&'a mut Window<'r>);

impl Begun<'_, '_> {
    /// Returns the line, from 1.
    #[inline]
    pub(crate) fn line(&mut self) -> u64 {
        self.0.event_line()
    }
}

/// Returns how often a byte stands in a text.
///
/// Small sums in bytes let the compiler look at many bytes together; `filter` and `count` take four.
#[inline]
pub(crate) fn count(bytes: &[u8], wanted: u8) -> u64 {
    let few = |part: &[u8]| part.iter().map(|b| u8::from(*b == wanted)).sum::<u8>();
    bytes.chunks(192).map(|part| u64::from(few(part))).sum()
}

/// Returns the encoding that an XML declaration names; a byte order mark or a declaration that can be read
/// byte by byte outranks a wide encoding that it claims.
fn declared(head: &[u8]) -> Result<Option<String>, FormatError> {
    if Encoding::for_bom(head).is_some() {
        return Ok(None);
    }
    if let Some(wide) = sniff::wide(head) {
        return Ok(Some(wide.to_ascii_lowercase()));
    }
    let Some(label) = declared_label(head) else { return Ok(None) };
    match Encoding::for_label(label.as_bytes()) {
        Some(wide) if wide == encoding_rs::UTF_16LE || wide == encoding_rs::UTF_16BE => Ok(None),
        Some(_) => Ok(Some(label)),
        None => Err(FormatError::Encoding {
            found: "its declaration names an encoding that is not known; say which one it is".to_owned(),
            encoding: shorten::cut(&label, 40),
            locator: Locator::Xml { line: 1, path: ".".to_owned() },
        }),
    }
}

fn declared_label(head: &[u8]) -> Option<String> {
    let text = String::from_utf8_lossy(head);
    let declaration = text.strip_prefix("<?xml")?.split_once("?>")?.0;
    let rest = declaration.split_once("encoding")?.1.trim_start().strip_prefix('=')?.trim_start();
    let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    Some(rest[1..].split_once(quote)?.0.trim().to_owned())
}

/// Returns what a file is instead of XML.
fn disguise(head: &[u8]) -> Option<String> {
    let text = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head).trim_ascii_start();
    let begins = |with: &[u8]| text.get(..with.len()).is_some_and(|t| t.eq_ignore_ascii_case(with));
    let is_page = begins(b"<html") || begins(b"<!doctype html");
    match text.first() {
        Some(b'<') if !is_page => None,
        _ => Some(sniff::disguise(head).unwrap_or_else(|| format!("it begins with {}", sniff::beginning(head)))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_counted_beyond_what_a_byte_holds() {
        assert_eq!((count(&[b'&'; 1000], b'&'), count(&[b'&'; 1000], b'\n'), count(b"", b'&')), (1000, 0, 0));
    }

    #[test]
    fn the_declaration_says_the_encoding_unless_it_cannot_be_true() {
        let check = |head: &[u8]| declared(head).unwrap().unwrap_or_else(|| "by mark, else UTF-8".to_owned());
        assert_eq!(check(b"<?xml version='1.0' encoding='ISO-8859-1'?>"), "ISO-8859-1");
        assert_eq!(check(b"<?xml version=\"1.0\" encoding = \"utf-16\"?>"), "by mark, else UTF-8");
        assert_eq!(check(b"\xef\xbb\xbf<?xml encoding='latin1'?>"), "by mark, else UTF-8");
        assert_eq!(check(b"<\0a\0/\0>\0"), "utf-16le");
        assert_eq!(check(b"<a/>"), "by mark, else UTF-8");
        assert!(
            declared(b"<?xml encoding='klingon'?>").unwrap_err().to_string().starts_with("the text is not klingon")
        );
    }
}
