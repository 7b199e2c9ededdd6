//! Where in an original a value stands.

use std::fmt;
use std::str::FromStr;

/// Where in an original a value stands. One variant for each way of pointing, not for each format.
///
/// The text form (`Display`, `FromStr`) is what the store keeps and what findings print:
///
/// | text | points at |
/// | --- | --- |
/// | `line 4:12` | line 4, column 12 of a text, both from 1, columns in characters |
/// | `$.nights[0].from` | a value of a JSON document, as an RFC 9535 normalized path in its short form |
/// | `row 3 $.from` | a value of the third document of JSON Lines |
/// | `record 7 onset +210.5` | an annotation of EDF+: data record from 0, onset as written |
/// | `sheet "Night" B7` | a spreadsheet cell |
/// | `xml line 120 Record/@value` | an element or attribute of XML |
/// | `item 17 of $.levels` | the seventeenth code, from 1, of an array or a string |
/// | `items 17 to 40 of $.levels` | the codes from the seventeenth to the fortieth, which all say the same |
/// | `member "days/1.csv" line 4:1` | a place in a member of an archive |
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Locator {
    /// A place in a text file: line and column from 1.
    Text {
        /// Line, from 1.
        line: u64,
        /// Column in characters, from 1.
        column: u32,
    },
    /// A path in a JSON document.
    Json {
        /// Normalized path in its short form, such as `$.nights[0].from`.
        path: String,
    },
    /// A path in one document of a stream of JSON documents.
    JsonLine {
        /// Document, from 1.
        row: u64,
        /// Path inside that document.
        path: String,
    },
    /// An annotation of EDF+ or BDF+.
    Record {
        /// Data record, from 0.
        record: u64,
        /// Onset as written in the file, with its sign.
        onset: String,
    },
    /// A spreadsheet cell.
    Cell {
        /// Name of the sheet.
        sheet: String,
        /// Address such as `B7`.
        cell: String,
    },
    /// An element or attribute of XML.
    Xml {
        /// Line of the element's start tag, from 1.
        line: u64,
        /// Path below the root, such as `Record/@value`.
        path: String,
    },
    /// One code of an array or a string of codes.
    Item {
        /// Which one, from 1.
        index: u64,
        /// Where the array or string stands.
        of: Box<Locator>,
    },
    /// Codes of an array or a string that follow each other and say the same.
    Items {
        /// The first one, from 1.
        first: u64,
        /// The last one.
        last: u64,
        /// Where the array or string stands.
        of: Box<Locator>,
    },
    /// A place in a member of an archive.
    Member {
        /// Path of the member inside the archive.
        member: String,
        /// Place inside the member.
        inner: Box<Locator>,
    },
}

impl Locator {
    /// Returns the place of the `index`-th code, from 1, of what stands here.
    #[must_use]
    pub fn item(self, index: u64) -> Locator {
        Locator::Item { index, of: Box::new(self) }
    }
}

impl fmt::Display for Locator {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Locator::Text { line, column } => write!(f, "line {line}:{column}"),
            Locator::Json { path } => f.write_str(path),
            Locator::JsonLine { row, path } => write!(f, "row {row} {path}"),
            Locator::Record { record, onset } => write!(f, "record {record} onset {onset}"),
            Locator::Cell { sheet, cell } => write!(f, "sheet {} {cell}", quote(sheet)),
            Locator::Xml { line, path } => write!(f, "xml line {line} {path}"),
            Locator::Item { index, of } => write!(f, "item {index} of {of}"),
            Locator::Items { first, last, of } => write!(f, "items {first} to {last} of {of}"),
            Locator::Member { member, inner } => write!(f, "member {} {inner}", quote(member)),
        }
    }
}

/// A text that is not a locator.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a place in a file")]
pub struct NotALocator(pub String);

impl FromStr for Locator {
    type Err = NotALocator;

    fn from_str(text: &str) -> Result<Locator, NotALocator> {
        parse(text).ok_or_else(|| NotALocator(text.to_owned()))
    }
}

fn parse(text: &str) -> Option<Locator> {
    if text.starts_with('$') {
        return Some(Locator::Json { path: text.to_owned() });
    }
    let (word, rest) = text.split_once(' ')?;
    match word {
        "line" => {
            let (line, column) = rest.split_once(':')?;
            Some(Locator::Text { line: line.parse().ok()?, column: column.parse().ok()? })
        }
        "row" => {
            let (row, path) = rest.split_once(' ')?;
            Some(Locator::JsonLine { row: row.parse().ok()?, path: path.to_owned() })
        }
        "record" => {
            let (record, onset) = rest.split_once(" onset ")?;
            Some(Locator::Record { record: record.parse().ok()?, onset: onset.to_owned() })
        }
        "sheet" => {
            let (sheet, rest) = unquote(rest)?;
            Some(Locator::Cell { sheet, cell: rest.strip_prefix(' ')?.to_owned() })
        }
        "xml" => {
            let (line, path) = rest.strip_prefix("line ")?.split_once(' ')?;
            Some(Locator::Xml { line: line.parse().ok()?, path: path.to_owned() })
        }
        "item" => {
            let (index, of) = rest.split_once(" of ")?;
            Some(parse(of)?.item(index.parse().ok()?))
        }
        "items" => {
            let (first, rest) = rest.split_once(" to ")?;
            let (last, of) = rest.split_once(" of ")?;
            Some(Locator::Items { first: first.parse().ok()?, last: last.parse().ok()?, of: Box::new(parse(of)?) })
        }
        "member" => {
            let (member, rest) = unquote(rest)?;
            Some(Locator::Member { member, inner: Box::new(parse(rest.strip_prefix(' ')?)?) })
        }
        _ => None,
    }
}

/// Quotes a name so that any character, quotes and line ends too, can be told from what follows.
fn quote(name: &str) -> String {
    let mut out = String::with_capacity(name.len() + 2);
    out.push('"');
    for c in name.chars() {
        if matches!(c, '"' | '\\') {
            out.push('\\');
        }
        out.push(c);
    }
    out.push('"');
    out
}

fn unquote(text: &str) -> Option<(String, &str)> {
    let mut name = String::new();
    let mut chars = text.strip_prefix('"')?.char_indices();
    while let Some((at, c)) = chars.next() {
        match c {
            '"' => return Some((name, &text[at + 2..])),
            '\\' => name.push(chars.next()?.1),
            other => name.push(other),
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn text_reads_as_a_person_would_say_it() {
        let inner = Locator::Text { line: 4, column: 12 };
        let deep = Locator::Member { member: "a \"b\".csv".into(), inner: Box::new(inner.item(17)) };
        assert_eq!(deep.to_string(), r#"member "a \"b\".csv" item 17 of line 4:12"#);
    }

    fn leaf() -> impl Strategy<Value = Locator> {
        prop_oneof![
            (any::<u64>(), any::<u32>()).prop_map(|(line, column)| Locator::Text { line, column }),
            "\\$.*".prop_map(|path| Locator::Json { path }),
            (any::<u64>(), "\\$.*").prop_map(|(row, path)| Locator::JsonLine { row, path }),
            (any::<u64>(), "[+-][0-9.]{1,9}").prop_map(|(record, onset)| Locator::Record { record, onset }),
            (".*", "[A-Z]{1,3}[0-9]{1,5}").prop_map(|(sheet, cell)| Locator::Cell { sheet, cell }),
            (any::<u64>(), "[^ ].*").prop_map(|(line, path)| Locator::Xml { line, path }),
        ]
    }

    proptest! {
        #[test]
        fn text_reads_back(at in leaf(), index: u64, last: u64, member in ".*") {
            let many = Locator::Items { first: index, last, of: Box::new(at.clone()) };
            prop_assert_eq!(many.to_string().parse(), Ok(many));
            let deep = Locator::Member { member, inner: Box::new(at.item(index)) };
            prop_assert_eq!(deep.to_string().parse(), Ok(deep));
        }
    }
}
