//! One record of delimited text (RFC 4180), and where its fields stand.
//!
//! Why not the `csv` crate: a row must know its own line, the column of each field in characters, and the
//! place of a quote that is never closed, and comments may be longer than a byte. The crate is the
//! second opinion in the tests instead.

use crate::source::{find, find_any};

/// Where a field stands in its record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Field {
    pub(crate) start: usize,
    pub(crate) end: usize,
    /// Whether quotes stand double inside it.
    pub(crate) doubled: bool,
    /// Whether it stood in quotes, which are outside `start..end`.
    pub(crate) quoted: bool,
}

/// What became of a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// It is not finished in this text.
    More,
    /// The record is `0..len`; the next one begins at `next`.
    Record { len: usize, next: usize },
    /// Text stands behind the closing quote at `at`; the record ends with its line.
    Stray { at: usize, len: usize, next: usize },
    /// The quote at this offset is never closed.
    Open { at: usize },
}

/// Splits the first record of `bytes`; `last` says that nothing follows them.
///
/// A quote counts only at the very beginning of a field. Records end with LF, CR LF or CR.
pub(crate) fn split(bytes: &[u8], delimiter: &[u8], last: bool, fields: &mut Vec<Field>) -> Outcome {
    fields.clear();
    let mut at = 0;
    loop {
        let field = match bytes.get(at) {
            Some(b'"') => match quoted(bytes, at) {
                Some(field) => field,
                None if last => return Outcome::Open { at },
                None => return Outcome::More,
            },
            _ => Field { start: at, end: plain(bytes, at, delimiter), doubled: false, quoted: false },
        };
        let after = field.end + usize::from(field.quoted);
        fields.push(field);
        match bytes.get(after) {
            None if last => return Outcome::Record { len: after, next: after },
            None => return Outcome::More,
            Some(b'\n') => return Outcome::Record { len: after, next: after + 1 },
            Some(b'\r') => match bytes.get(after + 1) {
                Some(b'\n') => return Outcome::Record { len: after, next: after + 2 },
                None if !last => return Outcome::More,
                _ => return Outcome::Record { len: after, next: after + 1 },
            },
            Some(_) if stands_at(bytes, after, delimiter) => at = after + delimiter.len(),
            // The delimiter itself may be cut by the end of the window.
            Some(_) if !last && delimiter.starts_with(&bytes[after..]) => return Outcome::More,
            Some(_) => return stray(bytes, after, last),
        }
    }
}

/// Returns the end of a field without quotes: the next delimiter or line end.
fn plain(bytes: &[u8], from: usize, delimiter: &[u8]) -> usize {
    let first = delimiter.first().copied().unwrap_or(b',');
    let mut at = from;
    while let Some(n) = find_any(&bytes[at..], [first, b'\n', b'\r']) {
        at += n;
        let cut = || bytes.len() - at < delimiter.len() && delimiter.starts_with(&bytes[at..]);
        if bytes[at] != first || stands_at(bytes, at, delimiter) || cut() {
            return at;
        }
        at += 1;
    }
    bytes.len()
}

/// Returns whether the delimiter stands there; nearly always it is one byte, and comparing that is cheap.
#[inline]
fn stands_at(bytes: &[u8], at: usize, delimiter: &[u8]) -> bool {
    match delimiter {
        [one] => bytes[at] == *one,
        more => bytes[at..].starts_with(more),
    }
}

/// Reads a field in quotes; `None` when it is not closed in this text.
fn quoted(bytes: &[u8], open: usize) -> Option<Field> {
    let mut at = open + 1;
    let mut doubled = false;
    loop {
        at += find(&bytes[at..], b'"')?;
        if bytes.get(at + 1) != Some(&b'"') {
            return Some(Field { start: open + 1, end: at, doubled, quoted: true });
        }
        doubled = true;
        at += 2;
    }
}

fn stray(bytes: &[u8], at: usize, last: bool) -> Outcome {
    match find(&bytes[at..], b'\n') {
        Some(n) => {
            let len = at + n;
            let len = if bytes[..len].ends_with(b"\r") { len - 1 } else { len };
            Outcome::Stray { at, len, next: at + n + 1 }
        }
        None if last => Outcome::Stray { at, len: bytes.len(), next: bytes.len() },
        None => Outcome::More,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn records(text: &str, delimiter: &str) -> Vec<Vec<String>> {
        let mut rest = text.as_bytes();
        let mut fields = Vec::new();
        let mut out = Vec::new();
        while !rest.is_empty() {
            match split(rest, delimiter.as_bytes(), true, &mut fields) {
                Outcome::Record { len, next } => {
                    if len > 0 {
                        let read = |f: &Field| String::from_utf8_lossy(&rest[f.start..f.end]).replace("\"\"", "\"");
                        let raw = |f: &Field| String::from_utf8_lossy(&rest[f.start..f.end]).into_owned();
                        out.push(fields.iter().map(|f| if f.doubled { read(f) } else { raw(f) }).collect());
                    }
                    rest = &rest[next..];
                }
                other => {
                    out.push(vec![format!("{other:?}")]);
                    break;
                }
            }
        }
        out
    }

    #[test]
    fn fields_end_at_delimiters_and_records_at_line_ends() {
        assert_eq!(records("a;b\r\nc;\nd;e", ";"), [["a", "b"], ["c", ""], ["d", "e"]]);
        assert_eq!(records("a¦b\n", "¦"), [["a", "b"]]);
    }

    #[test]
    fn quotes_hold_delimiters_line_ends_and_quotes() {
        assert_eq!(records("\"a,b\",\"c\nd\"\n\"e\"\"f\",g\n", ","), [["a,b", "c\nd"], ["e\"f", "g"]]);
        assert_eq!(records("5\" bed,x\n", ","), [["5\" bed", "x"]]);
    }

    #[test]
    fn a_quote_that_goes_wrong_has_a_place() {
        assert_eq!(records("a,\"b\nc", ","), [["Open { at: 2 }"]]);
        assert_eq!(records("\"a\" ,b\nc", ","), [["Stray { at: 3, len: 6, next: 7 }"]]);
    }

    fn field() -> impl Strategy<Value = String> {
        prop_oneof!["[a-z ä;]{0,4}", "\"([a-z,;\n\r]|\"\"){0,4}\""]
    }

    proptest! {
        #[test]
        fn the_csv_crate_reads_the_same(rows in proptest::collection::vec(proptest::collection::vec(field(), 1..4), 0..5), end in "\n|\r\n|\r") {
            let text: String = rows.iter().map(|r| r.join(",") + &end).collect();
            let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
            let theirs: Vec<Vec<String>> = reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
            prop_assert_eq!(records(&text, ","), theirs);
        }

        #[test]
        fn a_record_cut_by_the_window_asks_for_more_or_is_the_same(text in "[a\"¦,\r\nä]{0,12}", cut: prop::sample::Index, delimiter in "¦|,") {
            let bytes = text.as_bytes();
            let (mut whole, mut part) = (Vec::new(), Vec::new());
            let outcome = split(bytes, delimiter.as_bytes(), true, &mut whole);
            let early = split(&bytes[..cut.index(bytes.len() + 1)], delimiter.as_bytes(), false, &mut part);
            if early != Outcome::More {
                prop_assert_eq!(early, outcome);
                prop_assert_eq!(part, whole);
            }
        }
    }
}
