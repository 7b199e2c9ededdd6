//! Grammar of JSON (RFC 8259), over a window that may grow while a value is read.
//!
//! **Invariant.** Exactly the texts of the RFC are taken: no comments, trailing commas, `NaN` or halves
//! of surrogate pairs. Nothing recurses, so no nesting can overflow the stack.

use crate::FormatError;
use crate::source::Source;

/// Text under a scanner.
pub(super) trait Window {
    /// Returns what is not consumed yet.
    fn bytes(&self) -> &[u8];
    /// Makes it longer; `false` at the end.
    fn more(&mut self) -> Result<bool, FormatError>;
    /// Lets go of the first `n` bytes.
    fn consume(&mut self, n: usize);
}

impl Window for Source<'_> {
    #[inline]
    fn bytes(&self) -> &[u8] {
        Source::bytes(self)
    }
    fn more(&mut self) -> Result<bool, FormatError> {
        Source::more(self)
    }
    fn consume(&mut self, n: usize) {
        Source::consume(self, n);
    }
}

impl Window for &[u8] {
    #[inline]
    fn bytes(&self) -> &[u8] {
        self
    }
    fn more(&mut self) -> Result<bool, FormatError> {
        Ok(false)
    }
    fn consume(&mut self, n: usize) {
        *self = &self[n.min(self.len())..];
    }
}

/// Receives what a scanner finds; offsets are from the front of the window.
pub(super) trait Out {
    /// A list or object begins.
    fn open(&mut self, _list: bool, _at: usize) {}
    /// It ends before this offset.
    fn close(&mut self, _end: usize) {}
    /// A text or a name, without its quotes.
    fn text(&mut self, _start: usize, _end: usize, _escaped: bool) {}
    /// A number.
    fn number(&mut self, _start: usize, _end: usize) {}
    /// `null`, `true` or `false`.
    fn word(&mut self, _word: Word, _start: usize, _end: usize) {}
}

/// Takes no notice.
pub(super) struct Skip;

impl Out for Skip {}

/// A word of JSON.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Word {
    Null,
    True,
    False,
}

/// Why a scanner stopped.
#[derive(Debug)]
pub(super) enum Fault {
    /// The text itself cannot be had.
    Format(FormatError),
    /// It is not JSON at this offset of the window.
    Flaw { at: usize, problem: String },
    /// It is nested more deeply than the limit.
    Deep { at: usize },
}

impl From<FormatError> for Fault {
    fn from(e: FormatError) -> Fault {
        Fault::Format(e)
    }
}

/// Deepest nesting that is ever taken, whatever the limit says: values are turned into trees by recursion.
const DEEPEST: usize = 512;

/// Reads tokens of a window.
pub(super) struct Scanner<W> {
    pub(super) window: W,
    /// Offset of the next byte.
    pub(super) at: usize,
    /// While set, nothing is consumed, so that offsets stay true.
    pub(super) pinned: bool,
    /// Open brackets, by what they are: `true` for a list.
    open: Vec<bool>,
    most: usize,
}

impl<W: Window> Scanner<W> {
    pub(super) fn new(window: W, depth: usize) -> Scanner<W> {
        Scanner { window, at: 0, pinned: false, open: Vec::new(), most: depth.min(DEEPEST) }
    }

    /// Lets go of everything that has been read and holds what follows.
    pub(super) fn pin(&mut self) {
        self.release();
        self.pinned = true;
    }

    /// Lets go of everything that has been read.
    pub(super) fn release(&mut self) {
        self.window.consume(self.at);
        self.at = 0;
        self.pinned = false;
    }

    /// Returns the next byte that is not blank, without taking it.
    #[inline]
    pub(super) fn peek(&mut self) -> Result<Option<u8>, Fault> {
        loop {
            let bytes = self.window.bytes();
            while let Some(&b) = bytes.get(self.at) {
                if b > b' ' || !matches!(b, b' ' | b'\t' | b'\n' | b'\r') {
                    return Ok(Some(b));
                }
                self.at += 1;
            }
            if !self.pinned {
                self.window.consume(self.at);
                self.at = 0;
            }
            if !self.window.more()? {
                return Ok(None);
            }
        }
    }

    /// Enters a list or object whose bracket is the next byte.
    pub(super) fn enter(&mut self, list: bool) -> Result<(), Fault> {
        if self.open.len() >= self.most {
            return Err(Fault::Deep { at: self.at });
        }
        self.open.push(list);
        self.at += 1;
        Ok(())
    }

    /// Takes the closing bracket of what was entered last, if it is next.
    pub(super) fn leave(&mut self) -> Result<bool, Fault> {
        let list = self.open.last() == Some(&true);
        let ends = self.peek()? == Some(if list { b']' } else { b'}' });
        if ends {
            self.at += 1;
            self.open.pop();
        }
        Ok(ends)
    }

    /// Takes the comma that stands between two members of what was entered last.
    pub(super) fn comma(&mut self) -> Result<(), Fault> {
        match self.peek()? {
            Some(b',') => {
                self.at += 1;
                Ok(())
            }
            other => {
                let list = self.open.last() == Some(&true);
                Err(self.unexpected(other, if list { "`,` or `]`" } else { "`,` or `}`" }))
            }
        }
    }

    /// Takes a name and its colon; returns where the name stands, without its quotes.
    pub(super) fn name(&mut self) -> Result<(usize, usize, bool), Fault> {
        match self.peek()? {
            Some(b'"') => {}
            other => return Err(self.unexpected(other, "a name in double quotes")),
        }
        let found = self.string()?;
        match self.peek()? {
            Some(b':') => self.at += 1,
            other => return Err(self.unexpected(other, "`:` after a name")),
        }
        Ok(found)
    }

    /// Takes one whole value.
    pub(super) fn value<O: Out>(&mut self, out: &mut O) -> Result<(), Fault> {
        let outside = self.open.len();
        loop {
            self.begin(out)?;
            loop {
                if self.open.len() == outside {
                    return Ok(());
                }
                if self.leave()? {
                    out.close(self.at);
                    continue;
                }
                self.comma()?;
                break;
            }
            self.name_of_member(out)?;
        }
    }

    /// Takes a scalar, or opening brackets up to the first scalar or the first empty pair.
    fn begin<O: Out>(&mut self, out: &mut O) -> Result<(), Fault> {
        loop {
            let start = self.peek()?;
            match start {
                Some(b'{' | b'[') => {
                    let list = start == Some(b'[');
                    out.open(list, self.at);
                    self.enter(list)?;
                    if self.leave()? {
                        out.close(self.at);
                        return Ok(());
                    }
                    self.name_of_member(out)?;
                }
                Some(b'"') => {
                    let (start, end, escaped) = self.string()?;
                    out.text(start, end, escaped);
                    return Ok(());
                }
                Some(b'-' | b'0'..=b'9') => {
                    let (start, end) = self.number()?;
                    out.number(start, end);
                    return Ok(());
                }
                Some(b'n') => return self.word(b"null", Word::Null, out),
                Some(b't') => return self.word(b"true", Word::True, out),
                Some(b'f') => return self.word(b"false", Word::False, out),
                other => return Err(self.unexpected(other, "a value")),
            }
        }
    }

    fn name_of_member<O: Out>(&mut self, out: &mut O) -> Result<(), Fault> {
        if self.open.last() == Some(&false) {
            let (start, end, escaped) = self.name()?;
            out.text(start, end, escaped);
        }
        Ok(())
    }

    /// Takes a text; the next byte is its opening quote. The offsets are meaningful only when pinned.
    fn string(&mut self) -> Result<(usize, usize, bool), Fault> {
        let start = self.at + 1;
        let mut at = start;
        let mut escaped = false;
        loop {
            let bytes = self.window.bytes();
            match bytes[at..].iter().position(|b| STOP[*b as usize]) {
                Some(n) => {
                    at += n;
                    match bytes[at] {
                        b'"' => {
                            self.at = at + 1;
                            return Ok((start, at, escaped));
                        }
                        b'\\' => {
                            escaped = true;
                            at = self.escape(at)?;
                        }
                        _ => {
                            return Err(flaw(
                                at,
                                "a line end or control character stands inside a text; JSON writes it as `\\n` or `\\u0000`",
                            ));
                        }
                    }
                }
                None => {
                    at = bytes.len();
                    if !self.pinned {
                        self.window.consume(at);
                        at = 0;
                    }
                    if !self.window.more()? {
                        return Err(flaw(at, "the file breaks off inside a text"));
                    }
                }
            }
        }
    }

    /// Checks the escape at `at` and returns the offset after it.
    fn escape(&mut self, at: usize) -> Result<usize, Fault> {
        match self.byte_at(at + 1)? {
            Some(b'"' | b'\\' | b'/' | b'b' | b'f' | b'n' | b'r' | b't') => Ok(at + 2),
            Some(b'u') => match self.hex(at + 2)? {
                0xD800..=0xDBFF => {
                    let low = self.byte_at(at + 6)? == Some(b'\\') && self.byte_at(at + 7)? == Some(b'u');
                    match if low { self.hex(at + 8)? } else { 0 } {
                        0xDC00..=0xDFFF => Ok(at + 12),
                        _ => Err(flaw(at, "an escape stands for half a character")),
                    }
                }
                0xDC00..=0xDFFF => Err(flaw(at, "an escape stands for half a character")),
                _ => Ok(at + 6),
            },
            Some(_) => Err(flaw(at, "this escape does not exist in JSON")),
            None => Err(flaw(at, "the file breaks off inside a text")),
        }
    }

    fn hex(&mut self, at: usize) -> Result<u32, Fault> {
        let mut value = 0;
        for n in at..at + 4 {
            let digit = self.byte_at(n)?.and_then(|b| (b as char).to_digit(16));
            value = value * 16 + digit.ok_or_else(|| flaw(n, "`\\u` needs four digits of base 16"))?;
        }
        Ok(value)
    }

    fn byte_at(&mut self, at: usize) -> Result<Option<u8>, Fault> {
        while self.window.bytes().len() <= at {
            if !self.window.more()? {
                return Ok(None);
            }
        }
        Ok(Some(self.window.bytes()[at]))
    }

    fn number(&mut self) -> Result<(usize, usize), Fault> {
        let start = self.at;
        let mut end = start + 1;
        while let Some(b) = self.byte_at(end)? {
            if !matches!(b, b'0'..=b'9' | b'+' | b'-' | b'.' | b'e' | b'E') {
                break;
            }
            end += 1;
        }
        if !is_number(&self.window.bytes()[start..end]) {
            return Err(flaw(start, "this is not a number of JSON"));
        }
        self.at = end;
        Ok((start, end))
    }

    fn word<O: Out>(&mut self, text: &'static [u8], word: Word, out: &mut O) -> Result<(), Fault> {
        let start = self.at;
        for (n, want) in text.iter().enumerate() {
            match self.byte_at(start + n)? {
                Some(b) if b == *want => {}
                None => return Err(flaw(start + n, "the file breaks off inside a word")),
                Some(_) => return Err(flaw(start, "this word is not `null`, `true` or `false`")),
            }
        }
        self.at = start + text.len();
        out.word(word, start, self.at);
        Ok(())
    }

    fn unexpected(&self, found: Option<u8>, wanted: &str) -> Fault {
        let inside = match self.open.last() {
            Some(true) => "a list",
            Some(false) => "an object",
            None => "the document",
        };
        let problem = match found {
            None => format!("the file breaks off inside {inside}; here should be {wanted}"),
            Some(_) => {
                let rest = &self.window.bytes()[self.at..];
                let text = String::from_utf8_lossy(&rest[..rest.len().min(48)]);
                format!("here should be {wanted}, not `{}`", crate::shorten::cut(text.trim_end_matches('\u{fffd}'), 12))
            }
        };
        Fault::Flaw { at: self.at, problem }
    }
}

/// Bytes at which a run of ordinary characters of a text ends.
static STOP: [bool; 256] = {
    let mut stop = [false; 256];
    let mut b = 0;
    while b < 0x20 {
        stop[b] = true;
        b += 1;
    }
    stop[b'"' as usize] = true;
    stop[b'\\' as usize] = true;
    stop
};

fn flaw(at: usize, problem: &str) -> Fault {
    Fault::Flaw { at, problem: problem.to_owned() }
}

fn is_number(text: &[u8]) -> bool {
    let digits = |text: &[u8]| text.iter().take_while(|b| b.is_ascii_digit()).count();
    let rest = text.strip_prefix(b"-").unwrap_or(text);
    let whole = digits(rest);
    if whole == 0 || (whole > 1 && rest[0] == b'0') {
        return false;
    }
    let mut rest = &rest[whole..];
    if let Some(after) = rest.strip_prefix(b".") {
        let n = digits(after);
        if n == 0 {
            return false;
        }
        rest = &after[n..];
    }
    if let [b'e' | b'E', after @ ..] = rest {
        let after = match after {
            [b'+' | b'-', after @ ..] => after,
            after => after,
        };
        let n = digits(after);
        return n > 0 && n == after.len();
    }
    rest.is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(text: &str) -> String {
        let mut scanner = Scanner::new(text.as_bytes(), 5);
        match scanner.value(&mut Skip).and_then(|()| scanner.peek()) {
            Ok(None) => "JSON".to_owned(),
            Ok(Some(_)) => format!("more at {}", scanner.at),
            Err(Fault::Flaw { problem, .. }) => problem,
            Err(Fault::Deep { at }) => format!("too deep at {at}"),
            Err(Fault::Format(e)) => e.to_string(),
        }
    }

    #[test]
    fn what_is_not_json_is_named() {
        assert_eq!(check("{\"a\": 1,}"), "here should be a name in double quotes, not `}`");
        assert_eq!(check("[1,]"), "here should be a value, not `]`");
        assert_eq!(check("[1 2]"), "here should be `,` or `]`, not `2]`");
        assert_eq!(check("{\"a\" 1}"), "here should be `:` after a name, not `1}`");
        assert_eq!(check("[01]"), "this is not a number of JSON");
        assert_eq!(check("NaN"), "here should be a value, not `NaN`");
        assert_eq!(check("nul"), "the file breaks off inside a word");
        assert_eq!(check("trap"), "this word is not `null`, `true` or `false`");
        assert_eq!(check("\"\\ud83d\""), "an escape stands for half a character");
        assert_eq!(check("\"\\x\""), "this escape does not exist in JSON");
        assert_eq!(check("[\"abc"), "the file breaks off inside a text");
        assert_eq!(check("{\"a\": [1"), "the file breaks off inside a list; here should be `,` or `]`");
        assert_eq!(check("[[[[[1]]]]]"), "JSON");
        assert_eq!(check("[[[[[[1]]]]]]"), "too deep at 5");
        assert_eq!(check("1 2"), "more at 2");
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
        // serde_json is the second opinion: one character more, fewer or other, and both must agree.
        #[test]
        fn two_parsers_agree_on_what_is_json(text in json(), cut: prop::sample::Index, with in "[\\[\\]{},:\"0-9eE.+\\-tfn\\\\ ]?") {
            let at = (0..=text.len()).filter(|n| text.is_char_boundary(*n)).collect::<Vec<_>>();
            let at = at[cut.index(at.len())];
            let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
            let broken = format!("{}{with}{}", &text[..at], &text[end..]);
            for text in [text.clone(), broken] {
                let theirs = serde_json::from_str::<serde_json::Value>(&text);
                // They refuse numbers too large for a float; here a number is a text.
                let large = theirs.as_ref().is_err_and(|e| e.to_string().contains("out of range"));
                prop_assert_eq!(check(&text) == "JSON", theirs.is_ok() || large, "{}", text);
            }
        }
    }
}
