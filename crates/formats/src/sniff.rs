//! What the beginning of a file looks like.
//!
//! A sniff proposes and never decides: readers obey their request. It gives the same answer for the same
//! bytes and name, whatever else stands in the folder.

mod disguise;
mod table;
mod whole;

use crate::sheet::SheetHead;
use crate::{Format, edf, json, shorten, source, xml};
pub(crate) use disguise::{beginning, disguise, wide};
use std::collections::BTreeSet;
pub use whole::sniff_file;

/// Bytes of a file's beginning that are enough for [`sniff`]; more do no harm.
pub const HEAD: usize = 64 << 10;

/// What the beginning of a file looks like.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Sniff {
    /// Name of the file, as it was given.
    pub name: String,
    /// Formats that it may be in, the likeliest first; none when it is no recording at all.
    pub formats: Vec<Format>,
    /// Encoding of a text: by its byte order mark, else by its bytes.
    pub encoding: Option<&'static str>,
    /// Characters that may separate the fields of a table, the likeliest first.
    pub delimiters: Vec<char>,
    /// Column names of the likeliest table, trimmed.
    pub columns: Vec<String>,
    /// Line of the header of that table, from 1.
    pub header_line: Option<u64>,
    /// First lines of a text, at most 60, each shortened.
    pub lines: Vec<String>,
    /// Paths of JSON, such as `$.nights[*].from`; a path stands for every item of its lists. Paths of XML below
    /// its root, such as `night/stage` and `night/stage/@at`.
    pub paths: BTreeSet<String>,
    /// What those paths say in the beginning: the path, and a text, number, `true`, `false` or `null` that stands there.
    pub values: BTreeSet<(String, String)>,
    /// Labels of the signals of an EDF file.
    pub signals: Vec<String>,
    /// Name of the root element of XML.
    pub root: Option<String>,
    /// The beginning of each sheet of a workbook; only [`sniff_file`] sees it.
    pub sheets: Vec<SheetHead>,
    /// Names of the members of an archive; only [`sniff_file`] sees them.
    pub members: Vec<String>,
    /// Name and value of the limit beyond which the file goes, so that no more could be seen.
    pub limit: Option<(&'static str, u64)>,
    /// What it is, in words for a person, without a full stop.
    pub sentence: String,
}

impl Sniff {
    /// Returns whether a path of JSON or XML stands in the beginning, or a column in a line that may be the
    /// header, or a signal, the root element of XML, a sheet, a member: whatever the format calls a name.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.paths.contains(name)
            || self.has_column(name)
            || self.signals.iter().any(|s| s == name)
            || self.root.as_deref() == Some(name)
            || self.sheets.iter().any(|s| s.name == name)
            || self.members.iter().any(|m| m == name)
    }

    /// Returns whether a path of JSON or XML says exactly this text anywhere in the beginning.
    #[must_use]
    pub fn says(&self, path: &str, text: &str) -> bool {
        self.values.contains(&(path.to_owned(), text.to_owned()))
    }

    /// Returns whether a column of this name stands in the header, or in any of the first lines when they
    /// are split at a likely delimiter: a preamble may hide the header.
    #[must_use]
    pub fn has_column(&self, name: &str) -> bool {
        let in_line = |line: &String| {
            // A line that is shown has blanks in place of its tabs.
            let shown = |d: &char| if *d == '\t' { ' ' } else { *d };
            let mut fields = self.delimiters.iter().flat_map(|d| line.split(shown(d)));
            fields.any(|f| f.trim().trim_matches('"') == name)
        };
        self.columns.iter().any(|c| c == name)
            || self.lines.iter().any(in_line)
            || self.sheets.iter().flat_map(|s| &s.rows).flatten().any(|cell| cell == name)
    }
}

/// Looks at the beginning of a file; `head` is at least [`HEAD`] bytes, or the whole file.
///
/// ```
/// use counterpane_formats::{Format, sniff};
/// let sniff = sniff("night.csv", b"clock;stage\n22:47;light\n");
/// assert_eq!((sniff.formats[0], sniff.delimiters[0]), (Format::Csv, ';'));
/// assert_eq!(sniff.sentence, "delimited text in UTF-8 (`;`) with the columns `clock`, `stage`");
/// ```
#[must_use]
pub fn sniff(name: &str, head: &[u8]) -> Sniff {
    let mut found = Sniff { name: name.to_owned(), ..Sniff::default() };
    if head.is_empty() {
        found.sentence = "an empty file".to_owned();
    } else if let Some(signals) = edf::Header::labels_of(head) {
        found.formats = vec![Format::Edf];
        found.sentence = format!("EDF or BDF with the signals {}", shorten::names(signals.iter().map(String::as_str)));
        found.signals = signals;
    } else if head.starts_with(b"PK\x03\x04") {
        archive(&mut found, head);
    } else {
        text(&mut found, head);
    }
    found
}

fn archive(found: &mut Sniff, head: &[u8]) {
    let holds = |name: &[u8]| head.windows(name.len()).any(|w| w == name);
    if holds(b"[Content_Types].xml") || holds(b"xl/") || holds(b"opendocument.spreadsheet") {
        found.formats = vec![Format::Sheet, Format::Zip];
        found.sentence = "a spreadsheet".to_owned();
    } else {
        found.formats = vec![Format::Zip];
        found.sentence = "an archive (ZIP)".to_owned();
    }
}

fn text(found: &mut Sniff, head: &[u8]) {
    let Some((text, encoding)) = decode(head) else {
        found.sentence =
            disguise(head).unwrap_or_else(|| "no text and no recording: bytes without meaning here".to_owned());
        return;
    };
    if let Some(what) = disguise(text.as_bytes()) {
        if what.starts_with("XML or") {
            found.formats = vec![Format::Xml];
            found.encoding = Some(encoding);
            found.lines = text.lines().take(60).map(shorten::line).collect();
            let outline = xml::outline(&text);
            let root = outline.root.as_ref().map(|r| format!(" with the root element `{r}`")).unwrap_or_default();
            found.sentence = format!("XML{root}");
            (found.root, found.paths, found.values) = (outline.root, outline.paths, outline.values);
        } else {
            found.sentence = what;
        }
        return;
    }
    found.encoding = Some(encoding);
    found.lines = text.lines().take(60).map(shorten::line).collect();
    match json::outline(&text) {
        Some(outline) => tree(found, outline),
        None => lines(found, &text, head.len() >= HEAD),
    }
}

fn tree(found: &mut Sniff, outline: json::Outline) {
    let many = outline.documents > 1;
    let named = has_extension(&found.name, &["jsonl", "ndjson"]);
    found.formats = match (many, outline.one_a_line && outline.documents == 1) {
        (true, _) => vec![Format::Jsonl],
        (false, true) if named => vec![Format::Jsonl, Format::Json],
        (false, true) => vec![Format::Json, Format::Jsonl],
        (false, false) => vec![Format::Json],
    };
    let kind = if found.formats[0] == Format::Jsonl { "JSON Lines" } else { "JSON" };
    let is_top = |p: &&String| p.matches(['.', '[']).count() == 1;
    let top = outline.paths.iter().filter(is_top).map(|p| p.trim_start_matches("$.")).collect::<Vec<_>>();
    found.sentence = format!("{kind} with {} at its top", shorten::names(top));
    (found.paths, found.values) = (outline.paths, outline.values);
}

fn lines(found: &mut Sniff, text: &str, cut: bool) {
    let tables = table::candidates(text, cut);
    let named = has_extension(&found.name, &["csv", "tab", "tsv"]);
    found.formats = match tables.is_empty() && !named {
        true => vec![Format::Text, Format::Csv],
        false => vec![Format::Csv, Format::Text],
    };
    let encoding = found.encoding.unwrap_or_default();
    found.delimiters = tables.iter().map(|t| t.delimiter).collect();
    if let Some(table) = tables.into_iter().next() {
        let mark = if table.delimiter == '\t' { "tabs".to_owned() } else { format!("`{}`", table.delimiter) };
        let columns = shorten::names(table.columns.iter().map(String::as_str));
        found.sentence = format!("delimited text in {encoding} ({mark}) with the columns {columns}");
        found.columns = table.columns;
        found.header_line = Some(table.line);
    } else if text.trim().is_empty() {
        found.formats.clear();
        found.sentence = "an empty file: nothing but blanks".to_owned();
    } else {
        found.sentence =
            format!("plain text in {encoding}, beginning with {}", beginning(text.trim_start().as_bytes()));
    }
}

/// Returns a head as text and its encoding: by mark, by zero bytes, UTF-8 where it is valid, else Latin-1 in its
/// Windows form; `None` when it is no text.
fn decode(head: &[u8]) -> Option<(String, &'static str)> {
    let (encoding, mark) = source::encoding_of(head, None).ok()?;
    let body = &head[mark..];
    let guessed = match (mark, disguise::wide(head)) {
        (0, Some("UTF-16LE")) => encoding_rs::UTF_16LE,
        (0, Some(_)) => encoding_rs::UTF_16BE,
        (0, None) if !is_utf8(body) => encoding_rs::WINDOWS_1252,
        _ => encoding,
    };
    let (text, _) = guessed.decode_without_bom_handling(body);
    // Texts have line ends and tabs; other control characters are few in the worst of them.
    let odd = text.chars().filter(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{c}')).count();
    (odd * 20 <= text.chars().count()).then(|| (text.trim_end_matches('\u{fffd}').to_owned(), guessed.name()))
}

/// Returns whether bytes are UTF-8; the last character may be cut.
fn is_utf8(bytes: &[u8]) -> bool {
    match std::str::from_utf8(bytes) {
        Ok(_) => true,
        Err(e) => e.error_len().is_none(),
    }
}

fn has_extension(name: &str, extensions: &[&str]) -> bool {
    let extension = name.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase());
    extension.is_some_and(|e| extensions.contains(&e.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(name: &str, head: &[u8]) -> String {
        let s = sniff(name, head);
        format!("{:?}: {}", s.formats, s.sentence)
    }

    #[test]
    fn json_is_told_by_its_names() {
        assert_eq!(
            check("a.json", b"{\"device\": \"x\",\n \"nights\": [{\"fr"),
            "[Json]: JSON with `device`, `nights` at its top"
        );
        assert_eq!(check("a.json", b"{\"t\":1}"), "[Json, Jsonl]: JSON with `t` at its top");
        assert_eq!(check("a.jsonl", b"{\"t\":1}\n{\"t\":2}\n"), "[Jsonl]: JSON Lines with `t` at its top");
        let sniff = sniff("", b"[{\"from\": 1}]");
        assert!(sniff.has("$[*].from") && !sniff.has("$[*].to"));
    }

    #[test]
    fn a_table_is_told_by_its_columns_even_below_a_preamble() {
        let head = b"night sheet\nexported;05.04.2026\n\nclock;\"lasts\";phase\n22:31;00:27;Light\n22:58;0:10;Deep\n";
        assert_eq!(
            check("a.txt", head),
            "[Csv, Text]: delimited text in UTF-8 (`;`) with the columns `clock`, `lasts`, `phase`"
        );
        let sniff = sniff("", head);
        assert!(sniff.has("lasts") && sniff.has("exported") && !sniff.has("Clock"));
        assert_eq!(sniff.header_line, Some(4));
    }

    #[test]
    fn a_plain_text_is_told_by_its_beginning() {
        assert_eq!(check("a.txt", b"W\nW\nN1\n"), "[Text, Csv]: plain text in UTF-8, beginning with `W W N1`");
        assert_eq!(check("a.csv", b"stage\nW\n"), "[Csv, Text]: plain text in UTF-8, beginning with `stage W`");
    }

    #[test]
    fn encodings_are_told_with_or_without_a_mark() {
        let encoding = |head: &[u8]| sniff("", head).encoding;
        let wide: Vec<u8> = "clock\tstage\r\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
        assert_eq!(encoding(&wide), Some("UTF-16LE"));
        assert_eq!(encoding(b"\xff\xfea\0"), Some("UTF-16LE"));
        assert_eq!(encoding(b"K\xf6ln;1\n"), Some("windows-1252"));
        assert_eq!(encoding("Köln;1\n".as_bytes()), Some("UTF-8"));
    }

    #[test]
    fn what_is_no_recording_is_named() {
        assert_eq!(
            check("a.json", b"<!DOCTYPE html><p>"),
            "[]: HTML, beginning with `<!DOCTYPE html><p>`; perhaps a login page was saved instead of the file"
        );
        assert_eq!(check("a.json", b"%PDF-1.7"), "[]: a PDF");
        assert_eq!(check("a", b""), "[]: an empty file");
        assert_eq!(check("a", b" \n "), "[]: an empty file: nothing but blanks");
        assert_eq!(check("a", &[1, 2, 3, 4, 5, 6]), "[]: no text and no recording: bytes without meaning here");
        assert_eq!(check("a.xlsx", b"PK\x03\x04......[Content_Types].xml"), "[Sheet, Zip]: a spreadsheet");
        assert_eq!(
            check("a.xml", b"<?xml version='1.0'?>\n<!-- x --><Data a='1'>"),
            "[Xml]: XML with the root element `Data`"
        );
    }

    proptest! {
        #[test]
        fn no_head_makes_it_panic(bytes: Vec<u8>, text in "[\\[\\]{}\",:;\t\nä0-9a<>-]{0,80}") {
            let _ = sniff("a.csv", &bytes);
            prop_assert_eq!(sniff("a", text.as_bytes()), sniff("a", text.as_bytes()));
        }
    }
}
