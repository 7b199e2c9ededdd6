//! What readers are asked for and what they give.

use crate::{Limits, Node};
use counterpane_model::{Locator, Wall};
use std::borrow::Cow;

/// A file format that a reader exists for, or will.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Format {
    /// Delimited text with a header line.
    Csv,
    /// EDF+ or BDF+ annotations.
    Edf,
    /// One JSON document.
    Json,
    /// One JSON document a line.
    Jsonl,
    /// A spreadsheet.
    Sheet,
    /// Plain text: a row is a line.
    Text,
    /// XML.
    Xml,
    /// An archive.
    Zip,
}

/// How a text is to be read.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct TextOptions {
    /// Encoding label such as `utf-8`, `utf-16le`, `windows-1252`; `None`: by byte order mark, else UTF-8.
    pub encoding: Option<String>,
    /// Delimiter of delimited text; `None`: comma.
    pub delimiter: Option<char>,
    /// Lines above the header are a preamble; the header is the first line that holds this text.
    pub header_with: Option<String>,
    /// Lines that begin with this are comments: they are passed over, are no events, and still count as lines.
    pub comment: Option<String>,
}

/// One field that is wanted of each row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Want {
    /// How many levels above the row: 0 is the row itself, 1 the object that holds the list it stands
    /// in, and so on up to the element that `each` found. Lists are no levels.
    pub up: usize,
    /// Path inside it.
    ///
    /// In a tree: `a.b[0]`, `["odd name"]`, `@` (the value itself), `@key` (the name of the nearest member
    /// that a wildcard chose) or `$.device` (a value outside the rows, which must stand before them; its
    /// wildcards are those of `each`). In a table: a header text, or `#3` for the third column; in a sheet also its
    /// letter, `C`. In EDF+: `onset`, `duration`, `text`, `channel`, `record`. In plain text: `line`, `word 2`,
    /// `rest 2`. In XML: `@attribute`, `child/text` or `child` (the text of a child), `child/@attribute`, `.` (the
    /// element's own text), `name()`; elements above give attributes, and what their children held that ended
    /// before the row.
    pub path: String,
}

/// What a reader is asked for.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Which part of the file: a streamable path such as `$.nights[*]` for JSON (`$` is the whole
    /// document), a path of elements such as `night[@kind='sleep']/stage` or `//stage` for XML, an annotation
    /// signal for EDF+ (`#2` is the second one, empty: all of them), a sheet (empty: the only one), empty
    /// elsewhere. In an archive it is that of its members.
    pub each: String,
    /// Child rows inside each row, such as `segments[*]` or `days[*].blocks[*]`; in XML, such as `stage`.
    pub nest: Option<String>,
    /// The fields; [`Row::value`] takes their index.
    pub wants: Vec<Want>,
    /// Which members of an archive: a path such as `days/*.csv`, in which `*` stays within one folder. It goes on
    /// inside an archive in the archive: `account.zip/days/*.csv`. `None` for every other format.
    pub member: Option<String>,
    /// Format of those members.
    pub inner: Option<Format>,
    /// How a text is to be read.
    pub text: TextOptions,
    /// What is refused.
    pub limits: Limits,
}

/// A value of a row, borrowed.
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'a> {
    /// Nothing.
    Null,
    /// True or false.
    Bool(bool),
    /// A number as text that reads back to the same number.
    Number(Cow<'a, str>),
    /// A text.
    Text(Cow<'a, str>),
    /// A list.
    List(&'a [Node]),
    /// Named values.
    Map(&'a [(String, Node)]),
    /// A date with a time of day, from a spreadsheet, rounded to the millisecond; a date alone is its midnight.
    Moment {
        /// Date and time as the sheet shows them; which zone they are in, the sheet does not say.
        wall: Wall,
    },
    /// A time of day without a date, from a spreadsheet.
    Clock {
        /// Milliseconds since midnight, less than a day.
        ms: u32,
    },
    /// A length of time, from a spreadsheet; it may be longer than a day, or negative.
    Span {
        /// Milliseconds.
        ms: i64,
    },
}

/// One row of a file.
pub trait Row {
    /// Returns where the row begins.
    fn locator(&self) -> Locator;
    /// Returns the value of want number `want`, or `None` when the row has no such field.
    fn value(&self, want: usize) -> Option<Value<'_>>;
    /// Returns where that value stands; the row's own place when the row has no such field.
    fn locate(&self, want: usize) -> Locator;
    /// Returns the row as the user would see it: its own line, or a JSON text on one line; at most
    /// 200 characters, with an ellipsis when cut.
    fn line(&self) -> String;
}

/// Facts of a file that stand outside its rows.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Head {
    /// Member of an archive or a folder whose facts these are; `None` for a file by itself.
    pub member: Option<String>,
    /// Column names of a table, in order.
    pub columns: Vec<String>,
    /// Encoding that was used for text.
    pub encoding: Option<&'static str>,
    /// Local wall time at which an EDF+ recording starts, in whole seconds as the header has it; onsets
    /// count from here, so that the fraction of a second by which the samples begin later is not in it.
    pub start: Option<Wall>,
    /// Names of header fields that identify a person, without their values.
    pub identity: Vec<String>,
}

/// What a reader hands to its caller, in the order of the file.
pub enum Event<'a> {
    /// The facts that stand outside the rows; comes once, before the first row, and in an archive before
    /// the first row of each member.
    Head(&'a Head),
    /// A row.
    Row(&'a dyn Row),
    /// Something that should have been a row and could not be read; reading goes on.
    Unreadable {
        /// Where it stands.
        locator: Locator,
        /// The user's own line, shortened.
        line: String,
        /// What is wrong with it, without a full stop.
        problem: String,
    },
}

/// Whether to go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flow {
    /// Read the next row.
    Continue,
    /// Enough.
    Stop,
}

/// Why a file cannot be read at all. What the file is called is added by the caller.
#[derive(Debug, thiserror::Error)]
pub enum FormatError {
    /// The machine could not read it.
    #[error("{0}")]
    Io(#[from] std::io::Error),
    /// There is nothing in it.
    #[error("the file is empty")]
    Empty,
    /// It is not what it should be.
    #[error("this is not {expected}: {found}")]
    NotThis {
        /// What was expected, such as `JSON`.
        expected: &'static str,
        /// What stands there instead, with its place.
        found: String,
    },
    /// It breaks off or contradicts itself.
    #[error("{problem} ({locator})")]
    Broken {
        /// What is wrong.
        problem: String,
        /// Where.
        locator: Locator,
    },
    /// It goes beyond a limit.
    #[error("{what} is more than the limit of {limit} ({name})")]
    Limit {
        /// What is too large, such as `a line of 70000000 bytes`.
        what: String,
        /// Name of the limit, such as `row_bytes`.
        name: &'static str,
        /// The limit.
        limit: u64,
    },
    /// A text in another encoding than declared.
    #[error("the text is not {encoding}: {found} ({locator})")]
    Encoding {
        /// The encoding that was declared or detected.
        encoding: String,
        /// What was found.
        found: String,
        /// Where.
        locator: Locator,
    },
    /// It needs a password.
    #[error("{what} is locked with a password; open it, save a copy without one, and import that")]
    Locked {
        /// What is locked, such as `the workbook`.
        what: String,
    },
    /// A member of an archive cannot be read.
    #[error("member `{member}`: {problem}")]
    Member {
        /// Path of the member inside the archive.
        member: String,
        /// Why not.
        problem: Box<FormatError>,
    },
    /// A request that this format cannot answer, such as a path with a syntax error.
    #[error("`{what}` cannot be asked of this format: {why}")]
    Request {
        /// The part of the request.
        what: String,
        /// Why not.
        why: String,
    },
}

impl FormatError {
    /// Returns the name and the value of the limit that the file goes beyond, when that is what is wrong.
    #[must_use]
    pub fn limit(&self) -> Option<(&'static str, u64)> {
        match self {
            FormatError::Limit { name, limit, .. } => Some((name, *limit)),
            FormatError::Member { problem, .. } => problem.limit(),
            _ => None,
        }
    }

    /// Returns the error as that of a member of an archive.
    pub(crate) fn in_member(self, member: &str) -> FormatError {
        match self {
            FormatError::Member { .. } => self,
            problem => FormatError::Member { member: member.to_owned(), problem: Box::new(problem) },
        }
    }
}
