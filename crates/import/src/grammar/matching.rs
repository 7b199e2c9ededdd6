//! Which files a definition is for, and how their text is written.

use super::FormatWord;
use schemars::JsonSchema;
use std::collections::BTreeMap;

/// The facts that tell a file of this kind from others. All must hold; only the head of the file is
/// read; where several definitions fit, the one with the most facts wins.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Matching {
    /// The format of the file.
    pub(crate) format: FormatWord,
    /// What must be there: column names of a table, paths of JSON or XML such as `$.made_by`.
    #[schemars(default)]
    pub(crate) has: Vec<String>,
    /// Paths of JSON and the exact text that each must have.
    #[schemars(default)]
    pub(crate) says: BTreeMap<String, String>,
    /// A text that one of the first lines must hold.
    pub(crate) line: Option<String>,
    /// Name of the root element of XML.
    pub(crate) root: Option<String>,
    /// Members that the archive must have; `*` stands for any name within one folder.
    #[schemars(default)]
    pub(crate) members: Vec<String>,
}

/// How text is written in the file.
#[derive(Clone, Debug, Default, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct TextKeys {
    /// Encoding label such as `utf-8`, `utf-16le`, `windows-1252`; left out: by byte order mark, else UTF-8.
    pub(crate) encoding: Option<String>,
    /// The one character between fields; left out: a comma.
    #[schemars(length(min = 1, max = 1))]
    pub(crate) delimiter: Option<char>,
    /// The decimal mark of numbers, `.` or `,`; left out: a point.
    pub(crate) decimal: Option<Decimal>,
    /// The header is the first line that holds this text; what stands above is a preamble.
    pub(crate) header: Option<String>,
    /// Lines that begin with this are left out.
    pub(crate) comment: Option<String>,
}

/// A decimal mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
pub(crate) enum Decimal {
    /// `1.5`.
    #[schemars(rename = ".")]
    Point,
    /// `1,5`.
    #[schemars(rename = ",")]
    Comma,
}

impl super::Word for Decimal {
    const WHAT: &'static str = "a decimal mark";
    const WORDS: &'static [(&'static str, Decimal)] = &[(".", Decimal::Point), (",", Decimal::Comma)];
}
