//! A window of valid UTF-8 over a text of any size.
//!
//! **Invariant.** The window holds whole characters only, and whatever is wrong behind it (a bad
//! byte, a failing disk, a limit) is reported when a reader asks for more, so that everything that
//! could be read is given first. Memory is the largest row, and 256 KiB at least.

use crate::{FormatError, Limits, TextOptions};
use counterpane_model::Locator;
use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE};
use memchr::memchr;
use std::io::Read;

/// Bytes that are read at a time, and room of the window when a row is not longer.
const CHUNK: usize = 256 << 10;

/// A text being read.
pub(crate) struct Source<'r> {
    input: &'r mut dyn Read,
    encoding: &'static Encoding,
    /// `None` for UTF-8, which is checked in place and not copied.
    decoder: Option<Decoder>,
    /// Bytes of the file that are not decoded yet; empty for UTF-8.
    raw: Vec<u8>,
    buffer: Vec<u8>,
    start: usize,
    /// End of the valid text.
    end: usize,
    /// End of the bytes, for UTF-8: a character may be cut between here and `end`.
    filled: usize,
    /// Line and column, from 1, of `buffer[0]`.
    origin: (u64, u64),
    bytes: u64,
    limits: Limits,
    finished: bool,
    trouble: Option<FormatError>,
}

impl<'r> Source<'r> {
    /// Opens a text: settles its encoding and fills the window once.
    ///
    /// # Errors
    /// The file is empty, the encoding is unknown, or the byte order mark contradicts it.
    pub(crate) fn open(input: &'r mut dyn Read, text: &TextOptions, limits: Limits) -> Result<Source<'r>, FormatError> {
        let mut head = vec![0; CHUNK.min(4096)];
        let got = read_full(input, &mut head)?;
        head.truncate(got);
        if head.is_empty() {
            return Err(FormatError::Empty);
        }
        let (encoding, mark) = encoding_of(&head, text.encoding.as_deref())?;
        let decoder = (encoding != UTF_8).then(|| encoding.new_decoder_without_bom_handling());
        let mut source = Source {
            input,
            encoding,
            decoder,
            raw: Vec::new(),
            buffer: Vec::with_capacity(CHUNK),
            start: 0,
            end: 0,
            filled: 0,
            origin: (1, 1),
            bytes: 0,
            limits,
            finished: false,
            trouble: None,
        };
        head.drain(..mark);
        source.buffer.resize(CHUNK, 0);
        if source.decoder.is_some() {
            source.raw = head;
        } else {
            source.buffer[..head.len()].copy_from_slice(&head);
            source.filled = head.len();
            source.check_utf8();
        }
        source.count(got);
        // Only when there is nothing at all to give may trouble further on be told this early.
        if source.bytes().is_empty() {
            source.more()?;
        }
        Ok(source)
    }

    /// Returns the name of the encoding, such as `UTF-8`.
    pub(crate) fn encoding(&self) -> &'static str {
        self.encoding.name()
    }

    /// Returns the text that is not consumed yet, as far as it is read.
    #[inline]
    pub(crate) fn bytes(&self) -> &[u8] {
        &self.buffer[self.start..self.end]
    }

    /// Lets go of the first `n` bytes of the window.
    #[inline]
    pub(crate) fn consume(&mut self, n: usize) {
        self.start = (self.start + n).min(self.end);
    }

    /// Makes the window longer; `false` at the end of the text.
    ///
    /// # Errors
    /// The unconsumed text is longer than a row may be, or what follows cannot be read.
    pub(crate) fn more(&mut self) -> Result<bool, FormatError> {
        let before = self.end - self.start;
        if self.finished {
            return self.trouble.take().map_or(Ok(false), Err);
        }
        if before >= self.limits.row_bytes {
            let (line, column) = self.place(0);
            let what = format!("a row of {before} bytes or more that begins at line {line}:{column}");
            return Err(FormatError::Limit { what, name: "row_bytes", limit: self.limits.row_bytes as u64 });
        }
        self.make_room();
        while self.end - self.start == before && !self.finished {
            if self.decoder.is_some() { self.fill_decoded() } else { self.fill_utf8() }
        }
        if self.end - self.start > before {
            return Ok(true);
        }
        self.trouble.take().map_or(Ok(false), Err)
    }

    /// Returns the length of the line that begins at `from`, and whether a line end follows it; `None` when
    /// the text ends there. The whole line stands in the window then.
    pub(crate) fn line(&mut self, from: usize) -> Result<Option<(usize, bool)>, FormatError> {
        let mut searched = from;
        loop {
            if let Some(n) = memchr(b'\n', self.bytes().get(searched..).unwrap_or_default()) {
                return Ok(Some((searched + n - from, true)));
            }
            searched = self.bytes().len().max(from);
            if !self.more()? {
                return Ok((searched > from).then_some((searched - from, false)));
            }
        }
    }

    /// Returns line and column, in characters and from 1, of a byte of the window.
    pub(crate) fn place(&self, offset: usize) -> (u64, u64) {
        advance(self.origin, &self.buffer[..(self.start + offset).min(self.end)])
    }

    /// Moves the window to the front of the buffer, and doubles the buffer when that is not enough.
    fn make_room(&mut self) {
        if self.start > 0 {
            self.origin = advance(self.origin, &self.buffer[..self.start]);
            self.buffer.copy_within(self.start..self.filled, 0);
            self.end -= self.start;
            self.filled -= self.start;
            self.start = 0;
        }
        if self.buffer.len() - self.filled < CHUNK / 4 {
            let room = self.limits.row_bytes.saturating_add(CHUNK);
            self.buffer.resize((self.buffer.len() * 2).min(room).max(self.filled + CHUNK / 4), 0);
        }
    }

    fn fill_utf8(&mut self) {
        match read_full(self.input, &mut self.buffer[self.filled..]) {
            Ok(0) => {
                self.finished = true;
                if self.filled > self.end && self.trouble.is_none() {
                    self.trouble = Some(self.bad_bytes(self.end, self.filled));
                }
            }
            Ok(got) => {
                self.count(got);
                self.filled += got;
                self.check_utf8();
            }
            Err(e) => self.stop(e.into()),
        }
    }

    fn check_utf8(&mut self) {
        // Faster over plain letters than the standard library, which then says what is wrong with the rest.
        self.end += Encoding::utf8_valid_up_to(&self.buffer[self.end..self.filled]);
        match std::str::from_utf8(&self.buffer[self.end..self.filled]) {
            Ok(_) => self.end = self.filled,
            Err(e) => {
                self.end += e.valid_up_to();
                if let Some(len) = e.error_len() {
                    let bad = self.bad_bytes(self.end, self.end + len);
                    self.stop(bad);
                }
            }
        }
    }

    fn fill_decoded(&mut self) {
        let mut last = false;
        if self.raw.is_empty() {
            self.raw.resize(CHUNK / 8, 0);
            match read_full(self.input, &mut self.raw) {
                Ok(got) => {
                    self.raw.truncate(got);
                    self.count(got);
                    last = got == 0;
                }
                Err(e) => return self.stop(e.into()),
            }
        }
        let Some(decoder) = &mut self.decoder else { return };
        let room = &mut self.buffer[self.filled..];
        let (result, read, written) = decoder.decode_to_utf8_without_replacement(&self.raw, room, last);
        let bad = match result {
            DecoderResult::Malformed(len, after) => {
                let end = read.saturating_sub(after as usize);
                let begin = end.saturating_sub(len as usize);
                Some(hex(&self.raw[begin..end]))
            }
            DecoderResult::InputEmpty | DecoderResult::OutputFull => None,
        };
        self.raw.drain(..read);
        self.filled += written;
        self.end = self.filled;
        self.finished |= last && matches!(result, DecoderResult::InputEmpty);
        if let Some(bytes) = bad {
            let error = self.encoding_error(format!("the bytes {bytes} stand for no character"), self.end);
            self.stop(error);
        }
    }

    /// Counts bytes of the file against its limit; what was read up to here is still given.
    fn count(&mut self, got: usize) {
        self.bytes += got as u64;
        if self.bytes > self.limits.bytes {
            let what = format!("a file of {} bytes or more", self.bytes);
            self.stop(FormatError::Limit { what, name: "bytes", limit: self.limits.bytes });
        }
    }

    fn stop(&mut self, error: FormatError) {
        self.finished = true;
        if self.trouble.is_none() {
            self.trouble = Some(error);
        }
    }

    fn bad_bytes(&self, from: usize, to: usize) -> FormatError {
        let bytes = hex(&self.buffer[from..to.min(self.filled)]);
        self.encoding_error(format!("the bytes {bytes} stand for no character; say which encoding it is"), from)
    }

    fn encoding_error(&self, found: String, at: usize) -> FormatError {
        let (line, column) = advance(self.origin, &self.buffer[..at]);
        FormatError::Encoding { encoding: self.encoding().to_owned(), found, locator: text_locator(line, column) }
    }
}

/// Returns a place in a text.
pub(crate) fn text_locator(line: u64, column: u64) -> Locator {
    Locator::Text { line, column: u32::try_from(column).unwrap_or(u32::MAX) }
}

/// Returns the place after `bytes` when they begin at `from`; columns count characters.
pub(crate) fn advance(from: (u64, u64), bytes: &[u8]) -> (u64, u64) {
    let lines = memchr::memchr_iter(b'\n', bytes).count() as u64;
    let tail = match memchr::memrchr(b'\n', bytes) {
        Some(at) => &bytes[at + 1..],
        None => bytes,
    };
    let chars = tail.iter().filter(|b| (**b as i8) >= -0x40).count() as u64;
    (from.0 + lines, if lines == 0 { from.1 + chars } else { 1 + chars })
}

/// Reads until `room` is full or the input ends.
pub(crate) fn read_full(input: &mut dyn Read, room: &mut [u8]) -> std::io::Result<usize> {
    let mut got = 0;
    while got < room.len() {
        match input.read(&mut room[got..]) {
            Ok(0) => break,
            Ok(n) => got += n.min(room.len() - got),
            Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    Ok(got)
}

/// Returns the encoding and the length of its byte order mark.
pub(crate) fn encoding_of(head: &[u8], label: Option<&str>) -> Result<(&'static Encoding, usize), FormatError> {
    let marked = Encoding::for_bom(head);
    let Some(label) = label else {
        return Ok(marked.unwrap_or((UTF_8, 0)));
    };
    let Some(declared) = Encoding::for_label(label.as_bytes()) else {
        let why = "this is not the name of an encoding; names are `utf-8`, `utf-16le`, `utf-16be`, `windows-1252`, `iso-8859-15` and others of the WHATWG list".to_owned();
        return Err(FormatError::Request { what: label.to_owned(), why });
    };
    match marked {
        Some((encoding, mark)) if encoding == declared || (label == "utf-16" && encoding == UTF_16BE) => {
            Ok((encoding, mark))
        }
        Some((encoding, _)) => Err(FormatError::Encoding {
            encoding: declared.name().to_owned(),
            found: format!("it begins with the byte order mark of {}", encoding.name()),
            locator: text_locator(1, 1),
        }),
        None => Ok((if label == "utf-16" { UTF_16LE } else { declared }, 0)),
    }
}

fn hex(bytes: &[u8]) -> String {
    let all: Vec<String> = bytes.iter().take(4).map(|b| format!("{b:02X}")).collect();
    all.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Gives one byte at a time, which is the worst that a reader can do.
    struct Drip<'a>(&'a [u8]);

    impl Read for Drip<'_> {
        fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
            let n = self.0.len().min(room.len()).min(1);
            room[..n].copy_from_slice(&self.0[..n]);
            self.0 = &self.0[n..];
            Ok(n)
        }
    }

    fn whole(bytes: &[u8], encoding: Option<&str>) -> (String, String) {
        let text = TextOptions { encoding: encoding.map(str::to_owned), ..TextOptions::default() };
        let mut drip = Drip(bytes);
        let mut source = match Source::open(&mut drip, &text, Limits::default()) {
            Ok(source) => source,
            Err(e) => return (String::new(), e.to_string()),
        };
        let error = loop {
            match source.more() {
                Ok(true) => {}
                Ok(false) => break String::new(),
                Err(e) => break e.to_string(),
            }
        };
        (String::from_utf8(source.bytes().to_vec()).unwrap(), error)
    }

    #[test]
    fn a_byte_order_mark_says_the_encoding() {
        assert_eq!(whole(b"\xef\xbb\xbfa\xc3\xa4", None).0, "aä");
        assert_eq!(whole(b"\xff\xfea\0\xe4\0", None).0, "aä");
        assert_eq!(whole(b"\xfe\xff\0a\0\xe4", None).0, "aä");
    }

    #[test]
    fn a_declared_encoding_is_obeyed() {
        assert_eq!(whole(b"a\xe4", Some("latin1")), ("aä".into(), String::new()));
        assert_eq!(whole(b"a\0b\0", Some("utf-16le")).0, "ab");
    }

    #[test]
    fn bad_bytes_are_an_error_with_their_place_and_never_replaced() {
        assert_eq!(
            whole(b"ab\nc\xe4d", None),
            (
                "ab\nc".into(),
                "the text is not UTF-8: the bytes E4 stand for no character; say which encoding it is (line 2:2)"
                    .into()
            )
        );
        assert_eq!(
            whole(b"a\0\x00\xd8b\0", Some("utf-16le")).1,
            "the text is not UTF-16LE: the bytes 00 D8 stand for no character (line 1:2)"
        );
        assert!(whole(b"ab\xc3", None).1.ends_with("(line 1:3)"));
    }

    #[test]
    fn a_mark_that_contradicts_the_label_is_an_error() {
        assert_eq!(
            whole(b"\xff\xfea\0", Some("utf-8")).1,
            "the text is not UTF-8: it begins with the byte order mark of UTF-16LE (line 1:1)"
        );
        assert!(whole(b"a", Some("klingon")).1.starts_with("`klingon` cannot be asked"));
    }

    #[test]
    fn columns_count_characters() {
        assert_eq!(advance((1, 1), "ää".as_bytes()), (1, 3));
        assert_eq!(advance((4, 7), b"ab\n\nc"), (6, 2));
    }

    proptest! {
        #[test]
        fn what_is_read_is_what_stands_there(text in "\\PC{1,300}") {
            prop_assert_eq!(whole(text.as_bytes(), Some("utf-8")).0, text.trim_start_matches('\u{feff}'));
            let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
            prop_assert_eq!(whole(&wide, Some("utf-16le")).0, text.trim_start_matches('\u{feff}'));
        }

        #[test]
        fn no_bytes_make_it_panic(bytes: Vec<u8>, label in proptest::option::of("utf-16le|utf-8|shift_jis|gb18030|windows-1252")) {
            let _ = whole(&bytes, label.as_deref());
        }
    }
}
