//! From the bytes of a file to a sample: the format, how its text is written, and its tables.

use super::tables::{Cell, Field, Kind, Sample, Table, Way, Written};
use super::{DraftError, SampleFile};
use super::{markup, tree, workbook};
use counterpane_formats::sniff::sniff;
use counterpane_formats::{Event, Flow, Format, Limits, Node, Request, Row, Sniff, TextOptions, Value, Want, read};

/// Rows of a table that are looked at.
const MOST_ROWS: usize = 50_000;

/// Reads a file as a sample.
pub(super) fn open(file: &SampleFile<'_>) -> Result<Sample, DraftError> {
    let look = sniff(file.name, file.bytes);
    let Some(format) = look.formats.first().copied() else {
        return Err(DraftError::NoRecording { found: look.sentence });
    };
    match format {
        Format::Csv => delimited(file, &look),
        Format::Text => text(file, &look),
        Format::Edf => annotations(file),
        Format::Json | Format::Jsonl => documents(file, format, &look),
        Format::Sheet => workbook::open(file),
        Format::Xml => markup::open(file),
        Format::Zip => {
            Err(DraftError::NoRecording { found: "an archive inside another archive; unpack the outer one".into() })
        }
    }
}

pub(super) fn limits() -> Limits {
    Limits { rows: MOST_ROWS as u64, ..Limits::default() }
}

/// Returns the encoding that a definition must name: none where the readers find it by themselves.
pub(super) fn encoding(file: &SampleFile<'_>, look: &Sniff) -> Option<String> {
    let marked = [&b"\xef\xbb\xbf"[..], b"\xff\xfe", b"\xfe\xff"].iter().any(|mark| file.bytes.starts_with(mark));
    look.encoding.filter(|name| !marked && *name != "UTF-8").map(str::to_ascii_lowercase)
}

fn documents(file: &SampleFile<'_>, format: Format, look: &Sniff) -> Result<Sample, DraftError> {
    let text = Written { encoding: encoding(file, look), ..Written::default() };
    let want = Want { up: 0, path: "@".into() };
    let options = TextOptions { encoding: text.encoding.clone(), ..TextOptions::default() };
    let request =
        Request { each: "$".into(), wants: vec![want], text: options, limits: limits(), ..Request::default() };
    let mut nodes = Vec::new();
    rows(format, file, &request, &mut |row| nodes.extend(row.value(0).map(node_of)))?;
    Ok(Sample { name: file.name.to_owned(), format, tables: tree::tables(&nodes), text, start: None, member: None })
}

fn node_of(value: Value<'_>) -> Node {
    match value {
        Value::Null => Node::Null,
        Value::Bool(truth) => Node::Bool(truth),
        Value::Number(text) => Node::Number(text.into_owned()),
        Value::Text(text) => Node::Text(text.into_owned()),
        Value::List(items) => Node::List(items.to_vec()),
        Value::Map(members) => Node::Map(members.to_vec()),
        // Only spreadsheets have these, and no document of a tree does.
        Value::Moment { .. } | Value::Clock { .. } | Value::Span { .. } => Node::Null,
    }
}

/// Reads rows to the end, or to as many as are looked at.
pub(super) fn rows(
    format: Format,
    file: &SampleFile<'_>,
    request: &Request,
    take: &mut dyn FnMut(&dyn Row),
) -> Result<Option<counterpane_formats::Head>, DraftError> {
    let (mut seen, mut head, mut first) = (0, None, None);
    read(format, &mut &*file.bytes, request, &mut |event| {
        match event {
            Event::Head(found) => head = Some(found.clone()),
            Event::Row(row) => {
                take(row);
                seen += 1;
            }
            Event::Unreadable { locator, problem, .. } => {
                first.get_or_insert_with(|| format!("{locator}: {problem}"));
            }
        }
        if seen < MOST_ROWS { Flow::Continue } else { Flow::Stop }
    })?;
    match (seen, first) {
        (0, Some(problem)) => Err(DraftError::NoRows { why: format!("no row can be read ({problem})") }),
        (0, None) => Err(DraftError::NoRows { why: "there is no row in it".into() }),
        _ => Ok(head),
    }
}

fn flat(
    format: Format,
    file: &SampleFile<'_>,
    names: &[String],
    options: TextOptions,
) -> Result<(Vec<Field>, Option<counterpane_formats::Head>), DraftError> {
    let wants = names.iter().map(|path| Want { up: 0, path: path.clone() }).collect();
    let request = Request { wants, text: options, limits: limits(), ..Request::default() };
    let field = |path: &String| Field { path: path.clone(), ..Field::default() };
    let mut fields: Vec<Field> = names.iter().map(field).collect();
    let head = rows(format, file, &request, &mut |row| {
        fields
            .iter_mut()
            .enumerate()
            .for_each(|(n, field)| field.cells.push(row.value(n).map_or(Cell::Absent, cell_of)));
    })?;
    Ok((fields, head))
}

pub(super) fn cell_of(value: Value<'_>) -> Cell {
    match value {
        Value::Null | Value::List(_) | Value::Map(_) => Cell::Empty,
        Value::Moment { wall } => Cell::Text(wall.strftime("%Y-%m-%d %H:%M:%S%.f").to_string()),
        Value::Clock { ms } => Cell::Text(clock(i64::from(ms))),
        Value::Span { ms } => Cell::Text(clock(ms)),
        Value::Bool(truth) => Cell::Truth(truth),
        Value::Number(text) => Cell::Number(text.into_owned()),
        Value::Text(text) if text.trim().is_empty() => Cell::Empty,
        Value::Text(text) => Cell::Text(text.into_owned()),
    }
}

/// Returns a time of day or a length of a spreadsheet as a text.
fn clock(ms: i64) -> String {
    let seconds = ms.div_euclid(1000);
    let rest = ms.rem_euclid(1000);
    let fraction = if rest > 0 { format!(".{rest:03}") } else { String::new() };
    format!("{}:{:02}:{:02}{fraction}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

pub(super) fn table(fields: Vec<Field>) -> Table {
    let rows = fields.first().map_or(0, |f| f.cells.len());
    Table { kind: Kind::Rows, way: Way::Flat, fields, groups: vec![0; rows], keep: None, cell: None, stack: None }
}

fn delimited(file: &SampleFile<'_>, look: &Sniff) -> Result<Sample, DraftError> {
    let delimiter = look.delimiters.first().copied();
    let header_line = look.header_line.unwrap_or(1);
    let mut text = Written {
        encoding: encoding(file, look),
        delimiter: delimiter.filter(|d| *d != ','),
        header: header_mark(look, header_line, delimiter.unwrap_or(',')),
        header_line: Some(header_line),
        comment: comment(look, header_line),
        comma: false,
    };
    let options = TextOptions {
        encoding: text.encoding.clone(),
        delimiter: text.delimiter,
        header_with: text.header.clone(),
        comment: text.comment.clone(),
    };
    let columns: Vec<String> = if look.columns.is_empty() {
        look.lines.iter().find(|l| !l.trim().is_empty()).map(|l| l.trim().to_owned()).into_iter().collect()
    } else {
        look.columns.clone()
    };
    if let Some(value) = columns.iter().find(|c| is_data(c)) {
        let line =
            look.lines.get(usize::try_from(header_line).unwrap_or(1).saturating_sub(1)).cloned().unwrap_or_default();
        return Err(DraftError::NoHeader { value: value.clone(), line });
    }
    let name = |(n, name): (usize, &String)| {
        if name.is_empty() || name.starts_with('#') { format!("#{}", n + 1) } else { name.clone() }
    };
    let names: Vec<String> = columns.iter().enumerate().map(name).collect();
    let (fields, _) = flat(Format::Csv, file, &names, options)?;
    text.comma = has_decimal_commas(&fields);
    let rows = table(fields);
    let inside = super::cells::tables(&rows);
    Ok(Sample {
        name: file.name.to_owned(),
        format: Format::Csv,
        tables: std::iter::once(rows).chain(inside).collect(),
        text,
        start: None,
        member: None,
    })
}

/// Says whether a column's name is a value: a time, a date or a number.
pub(super) fn is_data(name: &str) -> bool {
    let digits = name.chars().filter(char::is_ascii_digit).count();
    let marks = name.chars().filter(|c| matches!(c, '-' | '.' | '/' | ':' | ',')).count();
    // Epochs that are numbered are columns all the same; a number is told by its decimals or its length.
    digits >= 3 && marks >= 1 && name.chars().all(|c| c.is_ascii_digit() || "-./:,+TZ APMapm".contains(c))
}

/// Returns the text by which the header is found, where lines stand above it.
fn header_mark(look: &Sniff, line: u64, delimiter: char) -> Option<String> {
    if line <= 1 {
        return None;
    }
    let above = &look.lines[..usize::try_from(line - 1).ok()?.min(look.lines.len())];
    let header = look.lines.get(above.len())?;
    let blank = above.iter().all(|l| l.trim().is_empty());
    let first: String = header.chars().take_while(|c| *c != delimiter).collect();
    let with_mark = format!("{first}{delimiter}");
    let candidates = [first.trim_matches('"').to_owned(), with_mark, header.clone()];
    let alone = |c: &&String| {
        !c.trim().is_empty() && !above.iter().any(|l| l.contains(c.as_str())) && header.contains(c.as_str())
    };
    if blank { None } else { candidates.iter().find(alone).cloned() }
}

fn comment(look: &Sniff, header_line: u64) -> Option<String> {
    let after = usize::try_from(header_line).unwrap_or(1);
    look.lines.iter().skip(after).any(|l| l.starts_with('#')).then(|| "#".into())
}

/// Says whether numbers have a decimal comma: some do, and none has a point.
pub(super) fn has_decimal_commas(fields: &[Field]) -> bool {
    let number = |text: &str, mark: char| {
        let parts: Vec<&str> = text.split(mark).collect();
        let digits = |t: &str| !t.is_empty() && t.chars().all(|c| c.is_ascii_digit());
        parts.len() == 2 && digits(parts[0].trim_start_matches('-')) && digits(parts[1])
    };
    let any = |mark| fields.iter().flat_map(|f| &f.cells).filter_map(Cell::text).any(|t| number(t.trim(), mark));
    any(',') && !any('.')
}

fn text(file: &SampleFile<'_>, look: &Sniff) -> Result<Sample, DraftError> {
    let text = Written { encoding: encoding(file, look), comment: comment(look, 0), ..Written::default() };
    let options =
        TextOptions { encoding: text.encoding.clone(), comment: text.comment.clone(), ..TextOptions::default() };
    let mut words: Vec<usize> = look.lines.iter().map(|l| l.split_whitespace().count()).filter(|n| *n > 0).collect();
    words.sort_unstable();
    let usual = words.get(words.len() / 2).copied().unwrap_or(1).min(6);
    let mut names = vec!["line".to_owned()];
    if usual > 1 {
        names.extend((1..=usual).map(|n| format!("word {n}")));
        names.extend((2..=usual).map(|n| format!("rest {n}")));
    }
    let (fields, _) = flat(Format::Text, file, &names, options)?;
    Ok(Sample {
        name: file.name.to_owned(),
        format: Format::Text,
        tables: vec![table(fields)],
        text,
        start: None,
        member: None,
    })
}

fn annotations(file: &SampleFile<'_>) -> Result<Sample, DraftError> {
    let names = ["onset", "duration", "text"].map(str::to_owned);
    let (mut fields, head) = flat(Format::Edf, file, &names, TextOptions::default())?;
    // Seconds are numbers, whatever the reader gives them as.
    for field in fields.iter_mut().take(2) {
        for cell in &mut field.cells {
            if let Cell::Text(text) = cell {
                *cell = Cell::Number(std::mem::take(text));
            }
        }
    }
    let start = head.and_then(|h| h.start);
    Ok(Sample {
        name: file.name.to_owned(),
        format: Format::Edf,
        tables: vec![table(fields)],
        text: Written::default(),
        start,
        member: None,
    })
}
