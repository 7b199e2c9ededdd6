//! Readers as tests see them: bytes and a request in, one line of text for each event out.

use crate::{Event, Flow, Format, Request, Row, Value, Want, read};
use std::fmt::Write as _;

/// Returns a request for the fields of a list such as `from, 1 tz, $.device`; a number is `up`.
pub(crate) fn request(each: &str, nest: &str, wants: &str) -> Request {
    let want = |text: &str| match text.split_once(' ') {
        Some((up, path)) if up.parse::<usize>().is_ok() => Want { up: up.parse().unwrap(), path: path.to_owned() },
        _ => Want { up: 0, path: text.to_owned() },
    };
    Request {
        each: each.to_owned(),
        nest: (!nest.is_empty()).then(|| nest.to_owned()),
        wants: wants.split(", ").filter(|w| !w.is_empty()).map(want).collect(),
        ..Request::default()
    }
}

/// Reads and prints what comes: the head, rows with the place of each value, and how it ended.
pub(crate) fn check(format: Format, input: &[u8], request: &Request) -> String {
    let mut out = String::new();
    let mut rest = input;
    let result = read(format, &mut rest, request, &mut |event| {
        match event {
            Event::Head(head) => {
                if let Some(member) = &head.member {
                    let _ = writeln!(out, "member: {member}");
                }
                for (name, value) in [("columns", head.columns.join(" | ")), ("identity", head.identity.join(", "))] {
                    if !value.is_empty() {
                        let _ = writeln!(out, "{name}: {value}");
                    }
                }
                if let Some(start) = head.start {
                    let _ = writeln!(out, "start: {start}");
                }
            }
            Event::Row(row) => print(row, request.wants.len(), &mut out),
            Event::Unreadable { locator, line, problem } => {
                let _ = writeln!(out, "{locator}: unreadable `{line}`: {problem}");
            }
        }
        Flow::Continue
    });
    if let Err(e) = result {
        let _ = writeln!(out, "error: {e}");
    }
    out
}

fn print(row: &dyn Row, wants: usize, out: &mut String) {
    let _ = write!(out, "{}:", row.locator());
    for want in 0..wants {
        let at = row.locate(want);
        let value = match row.value(want) {
            None => "nothing".to_owned(),
            Some(Value::Null) => "null".to_owned(),
            Some(Value::Bool(value)) => value.to_string(),
            Some(Value::Number(text)) => text.into_owned(),
            Some(Value::Text(text)) => format!("`{text}`"),
            Some(Value::List(items)) => format!("a list of {}", items.len()),
            Some(Value::Map(members)) => format!("an object of {}", members.len()),
            Some(Value::Moment { wall }) => wall.to_string(),
            Some(Value::Clock { ms }) => format!("at {ms} ms"),
            Some(Value::Span { ms }) => format!("for {ms} ms"),
        };
        let at = if at == row.locator() { String::new() } else { format!(" ({at})") };
        let _ = write!(out, "{} {value}{at}", if want > 0 { "," } else { "" });
    }
    if wants == 0 {
        let _ = write!(out, " {}", row.line());
    }
    out.push('\n');
}
