//! The paths of a document, as far as its beginning shows them.

use super::scan::{Fault, Out, Scanner, Word};
use super::tape::unescape;
use crate::path::push_name;
use std::collections::BTreeSet;

/// Most paths that are kept: a file whose names are data (dates, say) has very many.
const MOST: usize = 2000;

/// Deepest path that is kept, in containers.
const DEEPEST: usize = 12;

/// What the beginning of a text shows of JSON.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(crate) struct Outline {
    /// Paths with `[*]` for the items of lists, such as `$.nights[*].from`; in JSON Lines those of every line.
    pub(crate) paths: BTreeSet<String>,
    /// Documents that were seen whole.
    pub(crate) documents: usize,
    /// Whether every document that was seen whole stands on one line.
    pub(crate) one_a_line: bool,
}

/// Returns the outline of a text, or `None` when it is not JSON. A text that breaks off is fine.
pub(crate) fn outline(text: &str) -> Option<Outline> {
    let bytes = text.as_bytes();
    if !matches!(text.trim_start().as_bytes().first(), Some(b'{' | b'[')) {
        return None;
    }
    let mut out = Outline { one_a_line: true, ..Outline::default() };
    let mut scan = Scanner::new(bytes, 120);
    scan.pinned = true;
    loop {
        let start = match scan.peek() {
            Ok(Some(_)) => scan.at,
            _ => return Some(out),
        };
        let mut collector = Collector { bytes, paths: &mut out.paths, path: "$".to_owned(), frames: Vec::new() };
        match scan.value(&mut collector) {
            Ok(()) => {
                out.documents += 1;
                out.one_a_line &= !bytes[start..scan.at].contains(&b'\n');
            }
            // A word or number that is cut looks like a wrong one.
            Err(Fault::Flaw { at, .. }) if at + 32 >= bytes.len() => return Some(out),
            Err(_) => return (out.documents > 0).then_some(out),
        }
    }
}

struct Frame {
    list: bool,
    /// Length of the path of the list or object itself.
    len: usize,
    name_next: bool,
}

struct Collector<'a> {
    bytes: &'a [u8],
    paths: &'a mut BTreeSet<String>,
    path: String,
    frames: Vec<Frame>,
}

impl Collector<'_> {
    fn value(&mut self) {
        if self.frames.len() <= DEEPEST && self.paths.len() < MOST && !self.paths.contains(&self.path) {
            self.paths.insert(self.path.clone());
        }
    }

    fn after_value(&mut self) {
        if let Some(frame) = self.frames.last_mut() {
            frame.name_next = !frame.list;
        }
    }

    fn scalar(&mut self) {
        self.value();
        self.after_value();
    }
}

impl Out for Collector<'_> {
    fn open(&mut self, list: bool, _at: usize) {
        self.value();
        self.frames.push(Frame { list, len: self.path.len(), name_next: !list });
        if list {
            self.path.push_str("[*]");
        }
    }

    fn close(&mut self, _end: usize) {
        if let Some(frame) = self.frames.pop() {
            self.path.truncate(frame.len);
        }
        self.after_value();
    }

    fn text(&mut self, start: usize, end: usize, _escaped: bool) {
        match self.frames.last_mut() {
            Some(frame) if frame.name_next => {
                frame.name_next = false;
                let raw = String::from_utf8_lossy(self.bytes.get(start..end).unwrap_or_default());
                self.path.truncate(frame.len);
                push_name(&mut self.path, &unescape(&raw));
            }
            _ => self.scalar(),
        }
    }

    fn number(&mut self, _start: usize, _end: usize) {
        self.scalar();
    }

    fn word(&mut self, _word: Word, _start: usize, _end: usize) {
        self.scalar();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str) -> String {
        outline(text).map_or("not JSON".to_owned(), |o| {
            let paths: Vec<_> = o.paths.into_iter().collect();
            format!("{} whole: {}", o.documents, paths.join(" "))
        })
    }

    #[test]
    fn paths_are_those_of_values_with_lists_as_one() {
        assert_eq!(
            check(r#"{"device": "x", "nights": [{"from": 1, "odd name": []}, {"to": 2}], "z": {}}"#),
            "1 whole: $ $.device $.nights $.nights[*] $.nights[*].from $.nights[*].to $.nights[*]['odd name'] $.z"
        );
    }

    #[test]
    fn a_text_may_break_off_anywhere() {
        assert_eq!(check(r#"{"device": "x", "nights": [{"fr"#), "0 whole: $ $.device $.nights $.nights[*]");
        assert_eq!(check("{\"a\": tru"), "0 whole: $");
    }

    #[test]
    fn lines_of_json_are_counted() {
        assert_eq!(check("{\"a\":1}\n{\"b\":2}\n{\"c"), "2 whole: $ $.a $.b");
    }

    #[test]
    fn other_texts_are_not_json() {
        assert_eq!(check("[Header]\nclock,stage\n22:47,light\n22:58,deep\n23:10,light\n"), "not JSON");
        assert_eq!(check("1,2,3"), "not JSON");
    }
}
