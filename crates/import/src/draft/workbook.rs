//! Spreadsheets as tables: one for each sheet.

use super::open::{cell_of, has_decimal_commas, is_data, limits, rows};
use super::tables::{Cell, Field, Kind, Sample, Table, Way, Written};
use super::{DraftError, SampleFile};
use counterpane_formats::sniff::sniff_file;
use counterpane_formats::{Format, Request, SheetHead, TextOptions, Value, Want};
use std::io::Cursor;

/// Reads a workbook as a sample.
pub(super) fn open(file: &SampleFile<'_>) -> Result<Sample, DraftError> {
    let look = sniff_file(file.name, Cursor::new(file.bytes), limits())?;
    let several = look.sheets.len() > 1;
    let mut text = Written::default();
    let mut tables = Vec::new();
    let mut refused = None;
    for sheet in &look.sheets {
        match table(file, sheet, several, &mut text) {
            Ok(table) => tables.push(table),
            Err(error) => refused = refused.or(Some(error)),
        }
    }
    match (tables.is_empty(), refused) {
        (true, Some(error)) => Err(error),
        (true, None) => Err(DraftError::NoRecording { found: look.sentence }),
        _ => {
            text.comma = tables.iter().any(|t| has_decimal_commas(&t.fields));
            Ok(Sample { name: file.name.to_owned(), format: Format::Sheet, tables, text, start: None, member: None })
        }
    }
}

fn table(file: &SampleFile<'_>, sheet: &SheetHead, several: bool, text: &mut Written) -> Result<Table, DraftError> {
    let filled = |row: &Vec<String>| row.iter().filter(|c| !c.trim().is_empty()).count();
    let widest = sheet.rows.iter().map(filled).max().unwrap_or(0);
    let at = sheet.rows.iter().position(|row| filled(row) == widest && widest > 0);
    let Some(header) = at.and_then(|n| sheet.rows.get(n)) else {
        return Err(DraftError::NoRows { why: format!("the sheet `{}` is empty", sheet.name) });
    };
    if let Some(value) = header.iter().find(|c| is_data(c.trim())) {
        return Err(DraftError::NoHeader { value: value.clone(), line: header.join(" ") });
    }
    let above = sheet.rows.get(..at.unwrap_or(0)).unwrap_or_default();
    let alone = |c: &&String| !c.trim().is_empty() && !above.iter().flatten().any(|a| a.contains(c.trim()));
    let mark = header.iter().find(alone).filter(|_| !above.is_empty()).map(|c| c.trim().to_owned());
    let name = |(n, name): (usize, &String)| match header.iter().filter(|h| h.trim() == name.trim()).count() {
        1 if !name.trim().is_empty() => name.trim().to_owned(),
        _ => format!("#{}", n + 1),
    };
    let names: Vec<String> = header.iter().enumerate().map(name).collect();
    let request = Request {
        each: if several { sheet.name.clone() } else { String::new() },
        wants: names.iter().map(|path| Want { up: 0, path: path.clone() }).collect(),
        text: TextOptions { header_with: mark.clone(), ..TextOptions::default() },
        limits: limits(),
        ..Request::default()
    };
    let mut fields: Vec<Field> =
        names.iter().map(|n| Field { path: n.clone(), native: true, ..Field::default() }).collect();
    rows(Format::Sheet, file, &request, &mut |row| {
        for (n, field) in fields.iter_mut().enumerate() {
            let value = row.value(n);
            field.native &= matches!(
                value,
                None | Some(Value::Null | Value::Moment { .. } | Value::Clock { .. } | Value::Span { .. })
            );
            field.cells.push(value.map_or(Cell::Absent, cell_of));
        }
    })?;
    fields.iter_mut().filter(|f| f.native).for_each(dates);
    if text.header.is_none() {
        text.header_line = mark.as_ref().and(at).and_then(|n| u64::try_from(n).ok()).map(|n| n + 1);
        text.header = mark;
    }
    let way = if several { Way::Sheet(sheet.name.clone()) } else { Way::Flat };
    let rows = fields.first().map_or(0, |f| f.cells.len());
    Ok(Table { kind: Kind::Rows, way, fields, groups: vec![0; rows], keep: None, cell: None, stack: None })
}

/// A column of midnights holds dates without a time of day.
fn dates(field: &mut Field) {
    let midnight = |c: &Cell| match c {
        Cell::Text(text) => text.strip_suffix(" 00:00:00").map(str::to_owned),
        _ => None,
    };
    let held = field.cells.iter().filter(|c| matches!(c, Cell::Text(_))).count();
    if held > 1 && field.cells.iter().filter_map(midnight).count() == held {
        for cell in &mut field.cells {
            if let Some(date) = midnight(cell) {
                *cell = Cell::Text(date);
            }
        }
    }
}
