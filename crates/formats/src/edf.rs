//! Annotations of EDF+ and BDF+ recordings (edfplus.info/specs).
//!
//! A row is one annotation. Fields: `onset` and `duration` (seconds, digits as written), `text`, `channel`
//! (what stands behind `@@` in the text) and `record` (data record, from 0). The annotations that only
//! keep time, with an empty text, are no rows.
//!
//! **Onsets and the start.** Every onset counts seconds from the start date and time of the *header*,
//! which has whole seconds only. The first record's timekeeping onset (such as `+0.25`) says by how much
//! the first sample comes later; it is the fraction of the start of the samples and is not to be added to
//! other onsets. So [`Head::start`] is the header's start, and `Head::start` plus the onset is the
//! annotation's local time, in continuous, interrupted and sub-second files alike. There is no zone.
//!
//! Signals beside the annotations are passed over unread. Deliberately absent: stages kept as samples
//! of an ordinary signal, and a check whether records of a continuous file follow each other.

mod date;
mod header;
mod tal;

use crate::source::read_full;
use crate::{Event, Flow, FormatError, Head, Request, Row, Value, Want, shorten};
use counterpane_model::Locator;
pub(crate) use header::{Header, LENGTH as HEADER_BYTES, identity_of};
use std::borrow::Cow;
use std::io::Read;
use tal::{Annotation, Found};

/// Reads the annotations; see the module's own page.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    let fields = request.wants.iter().map(field).collect::<Result<Vec<_>, _>>()?;
    let header = Header::read(input, &request.limits)?;
    let chosen = header.chosen(&request.each)?;
    let start = date::start(&header);
    let head = Head { start: start.wall, identity: header.identity(), ..Head::default() };
    if sink(Event::Head(&head)) == Flow::Stop {
        return Ok(());
    }
    if let Some(problem) = start.problem {
        let line = format!("{} {} {}", header.date, header.time, start.written);
        let locator = Locator::Record { record: 0, onset: "+0".to_owned() };
        if sink(Event::Unreadable { locator, line: shorten::line(line.trim()), problem }) == Flow::Stop {
            return Ok(());
        }
    }
    Records { input, header: &header, chosen, fields: &fields, request, rows: 0 }.read(sink)
}

/// A field of an annotation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    Onset,
    Duration,
    Text,
    Channel,
    Record,
}

fn field(want: &Want) -> Result<Field, FormatError> {
    let field = match want.path.as_str() {
        _ if want.up > 0 => None,
        "onset" => Some(Field::Onset),
        "duration" => Some(Field::Duration),
        "text" => Some(Field::Text),
        "channel" => Some(Field::Channel),
        "record" => Some(Field::Record),
        _ => None,
    };
    field.ok_or_else(|| FormatError::Request {
        what: want.path.clone(),
        why: "an annotation has `onset`, `duration`, `text`, `channel` and `record`, and no level above it".to_owned(),
    })
}

struct Records<'a> {
    input: &'a mut dyn Read,
    header: &'a Header,
    /// Signals whose annotations are wanted.
    chosen: Vec<usize>,
    fields: &'a [Field],
    request: &'a Request,
    rows: u64,
}

impl Records<'_> {
    fn read(mut self, sink: &mut dyn FnMut(Event<'_>) -> Flow) -> Result<(), FormatError> {
        let mut bytes = vec![0; self.header.record_bytes()];
        let mut record = 0;
        while self.header.records.is_none_or(|n| record < n) {
            let got = read_full(self.input, &mut bytes)?;
            if got == 0 && self.header.records.is_none() {
                return Ok(());
            }
            if got < bytes.len() {
                return Err(self.broken(record, got, bytes.len()));
            }
            self.check_size(record)?;
            if self.record(record, &bytes, sink)? == Flow::Stop {
                return Ok(());
            }
            record += 1;
        }
        self.surplus(record, sink)
    }

    fn record(
        &mut self,
        record: u64,
        bytes: &[u8],
        sink: &mut dyn FnMut(Event<'_>) -> Flow,
    ) -> Result<Flow, FormatError> {
        for signal in self.chosen.clone() {
            let range = self.header.range(signal);
            for found in tal::read(&bytes[range]) {
                let flow = match found {
                    Found::Annotation(annotation) => {
                        self.rows += 1;
                        self.check_rows()?;
                        sink(Event::Row(&AnnotationRow { annotation, record, fields: self.fields }))
                    }
                    Found::Unreadable { onset, line, problem } => {
                        let locator = Locator::Record { record, onset };
                        sink(Event::Unreadable { locator, line: shorten::line(&line), problem })
                    }
                };
                if flow == Flow::Stop {
                    return Ok(Flow::Stop);
                }
            }
        }
        Ok(Flow::Continue)
    }

    fn broken(&self, record: u64, got: usize, want: usize) -> FormatError {
        let said = match self.header.records {
            Some(n) => format!("the header announces {}", shorten::count(n, "record")),
            None => "the header announces records up to the end of the file".to_owned(),
        };
        let problem = format!("{said} of {want} bytes and the file breaks off after {got} bytes of record {record}");
        FormatError::Broken { problem, locator: Locator::Record { record, onset: "+0".to_owned() } }
    }

    /// Tells of bytes behind the last record that the header announces.
    fn surplus(&mut self, record: u64, sink: &mut dyn FnMut(Event<'_>) -> Flow) -> Result<(), FormatError> {
        let mut room = [0; 64 << 10];
        let mut more = 0;
        loop {
            match read_full(self.input, &mut room)? {
                0 => break,
                n => more += n as u64,
            }
            self.check_bytes(self.header.bytes() + record * self.header.record_bytes() as u64 + more)?;
        }
        if more > 0 {
            let problem = format!(
                "the header announces {}, and behind the last of them stand {}, which are not read",
                shorten::count(record, "record"),
                shorten::count(more, "byte")
            );
            let locator = Locator::Record { record, onset: "+0".to_owned() };
            let _ = sink(Event::Unreadable { locator, line: String::new(), problem });
        }
        Ok(())
    }

    fn check_size(&self, record: u64) -> Result<(), FormatError> {
        self.check_bytes(self.header.bytes() + (record + 1) * self.header.record_bytes() as u64)
    }

    fn check_bytes(&self, bytes: u64) -> Result<(), FormatError> {
        let limit = self.request.limits.bytes;
        if bytes > limit {
            return Err(FormatError::Limit { what: format!("a file of {bytes} bytes or more"), name: "bytes", limit });
        }
        Ok(())
    }

    fn check_rows(&self) -> Result<(), FormatError> {
        let limit = self.request.limits.rows;
        if self.rows > limit {
            return Err(FormatError::Limit { what: format!("row {}", self.rows), name: "rows", limit });
        }
        Ok(())
    }
}

/// An annotation as a row.
struct AnnotationRow<'a> {
    annotation: Annotation<'a>,
    record: u64,
    fields: &'a [Field],
}

impl Row for AnnotationRow<'_> {
    fn locator(&self) -> Locator {
        Locator::Record { record: self.record, onset: self.annotation.onset.to_owned() }
    }

    fn value(&self, want: usize) -> Option<Value<'_>> {
        let Annotation { onset, duration, text, channel } = &self.annotation;
        let number = |digits| Some(Value::Number(Cow::Borrowed(digits)));
        match self.fields.get(want)? {
            Field::Onset => number(onset.strip_prefix('+').unwrap_or(onset)),
            Field::Duration => duration.and_then(number),
            Field::Text => Some(Value::Text(Cow::Borrowed(text))),
            Field::Channel => channel.map(|c| Value::Text(Cow::Borrowed(c))),
            Field::Record => Some(Value::Number(Cow::Owned(self.record.to_string()))),
        }
    }

    fn locate(&self, _want: usize) -> Locator {
        self.locator()
    }

    fn line(&self) -> String {
        let Annotation { onset, duration, text, channel } = &self.annotation;
        let duration = duration.map(|d| format!(" {d}")).unwrap_or_default();
        let channel = channel.map(|c| format!("@@{c}")).unwrap_or_default();
        shorten::line(&format!("{onset}{duration} {text}{channel}"))
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod writer;
