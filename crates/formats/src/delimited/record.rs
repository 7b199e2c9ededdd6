//! One record of delimited text, split by csv-core, and where its fields stand in the file.

use crate::FormatError;
use crate::source::Source;
use csv_core::{ReadRecordResult, Reader, ReaderBuilder};
use memchr::memchr;

/// A record that was read last; its own bytes still stand at the front of the window.
pub(super) struct Record {
    splitter: Reader,
    delimiter: u8,
    /// Most fields that are taken.
    most: usize,
    /// Fields without their quotes, one behind the other.
    text: Vec<u8>,
    /// Where each of them ends.
    ends: Vec<usize>,
    fields: usize,
    /// Bytes of the record in the file.
    pub(super) len: usize,
    /// The same with its line end, but for the LF of a CR LF.
    pub(super) next: usize,
}

/// What is wrong with the quotes of a record, and at which of its bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flaw {
    /// A quote that opens a field and is never closed.
    Open(usize),
    /// A field in which text stands behind the closing quote.
    Stray(usize),
}

impl Record {
    pub(super) fn new(delimiter: u8, most: usize) -> Record {
        let splitter = ReaderBuilder::new().delimiter(delimiter).build();
        let (text, ends) = (vec![0; 4096], vec![0; 64]);
        Record { splitter, delimiter, most, text, ends, fields: 0, len: 0, next: 0 }
    }

    /// Reads the record at the front of the window, where no line end stands; `false` at the end of the text.
    pub(super) fn read(&mut self, source: &mut Source<'_>) -> Result<bool, FormatError> {
        let (mut read, mut written, mut last) = (0, 0, false);
        self.fields = 0;
        loop {
            // Nothing more to give means to csv-core that the text ends here.
            if read == source.bytes().len() && !last {
                last = !source.more()?;
            }
            let room = (&mut self.text[written..], &mut self.ends[self.fields..]);
            let (result, took, wrote, fields) = self.splitter.read_record(&source.bytes()[read..], room.0, room.1);
            read += took;
            written += wrote;
            self.fields += fields;
            match result {
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => self.text.resize(self.text.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => self.more_fields()?,
                ReadRecordResult::Record => {
                    // Without its line end, which is one byte: csv-core leaves the LF of a CR LF.
                    self.next = read;
                    self.len = read - usize::from(!last);
                    return Ok(true);
                }
                ReadRecordResult::End => return Ok(false),
            }
        }
    }

    fn more_fields(&mut self) -> Result<(), FormatError> {
        if self.ends.len() > self.most {
            let what = format!("a line of {} fields or more", self.ends.len());
            return Err(FormatError::Limit { what, name: "columns", limit: self.most as u64 });
        }
        self.ends.resize(self.ends.len() * 2, 0);
        Ok(())
    }

    /// Returns how many fields there are.
    pub(super) fn fields(&self) -> usize {
        self.fields
    }

    /// Returns a field without its quotes.
    pub(super) fn field(&self, n: usize) -> Option<&str> {
        std::str::from_utf8(self.bytes(n)?).ok()
    }

    fn bytes(&self, n: usize) -> Option<&[u8]> {
        let ends = &self.ends[..self.fields];
        let begin = n.checked_sub(1).map_or(Some(0), |before| ends.get(before).copied())?;
        self.text.get(begin..*ends.get(n)?)
    }

    /// Returns at which byte of its record, `raw`, a field begins.
    pub(super) fn begin(&self, n: usize, raw: &[u8]) -> usize {
        (0..n).fold(0, |at, n| at + self.length(n, at, raw) + 1)
    }

    /// Returns what is wrong with the quotes: csv-core takes any, and a slip with one swallows rows.
    ///
    /// A field in quotes is as long as its text, the two quotes, and another quote for each one inside it.
    pub(super) fn flaw(&self, raw: &[u8]) -> Option<Flaw> {
        memchr(b'"', raw)?;
        let mut at = 0;
        for n in 0..self.fields {
            let end = at + self.length(n, at, raw);
            let last = n + 1 == self.fields;
            let ends = if last { end == raw.len() } else { raw.get(end) == Some(&self.delimiter) };
            let text = self.bytes(n).unwrap_or_default();
            if !ends || !raw.get(at..end).is_some_and(|raw| stands_for(raw, text)) {
                // The end of the text closes whatever is open.
                let open = last && self.next == self.len && raw.get(at) == Some(&b'"') && end == raw.len() + 1;
                return Some(if open { Flaw::Open(at) } else { Flaw::Stray(at) });
            }
            at = end + 1;
        }
        None
    }

    /// Returns how many bytes a field that begins at `at` takes in its record, when its quotes are in order.
    fn length(&self, n: usize, at: usize, raw: &[u8]) -> usize {
        let text = self.bytes(n).unwrap_or_default();
        match raw.get(at) {
            Some(b'"') => text.len() + 2 + memchr::memchr_iter(b'"', text).count(),
            _ => text.len(),
        }
    }
}

/// Returns whether a field as it stands in the file is the plain way to write a text, or the quoted one.
fn stands_for(raw: &[u8], text: &[u8]) -> bool {
    match raw {
        [b'"', inside @ .., b'"'] if memchr(b'"', text).is_none() => inside == text,
        [b'"', inside @ .., b'"'] => {
            let doubled = text.iter().flat_map(|b| std::iter::repeat_n(b, if *b == b'"' { 2 } else { 1 }));
            doubled.eq(inside)
        }
        plain => plain == text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Limits, TextOptions};
    use proptest::prelude::*;

    /// Returns the fields of each record with the byte at which they begin, or what is wrong with its quotes.
    fn records(text: &str) -> Vec<String> {
        let mut input = text.as_bytes();
        let mut source = Source::open(&mut input, &TextOptions::default(), Limits::default()).unwrap();
        let mut record = Record::new(b',', 9);
        let mut out = Vec::new();
        while record.read(&mut source).unwrap() {
            let raw = &source.bytes()[..record.len];
            let field = |n| format!("{}:{}", record.begin(n, raw), record.field(n).unwrap());
            out.push(match record.flaw(raw) {
                Some(flaw) => format!("{flaw:?}"),
                None => (0..record.fields()).map(field).collect::<Vec<_>>().join(" "),
            });
            source.consume(record.next);
            source.consume(usize::from(source.bytes().starts_with(b"\n")));
        }
        out
    }

    #[test]
    fn fields_know_where_they_begin() {
        assert_eq!(records("a,bc\r\nd,\ne,f"), ["0:a 2:bc", "0:d 2:", "0:e 2:f"]);
        assert_eq!(records("\"a,b\",c\n\"d\"\"\ne\",,5\" f\n"), ["0:a,b 6:c", "0:d\"\ne 8: 9:5\" f"]);
    }

    #[test]
    fn quotes_that_go_wrong_have_a_place() {
        assert_eq!(records("a,\"b\nc"), ["Open(2)"]);
        assert_eq!(records("a,\"b\nc\n"), ["Open(2)"]);
        assert_eq!(records("a,\"\"\"\n"), ["Open(2)"]);
        assert_eq!(records("x,\"a\" ,b\nc\n"), ["Stray(2)", "0:c"]);
        assert_eq!(records("\"a\"b\"\nc\n"), ["Stray(0)", "0:c"]);
    }

    fn field() -> impl Strategy<Value = String> {
        prop_oneof!["[a-z ä;]{1,4}", "\"([a-z,;\n\r]|\"\"){0,4}\""]
    }

    proptest! {
        #[test]
        fn sound_quotes_are_never_at_fault(rows in proptest::collection::vec(proptest::collection::vec(field(), 1..4), 1..5), end in "\n|\r\n|\r") {
            let text: String = rows.iter().map(|r| r.join(",") + &end).collect();
            let read = records(&text);
            prop_assert_eq!(read.len(), rows.len());
            prop_assert!(read.iter().all(|r| !r.starts_with(['O', 'S'])), "{:?}", read);
        }

        #[test]
        fn text_behind_a_closing_quote_is_never_taken(inside in "([a,]|\"\"){0,4}", behind in "a[a\"]{0,3}", rest in "(,[a\"]{0,3}){0,3}") {
            let read = records(&format!("\"{inside}\"{behind}{rest}\n"));
            prop_assert!(read[0].starts_with(['O', 'S']), "{:?}", read);
        }
    }
}
