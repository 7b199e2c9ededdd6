//! struson over a [`Source`]: a document pulled token by token, with the text of a value kept on request.
//!
//! serde_json reads what is in memory; it cannot be asked where in a stream a value begins and ends, it keeps
//! no text of it at a fair price, and what it passes over it takes at any depth.

use super::check::DEEPEST;
use super::text::Text;
use crate::source::{Source, text_locator};
use crate::{FormatError, Limits};
use counterpane_model::Locator;
use std::io::Read;
use struson::reader::{
    JsonReader as _, JsonReaderPosition, JsonStreamReader, JsonSyntaxError, ReaderError, ReaderSettings,
    SyntaxErrorKind, ValueType,
};

/// A document being read.
pub(super) struct Stream<'r> {
    json: JsonStreamReader<Tap<'r>>,
    /// Line and column of its beginning.
    origin: (u64, u64),
    depth: u32,
    row_bytes: usize,
}

/// A value whose text is kept until the next question.
#[derive(Clone, Copy)]
pub(super) struct Held {
    begin: u64,
    end: u64,
    pub(super) line: u64,
    pub(super) column: u64,
}

impl<'r> Stream<'r> {
    pub(super) fn new(source: Source<'r>, limits: Limits) -> Stream<'r> {
        let depth = limits.depth.min(DEEPEST) as u32;
        let settings = ReaderSettings {
            track_path: false,
            max_nesting_depth: Some(depth),
            // A number is a text here, however long.
            restrict_number_values: false,
            // So that it can be asked, and said in our words, whether something follows.
            allow_multiple_top_level: true,
            ..ReaderSettings::default()
        };
        let origin = source.place(0);
        let tap = Tap { source, front: 0, given: 0, keep: Some(0) };
        let json = JsonStreamReader::new_custom(tap, settings);
        Stream { json, origin, depth, row_bytes: limits.row_bytes }
    }

    /// Returns the kind of the next value.
    pub(super) fn peek(&mut self) -> Result<ValueType, FormatError> {
        self.ask(|json| json.peek())
    }

    pub(super) fn begin_list(&mut self) -> Result<(), FormatError> {
        self.ask(|json| json.begin_array())
    }

    pub(super) fn end_list(&mut self) -> Result<(), FormatError> {
        self.ask(|json| json.end_array())
    }

    pub(super) fn begin_object(&mut self) -> Result<(), FormatError> {
        self.ask(|json| json.begin_object())
    }

    pub(super) fn end_object(&mut self) -> Result<(), FormatError> {
        self.ask(|json| json.end_object())
    }

    /// Returns whether the list, object or file goes on.
    pub(super) fn has_next(&mut self) -> Result<bool, FormatError> {
        self.ask(|json| json.has_next())
    }

    pub(super) fn name(&mut self) -> Result<String, FormatError> {
        self.ask(|json| json.next_name_owned())
    }

    /// Passes over a value of any size.
    pub(super) fn skip(&mut self) -> Result<(), FormatError> {
        self.json.reader_mut().keep = None;
        let skipped = self.json.skip_value();
        skipped.map_err(|e| self.explain(e))
    }

    /// Passes over a value and holds its text.
    ///
    /// # Errors
    /// It is longer than a row may be, too.
    pub(super) fn hold(&mut self) -> Result<Held, FormatError> {
        self.peek()?;
        let begin = self.position();
        let (line, column) = self.place(&begin);
        self.json.reader_mut().keep = Some(byte(&begin));
        self.json.skip_value().map_err(|e| self.explain(e))?;
        let held = Held { begin: byte(&begin), end: byte(&self.position()), line, column };
        let len = held.end - held.begin;
        if len > self.row_bytes as u64 {
            let what = format!("a row of {len} bytes that begins at line {line}:{column}");
            return Err(FormatError::Limit { what, name: "row_bytes", limit: self.row_bytes as u64 });
        }
        Ok(held)
    }

    /// Returns the text of a value that was held last.
    pub(super) fn text(&mut self, held: Held) -> Text<'_> {
        let tap = self.json.reader_mut();
        let offset = |at: u64| at.saturating_sub(tap.front) as usize;
        let bytes = tap.source.bytes().get(offset(held.begin)..offset(held.end)).unwrap_or_default();
        // The source gives whole characters, and a value begins and ends with one of ASCII.
        Text(std::str::from_utf8(bytes).unwrap_or_default())
    }

    /// Returns the place of the next token.
    pub(super) fn locator(&self) -> Locator {
        let (line, column) = self.place(&self.position());
        text_locator(line, column)
    }

    /// Puts a question, and keeps the text from here on until the next one.
    fn ask<T>(
        &mut self,
        question: impl FnOnce(&mut JsonStreamReader<Tap<'r>>) -> Result<T, ReaderError>,
    ) -> Result<T, FormatError> {
        let at = byte(&self.position());
        self.json.reader_mut().keep = Some(at);
        question(&mut self.json).map_err(|e| self.explain(e))
    }

    fn position(&self) -> JsonReaderPosition {
        self.json.current_position(false)
    }

    /// Returns line and column, in characters and from 1, in the file.
    fn place(&self, at: &JsonReaderPosition) -> (u64, u64) {
        match &at.line_pos {
            Some(at) if at.line > 0 => (self.origin.0 + at.line, at.column + 1),
            Some(at) => (self.origin.0, self.origin.1 + at.column),
            None => self.origin,
        }
    }

    fn explain(&self, e: ReaderError) -> FormatError {
        match e {
            ReaderError::SyntaxError(JsonSyntaxError { kind, location }) => {
                let (line, column) = self.place(&location);
                FormatError::Broken { problem: in_words(kind).to_owned(), locator: text_locator(line, column) }
            }
            ReaderError::MaxNestingDepthExceeded { location, .. } => {
                let (line, column) = self.place(&location);
                let what = format!("the nesting at line {line}:{column}");
                FormatError::Limit { what, name: "depth", limit: u64::from(self.depth) }
            }
            // What the source refused comes back as it was.
            ReaderError::IoError { error, .. } => error.downcast().unwrap_or_else(FormatError::Io),
            other => FormatError::Broken { problem: other.to_string(), locator: self.locator() },
        }
    }
}

fn byte(at: &JsonReaderPosition) -> u64 {
    at.data_pos.unwrap_or(0)
}

fn in_words(kind: SyntaxErrorKind) -> &'static str {
    match kind {
        SyntaxErrorKind::IncompleteDocument => "the file breaks off here",
        SyntaxErrorKind::InvalidLiteral | SyntaxErrorKind::TrailingDataAfterLiteral => {
            "this word is not `null`, `true` or `false`"
        }
        SyntaxErrorKind::MalformedNumber | SyntaxErrorKind::TrailingDataAfterNumber => "this is not a number of JSON",
        SyntaxErrorKind::ExpectingMemberNameOrObjectEnd => "here should be a name in double quotes, or `}`",
        SyntaxErrorKind::MissingComma => "a comma is missing before this",
        SyntaxErrorKind::MissingColon => "a colon is missing here, between a name and its value",
        SyntaxErrorKind::TrailingCommaNotEnabled => "nothing follows this comma; JSON has none after the last value",
        SyntaxErrorKind::UnexpectedComma | SyntaxErrorKind::UnexpectedColon | SyntaxErrorKind::MalformedJson => {
            "here should be a value"
        }
        SyntaxErrorKind::UnexpectedClosingBracket => "here should be a value, or the bracket that closes what is open",
        SyntaxErrorKind::NotEscapedControlCharacter => {
            "a line end or control character stands inside a text; JSON writes it as `\\n` or `\\u0000`"
        }
        SyntaxErrorKind::UnknownEscapeSequence | SyntaxErrorKind::MalformedEscapeSequence => {
            "this escape does not exist in JSON"
        }
        SyntaxErrorKind::UnpairedSurrogatePairEscapeSequence => "an escape stands for half a character",
        SyntaxErrorKind::CommentsNotEnabled => "JSON has no comments",
        _ => "this is not JSON",
    }
}

/// Gives the text to the parser, and keeps of it what may still be asked for.
struct Tap<'r> {
    source: Source<'r>,
    /// Bytes before the window.
    front: u64,
    /// Bytes of the window that the parser has.
    given: usize,
    /// From where on the text is kept: then a row without end meets its limit. `None`: nothing is.
    keep: Option<u64>,
}

impl Read for Tap<'_> {
    #[inline(never)]
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let gone = self.keep.map_or(self.given, |at| self.given.min(at.saturating_sub(self.front) as usize));
        self.source.consume(gone);
        self.front += gone as u64;
        self.given -= gone;
        if self.source.bytes().len() == self.given && !self.source.more().map_err(std::io::Error::other)? {
            return Ok(0);
        }
        let rest = &self.source.bytes()[self.given..];
        let n = rest.len().min(room.len());
        room[..n].copy_from_slice(&rest[..n]);
        self.given += n;
        Ok(n)
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::check;
    use super::*;
    use crate::TextOptions;
    use proptest::prelude::*;

    /// Returns what the stream says of a whole text.
    fn whole(mut text: &[u8]) -> String {
        let limits = Limits { depth: 5, ..Limits::default() };
        let source = match Source::open(&mut text, &TextOptions::default(), limits) {
            Ok(source) => source,
            Err(e) => return e.to_string(),
        };
        let mut stream = Stream::new(source, limits);
        match stream.skip().and_then(|()| stream.has_next()) {
            Ok(true) => "more".to_owned(),
            Ok(false) => "JSON".to_owned(),
            Err(e) => e.to_string(),
        }
    }

    #[test]
    fn what_is_not_json_is_named() {
        let check = |text: &str| whole(text.as_bytes());
        assert_eq!(check("{\"a\": 1,}"), "nothing follows this comma; JSON has none after the last value (line 1:8)");
        assert_eq!(check("[1 2]"), "a comma is missing before this (line 1:4)");
        assert_eq!(check("{\"a\" 1}"), "a colon is missing here, between a name and its value (line 1:6)");
        assert_eq!(check("[01]"), "this is not a number of JSON (line 1:2)");
        assert_eq!(check("[NaN]"), "here should be a value (line 1:2)");
        assert_eq!(check("[trap]"), "this word is not `null`, `true` or `false` (line 1:2)");
        assert_eq!(check("\"\\ud83d\""), "an escape stands for half a character (line 1:2)");
        assert_eq!(check("\"\\x\""), "this escape does not exist in JSON (line 1:2)");
        assert_eq!(check("{\"a\": [1"), "the file breaks off here (line 1:9)");
        assert_eq!(check("[[[[[1]]]]]"), "JSON");
        assert_eq!(check("[[[[[[1]]]]]]"), "the nesting at line 1:6 is more than the limit of 5 (depth)");
        assert_eq!(check("1 2"), "more");
    }

    fn json() -> impl Strategy<Value = String> {
        let leaf = prop_oneof![
            "-?(0|[1-9][0-9]{0,3})(\\.[0-9]{1,3})?([eE][+-]?[0-9]{1,2})?",
            "\"([a-zä]|\\\\(n|t|\"|u00e4|ud83d\\\\udca4)){0,5}\"",
            "true|false|null",
        ];
        leaf.prop_recursive(3, 24, 4, |inner| {
            prop_oneof![
                proptest::collection::vec(inner.clone(), 0..4).prop_map(|v| format!("[{}]", v.join(" , "))),
                proptest::collection::vec(inner, 0..4).prop_map(|v| {
                    let members: Vec<_> = v.iter().enumerate().map(|(n, v)| format!("\"k{n}\" : {v}")).collect();
                    format!("{{ {} }}", members.join(","))
                }),
            ]
        })
    }

    proptest! {
        // What struson lets through, serde_json must be able to read: one character more, fewer or other, and both
        // agree.
        #[test]
        fn the_two_parsers_agree_on_what_is_json(text in json(), cut: prop::sample::Index, with in "[\\[\\]{},:\"0-9eE.+\\-tfn\\\\ ]?") {
            let at = (0..=text.len()).filter(|n| text.is_char_boundary(*n)).collect::<Vec<_>>();
            let at = at[cut.index(at.len())];
            let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
            let broken = format!("{}{with}{}", &text[..at], &text[end..]);
            for text in [text.clone(), broken] {
                let theirs = check(&text, 5);
                // serde_json refuses numbers too large for a float; here a number is a text.
                let large = theirs.as_ref().is_err_and(|e| e.to_string().contains("out of range"));
                prop_assert_eq!(whole(text.as_bytes()) == "JSON", theirs.is_ok() || large, "{}", text);
            }
        }
    }
}
