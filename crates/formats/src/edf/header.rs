//! The header of EDF, EDF+, BDF and BDF+: fields of fixed length, in ASCII.

use crate::source::read_full;
use crate::{FormatError, Limits, shorten, sniff};
use counterpane_model::Locator;
use std::io::Read;
use std::ops::Range;

/// Bytes of the header before the signals, and of each signal.
pub(crate) const LENGTH: usize = 256;

/// A header, its fields trimmed. It holds a person's data and is never shown whole.
#[derive(Clone, Debug, Default)]
pub(crate) struct Header {
    /// Whether samples have 24 bits.
    pub(super) bdf: bool,
    pub(super) patient: String,
    pub(super) recording: String,
    pub(super) date: String,
    pub(super) time: String,
    /// Number of data records; `None` when the header does not know it (-1).
    pub(super) records: Option<u64>,
    /// Labels of the signals, in order.
    pub(crate) labels: Vec<String>,
    pub(super) samples: Vec<usize>,
    pub(super) plus: bool,
}

impl Header {
    /// Reads the whole header, so that the first data record comes next.
    pub(crate) fn read(input: &mut dyn Read, limits: &Limits) -> Result<Header, FormatError> {
        let mut fixed = [0; LENGTH];
        let got = read_full(input, &mut fixed)?;
        if got == 0 {
            return Err(FormatError::Empty);
        }
        let (mut header, signals) = Header::fixed(&fixed[..got], limits)?;
        let mut table = vec![0; signals * LENGTH];
        let have = read_full(input, &mut table)?;
        if have < table.len() {
            return broken(format!(
                "the header announces {} and the file breaks off inside it, after {} bytes",
                shorten::count(signals as u64, "signal"),
                LENGTH + have
            ));
        }
        header.signals(&table, signals)?;
        let bytes = header.record_bytes();
        if bytes == 0 {
            return broken("the header announces records of no bytes".to_owned());
        }
        if bytes > limits.row_bytes {
            let what = format!("a record of {bytes} bytes");
            return Err(FormatError::Limit { what, name: "row_bytes", limit: limits.row_bytes as u64 });
        }
        Ok(header)
    }

    /// Reads the labels from the head of a file, as far as they stand in it.
    pub(crate) fn labels_of(head: &[u8]) -> Option<Vec<String>> {
        let (_, signals) = Header::fixed(head.get(..LENGTH)?, &Limits::default()).ok()?;
        let table = &head[LENGTH..];
        Some(table.chunks_exact(16).take(signals).map(ascii).collect())
    }

    fn fixed(fixed: &[u8], limits: &Limits) -> Result<(Header, usize), FormatError> {
        let bdf = fixed.starts_with(b"\xffBIOSEMI");
        if !bdf && !fixed.starts_with(b"0       ") {
            let found = match sniff::disguise(fixed) {
                Some(found) => found,
                None => format!("it begins with {} and not with the version `0`", sniff::beginning(fixed)),
            };
            return Err(FormatError::NotThis { expected: "EDF+ or BDF+", found });
        }
        if fixed.len() < LENGTH {
            return broken(format!("the file breaks off inside its header, after {} bytes", fixed.len()));
        }
        let field = |from: usize, len: usize| ascii(&fixed[from..from + len]);
        let header = Header {
            bdf,
            patient: field(8, 80),
            recording: field(88, 80),
            date: field(168, 8),
            time: field(176, 8),
            records: records(&field(236, 8))?,
            plus: ["EDF+", "BDF+"].iter().any(|p| field(192, 44).starts_with(p)),
            ..Header::default()
        };
        let signals = whole(&field(252, 4), "number of signals")?;
        if signals > limits.columns {
            let what = format!("a header of {signals} signals");
            return Err(FormatError::Limit { what, name: "columns", limit: limits.columns as u64 });
        }
        let (said, needed) = (whole(&field(184, 8), "length of the header")?, LENGTH * (signals + 1));
        if said != needed {
            return broken(format!(
                "the header says that it has {said} bytes, and with {} it needs {needed}",
                shorten::count(signals as u64, "signal")
            ));
        }
        Ok((header, signals))
    }

    fn signals(&mut self, table: &[u8], signals: usize) -> Result<(), FormatError> {
        // Fields stand in columns: all labels, then all transducers, and so on; 216 bytes precede the samples.
        self.labels = table[..16 * signals].chunks_exact(16).map(ascii).collect();
        let samples = &table[216 * signals..224 * signals];
        for (n, text) in samples.chunks_exact(8).enumerate() {
            self.samples.push(whole(&ascii(text), &format!("number of samples of signal {}", n + 1))?);
        }
        Ok(())
    }

    /// Returns the signals that hold annotations and were asked for: all of them, or `#2`, the second.
    pub(super) fn chosen(&self, each: &str) -> Result<Vec<usize>, FormatError> {
        let label = if self.bdf { "BDF Annotations" } else { "EDF Annotations" };
        let all: Vec<usize> = (0..self.labels.len()).filter(|n| self.labels[*n] == label).collect();
        if all.is_empty() {
            let kind = match (self.plus, self.bdf) {
                (true, _) => "a recording without annotations",
                (false, true) => "plain BDF, which has no annotations",
                (false, false) => "plain EDF, which has no annotations",
            };
            let labels = shorten::names(self.labels.iter().map(String::as_str));
            let found = format!("{kind}; its signals are {labels}; stages that the lab scored are in another file");
            return Err(FormatError::NotThis { expected: "EDF+ or BDF+ with annotations", found });
        }
        if each.is_empty() || each == label {
            return Ok(all);
        }
        let one = each.strip_prefix('#').and_then(|n| n.parse::<usize>().ok()?.checked_sub(1)).and_then(|n| all.get(n));
        one.map(|n| vec![*n]).ok_or_else(|| FormatError::Request {
            what: each.to_owned(),
            why: format!(
                "leave it out to read all annotations, or write `#1` to `#{}` for one of the signals `{label}`",
                all.len()
            ),
        })
    }

    /// Returns the bytes of a signal inside a record.
    pub(super) fn range(&self, signal: usize) -> Range<usize> {
        let width = if self.bdf { 3 } else { 2 };
        let before = self.samples[..signal].iter().sum::<usize>() * width;
        before..before + self.samples[signal] * width
    }

    /// Returns the bytes of one record.
    pub(super) fn record_bytes(&self) -> usize {
        self.samples.iter().sum::<usize>() * if self.bdf { 3 } else { 2 }
    }

    /// Returns the bytes of the header.
    pub(super) fn bytes(&self) -> u64 {
        (LENGTH * (self.labels.len() + 1)) as u64
    }

    /// Returns the words of the recording field behind `Startdate`.
    pub(super) fn recording_words(&self) -> Vec<&str> {
        self.recording.split_ascii_whitespace().skip(1).collect()
    }

    /// Returns whether the recording field has the form of EDF+.
    pub(super) fn has_startdate(&self) -> bool {
        self.recording.split_ascii_whitespace().next() == Some("Startdate")
    }

    /// Returns the names of the fields that identify a person, without their values.
    ///
    /// The patient field is `code sex birthdate name`, the recording field `Startdate date code technician
    /// equipment`, unknown parts `X` (EDF+ specification, 2.1.3.3). In plain EDF both are free text.
    pub(super) fn identity(&self) -> Vec<String> {
        let mut out = Vec::new();
        let patient: Vec<&str> = self.patient.split_ascii_whitespace().collect();
        // A file that has not the four parts keeps free text there.
        if self.plus && patient.len() >= 4 {
            named(&["patient code", "patient sex", "patient birthdate", "patient name"], &patient, &mut out);
            if patient[4..].iter().any(|w| *w != "X") {
                out.push("further words of the patient field".to_owned());
            }
        } else if patient.iter().any(|w| *w != "X") {
            out.push("patient field (free text)".to_owned());
        }
        if self.has_startdate() {
            let words = self.recording_words();
            named(&["", "recording code", "technician", ""], &words, &mut out);
            if words.iter().skip(4).any(|w| *w != "X") {
                out.push("further words of the recording field".to_owned());
            }
        } else if self.recording.split_ascii_whitespace().any(|w| w != "X") {
            out.push("recording field (free text)".to_owned());
        }
        out
    }
}

/// Returns the names of the fields of a header's first part that identify a person; see [`Header::identity`].
pub(crate) fn identity_of(fixed: &[u8; LENGTH]) -> Result<Vec<String>, FormatError> {
    let any_width = Limits { columns: usize::MAX, ..Limits::default() };
    Header::fixed(fixed, &any_width).map(|(header, _)| header.identity())
}

fn named(names: &[&str], words: &[&str], out: &mut Vec<String>) {
    let known = names.iter().zip(words).filter(|(name, word)| !name.is_empty() && **word != "X");
    out.extend(known.map(|(name, _)| (*name).to_owned()));
}

/// Returns a field without blanks around it. Bytes beyond ASCII, which the standard forbids, are read as
/// Latin-1, which is what those writers meant that put them there (common practice, no source).
fn ascii(field: &[u8]) -> String {
    let text: String = field.iter().map(|b| *b as char).collect();
    text.trim_matches([' ', '\0']).to_owned()
}

fn records(text: &str) -> Result<Option<u64>, FormatError> {
    if text == "-1" {
        return Ok(None);
    }
    whole(text, "number of data records").map(|n| Some(n as u64))
}

fn whole(text: &str, what: &str) -> Result<usize, FormatError> {
    match text.parse() {
        Ok(n) => Ok(n),
        Err(_) => broken(format!("the header's {what} is `{}` and not a number", shorten::cut(text, 12))),
    }
}

fn broken<T>(problem: String) -> Result<T, FormatError> {
    Err(FormatError::Broken { problem, locator: Locator::Record { record: 0, onset: "+0".to_owned() } })
}
