//! A blank sheet as a workbook.
//!
//! Cells are text, so that `23.40`, `2347` and `11:47 pm` stay as they were typed: a program that takes them for
//! numbers drops zeros and moves midnight. A time that is pasted as a time is read too.

use super::{Blank, Form};
use rust_xlsxwriter::{
    Color, DataValidation, DataValidationErrorStyle, DocProperties, ExcelDateTime, Format, FormatBorder, Formula, Note,
    Workbook, Worksheet, XlsxError,
};

/// Rows that are prepared for the reader; a night has far fewer changes.
const ROWS: u32 = 400;
/// Row, from 0, of the header of the rows: title and example stand above it.
const HEADER: u32 = 2;
const INK: Color = Color::RGB(0x2B3A4A);
const PALE: Color = Color::RGB(0xEEF1F4);

/// Returns the workbook.
///
/// # Errors
/// It cannot be written: none that is known of.
pub(crate) fn book(blank: &Blank) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // The same blank sheet is the same file.
    let made = ExcelDateTime::from_ymd(2026, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&made));
    head(book.add_worksheet(), blank)?;
    rows(book.add_worksheet(), blank.form)?;
    book.save_to_buffer()
}

fn header() -> Format {
    Format::new().set_bold().set_font_color(Color::White).set_background_color(INK).set_indent(1)
}

fn field() -> Format {
    let line = Format::new().set_border(FormatBorder::Thin).set_border_color(Color::RGB(0xAAB4BE));
    line.set_num_format("@").set_indent(1).set_unlocked()
}

fn quiet() -> Format {
    let text = Format::new().set_italic().set_font_color(Color::RGB(0x5A6672)).set_background_color(PALE);
    text.set_num_format("@").set_indent(1)
}

/// Paper as most of the world has it, in the numbers of the format: A4.
const PAPER: u8 = 9;

/// The head: a field a row, and below it what the screen shows.
fn head(sheet: &mut Worksheet, blank: &Blank) -> Result<(), XlsxError> {
    sheet.set_name("Head")?;
    sheet.set_paper_size(PAPER).set_landscape().set_print_fit_to_pages(1, 0);
    for (column, (name, width)) in (0..).zip([("line", 9.0), ("at", 16.0), ("is", 30.0), ("remark", 92.0)]) {
        sheet.write_with_format(0, column, name, &header())?;
        sheet.set_column_width(column, width)?;
    }
    sheet.set_freeze_panes(1, 0)?;
    let form = [("sheet", "form", blank.form.code(), "what this sheet is; leave it as it is")];
    let head = blank.form.head().iter().map(|(name, means)| ("head", *name, blank.value(name), *means));
    let shown = blank.form.shown().iter().map(|(name, means)| ("shown", *name, "", *means));
    for (row, (line, at, is, remark)) in (1..).zip(form.into_iter().chain(head).chain(shown)) {
        sheet.write_with_format(row, 0, line, &quiet())?;
        sheet.write_with_format(row, 1, at, &Format::new().set_bold().set_indent(1))?;
        sheet.write_with_format(row, 2, is, &field())?;
        sheet.write_with_format(row, 3, remark, &quiet())?;
        match (line, at) {
            ("head", "pass") => {
                let list = DataValidation::new().allow_list_strings(&["1", "2"])?;
                sheet.add_data_validation(row, 2, row, 2, &list)?;
            }
            ("head", "precision") => {
                let text = "Minutes, with a decimal point, from 0 to 60: 1, 2.5";
                let rule = format!("=IFERROR(AND(VALUE(C{0})>=0,VALUE(C{0})<=60),FALSE)", row + 1);
                sheet.add_data_validation(row, 2, row, 2, &asked(&rule, text)?)?;
            }
            ("shown", "start" | "end") => {
                sheet.add_data_validation(row, 2, row, 2, &asked(&time_rule("C", row), TIMES)?)?;
            }
            _ => {}
        }
    }
    if blank.form == Form::Changes {
        let why =
            "Write what the screen says, as it says it. It is held against the rows, and shows slips of the hand.";
        sheet.insert_note(blank.form.head().len() as u32 + 2, 1, &note(why))?;
    }
    Ok(())
}

const TIMES: &str = "A time of day: 23:47, 23.47, 2347 or 11:47 pm";

/// The rows: how they are written, an example, a header, and room.
fn rows(sheet: &mut Worksheet, form: Form) -> Result<(), XlsxError> {
    sheet.set_name(form.sheet())?;
    // A night of many rows goes over several pages, and each begins with the header.
    sheet.set_paper_size(PAPER).set_print_fit_to_pages(1, 0).set_repeat_rows(HEADER, HEADER)?;
    for (column, width) in (0..).zip([14.0, 14.0, 60.0]) {
        sheet.set_column_width(column, width)?;
    }
    sheet.write_with_format(0, 0, form.how(), &Format::new().set_italic())?;
    let [at, is] = form.example();
    for (column, text) in (0..).zip([at, is, "an example; what stands above the line below is not read"]) {
        sheet.write_with_format(1, column, text, &quiet())?;
    }
    let [first, second] = form.columns();
    for (column, name) in (0..).zip([first, second, "remark"]) {
        sheet.write_with_format(HEADER, column, name, &header())?;
    }
    sheet.set_freeze_panes(HEADER + 1, 0)?;
    let (top, bottom) = (HEADER + 1, HEADER + ROWS);
    for row in top..=bottom {
        for column in 0..3 {
            sheet.write_blank(row, column, &field())?;
        }
    }
    sheet.ignore_error_range(top, 0, bottom, 0, rust_xlsxwriter::IgnoreError::NumberStoredAsText)?;
    let stages = DataValidation::new()
        .allow_list_strings(form.stages())?
        .set_error_title("Not a stage of this sheet")?
        .set_error_message("Choose one of the list.")?;
    sheet.add_data_validation(top, 1, bottom, 1, &stages)?;
    let (rule, text) = match form {
        Form::Changes => (time_rule("A", top), TIMES),
        Form::Epochs => (epoch_rule("A", top), "Epochs: 1-43, or 44 for a single one"),
    };
    sheet.add_data_validation(top, 0, bottom, 0, &asked(&rule, text)?)?;
    sheet.insert_note(HEADER, 0, &note(text))?;
    sheet.insert_note(HEADER, 1, &note("Choose from the list that opens at the cell."))?;
    sheet.insert_note(HEADER, 2, &note("For yourself: it is not read."))?;
    Ok(())
}

/// A rule that asks rather than forbids: the import is what decides.
fn asked(rule: &str, text: &str) -> Result<DataValidation, XlsxError> {
    DataValidation::new()
        .allow_custom(Formula::new(rule))
        .set_error_style(DataValidationErrorStyle::Warning)
        .set_error_title("Is this meant?")?
        .set_error_message(text)
}

fn note(text: &str) -> Note {
    Note::new(text).set_author("").add_author_prefix(false).set_width(280).set_height(96)
}

/// A formula that is true of a time of day, as text or as the program's own time; `row` counts from 0.
fn time_rule(column: &str, row: u32) -> String {
    let cell = format!("{column}{}", row + 1);
    // Digits alone have no separator: 2347 is 23:47.
    let digits = format!(
        "AND(LEN({cell})>2,LEN({cell})<5,MOD(VALUE({cell}),100)<60,VALUE({cell})<2400,VALUE({cell})=INT(VALUE({cell})))"
    );
    format!(
        "=OR(ISNUMBER(TIMEVALUE(SUBSTITUTE({cell},\".\",\":\"))),IFERROR(AND({cell}>=0,{cell}<1),FALSE),IFERROR({digits},FALSE))"
    )
}

/// A formula that is true of `44` and of `1-43`.
fn epoch_rule(column: &str, row: u32) -> String {
    let cell = format!("{column}{}", row + 1);
    let range = format!("VALUE(LEFT({cell},FIND(\"-\",{cell})-1))<=VALUE(MID({cell},FIND(\"-\",{cell})+1,9))");
    format!("=OR(IFERROR(VALUE({cell})>0,FALSE),IFERROR({range},FALSE))")
}
