//! A filled sheet, as it stands: the head and the rows, each with its place.

use super::Form;
use anyhow::{Context as _, bail};
use counterpane_formats::{Event, Flow, Format, Limits, Request, Row, TextOptions, Value, Want, read};
use counterpane_model::Locator;
use std::collections::BTreeMap;
use std::path::Path;

/// A filled sheet.
#[derive(Debug)]
pub(crate) struct Sheet {
    /// What its rows are.
    pub(crate) form: Form,
    /// Fields of the head that are filled in, by name.
    pub(crate) head: BTreeMap<String, String>,
    /// Totals that the screen shows, as they were typed, with their names.
    pub(crate) shown: Vec<(String, String)>,
    /// The rows, in their order.
    pub(crate) rows: Vec<Typed>,
}

/// A row of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Typed {
    /// A time of day, or epochs.
    pub(crate) at: String,
    /// The stage.
    pub(crate) is: String,
    /// Where the row stands.
    pub(crate) place: Locator,
}

impl Sheet {
    /// Returns a field of the head, where it is filled in.
    pub(crate) fn field(&self, name: &str) -> Option<&str> {
        self.head.get(name).map(String::as_str)
    }
}

/// Reads a sheet, plain text or a workbook.
///
/// # Errors
/// It is neither, a line has another number of fields than the header, a field of the head stands there twice, or
/// it does not say what it is.
pub(crate) fn sheet(path: &Path) -> anyhow::Result<Sheet> {
    let mut magic = [0; 2];
    let workbook = std::io::Read::read_exact(&mut open(path)?, &mut magic).is_ok() && &magic == b"PK";
    let mut lines = Lines::default();
    if workbook {
        lines.take(path, Format::Sheet, "Head", ["line", "at", "is"])?;
    } else {
        lines.take(path, Format::Csv, "", ["line", "at", "is"])?;
    }
    let code = lines.form.clone().unwrap_or_default();
    let Some(form) = [Form::Changes, Form::Epochs].into_iter().find(|f| f.code() == code) else {
        bail!(
            "it does not say which sheet it is: its line `sheet`, `form` says `{code}`, not `changes 1` or `epochs 1`"
        );
    };
    if workbook {
        let [at, is] = form.columns();
        lines.take(path, Format::Sheet, form.sheet(), ["", at, is])?;
    }
    let rows = lines.rows.into_iter().filter(|(line, _)| line.is_empty() || line == form.row()).map(|(_, row)| row);
    Ok(Sheet { form, rows: rows.collect(), head: lines.head, shown: lines.shown.into_iter().collect() })
}

fn open(path: &Path) -> anyhow::Result<std::fs::File> {
    std::fs::File::open(path).with_context(|| path.display().to_string())
}

#[derive(Default)]
struct Lines {
    form: Option<String>,
    head: BTreeMap<String, String>,
    shown: BTreeMap<String, String>,
    rows: Vec<(String, Typed)>,
    wrong: Option<String>,
}

impl Lines {
    /// Takes the lines of one part; without a name for the first of the columns every line is a row.
    fn take(&mut self, path: &Path, format: Format, part: &str, columns: [&str; 3]) -> anyhow::Result<()> {
        let wants = columns.iter().filter(|c| !c.is_empty()).map(|c| Want { up: 0, path: (*c).to_owned() }).collect();
        let mut text = TextOptions::default();
        match format {
            Format::Csv => (text.delimiter, text.comment) = (Some('\t'), Some("#".into())),
            _ => text.header_with = Some("remark".into()),
        }
        let request = Request { each: part.into(), wants, text, limits: Limits::default(), ..Request::default() };
        let skip = usize::from(columns[0].is_empty());
        read(format, &mut open(path)?, &request, &mut |event| {
            match event {
                Event::Head(_) => {}
                Event::Row(row) => self.line(row, skip),
                Event::Unreadable { locator, problem, .. } => {
                    self.wrong.get_or_insert(format!("{locator}: {problem}"));
                }
            }
            Flow::Continue
        })?;
        match self.wrong.take() {
            Some(wrong) => bail!("{wrong}"),
            None => Ok(()),
        }
    }

    fn line(&mut self, row: &dyn Row, skip: usize) {
        let text = |column: usize| column.checked_sub(skip).map(|want| shown(row.value(want))).unwrap_or_default();
        let (line, at, is) = (text(0), text(1), text(2));
        let place = row.locate(1 - skip);
        let known = match line.as_str() {
            "sheet" if at == "form" => {
                self.form = Some(is);
                return;
            }
            "head" => &mut self.head,
            "shown" => &mut self.shown,
            _ if at.is_empty() && is.is_empty() => return,
            _ => return self.rows.push((line, Typed { at, is, place })),
        };
        if !is.is_empty() && known.insert(at.clone(), is).is_some() {
            self.wrong.get_or_insert(format!("{place}: `{at}` stands there twice; keep one of the two"));
        }
    }
}

/// Returns what a cell shows, without the blanks around it.
fn shown(value: Option<Value<'_>>) -> String {
    match value {
        Some(Value::Text(text) | Value::Number(text)) => text.trim().to_owned(),
        Some(Value::Moment { wall }) if wall.time() == jiff::civil::Time::midnight() => wall.date().to_string(),
        Some(Value::Moment { wall }) => wall.to_string().replace('T', " "),
        Some(Value::Clock { ms }) => {
            format!("{:02}:{:02}:{:02}", ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60)
        }
        Some(Value::Span { ms }) => format!("{}:{:02}", ms / 3_600_000, ms / 60_000 % 60),
        Some(Value::Bool(truth)) => truth.to_string(),
        Some(Value::Null | Value::List(_) | Value::Map(_)) | None => String::new(),
    }
}
