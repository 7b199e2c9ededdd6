//! Words and cuts that depend on the format of a sample.

use crate::grammar::{FormatWord, Word};
use counterpane_formats::{Format, Node};

/// Returns the word of the language for a format.
pub(super) fn word(format: Format) -> &'static str {
    FormatWord::WORDS.iter().find(|(_, f)| f.format() == format).map_or("", |(word, _)| word)
}

/// Bytes of a sample that is kept as it is.
const SMALL: usize = 48 << 10;
/// Lines that are kept of a longer one.
const LINES: usize = 400;
/// Items that are kept of each list of objects.
const ITEMS: usize = 40;

/// Returns a sample that is small enough to be kept beside the definition; `None` when it cannot be cut without
/// breaking it.
pub(super) fn trimmed(format: Format, bytes: &[u8]) -> Option<Vec<u8>> {
    if bytes.len() <= SMALL {
        return Some(bytes.to_vec());
    }
    match format {
        Format::Csv | Format::Text | Format::Jsonl => lines(bytes),
        Format::Json => json(bytes),
        // Annotations stand in the last signals of each data record: a recording cannot be cut by lines.
        Format::Edf | Format::Sheet | Format::Xml | Format::Zip => None,
    }
}

/// Keeps whole lines, in whichever encoding: in the wide ones a line feed is one byte of two.
fn lines(bytes: &[u8]) -> Option<Vec<u8>> {
    let wide = bytes.starts_with(b"\xff\xfe") || bytes.get(1) == Some(&0);
    let ends = bytes.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(at, _)| at + if wide { 2 } else { 1 });
    let end = ends.take(LINES).filter(|end| *end <= SMALL * 4).last()?;
    bytes.get(..end).map(<[u8]>::to_vec)
}

fn json(bytes: &[u8]) -> Option<Vec<u8>> {
    let value: serde_json::Value = serde_json::from_slice(bytes).ok()?;
    let mut text = Node::to_string(&cut(&value));
    text.push('\n');
    Some(text.into_bytes())
}

/// Returns a document as it is.
pub(super) fn node_of(value: &serde_json::Value) -> Node {
    shortened(value, usize::MAX)
}

fn cut(value: &serde_json::Value) -> Node {
    shortened(value, ITEMS)
}

/// Shortens lists of objects; lists of single values stay whole, because their length means something.
fn shortened(value: &serde_json::Value, most: usize) -> Node {
    match value {
        serde_json::Value::Null => Node::Null,
        serde_json::Value::Bool(truth) => Node::Bool(*truth),
        serde_json::Value::Number(number) => Node::Number(number.to_string()),
        serde_json::Value::String(text) => Node::Text(text.clone()),
        serde_json::Value::Object(members) => {
            Node::Map(members.iter().map(|(k, v)| (k.clone(), shortened(v, most))).collect())
        }
        serde_json::Value::Array(items) => {
            let objects = items.iter().any(|i| i.is_object() || i.is_array());
            let kept = if objects { most } else { items.len() };
            Node::List(items.iter().take(kept).map(|i| shortened(i, most)).collect())
        }
    }
}
