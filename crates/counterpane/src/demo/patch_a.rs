//! `patch-a`, an invented patch that would be good, were its clock not three minutes slow: a workbook.

use super::devices::{self, Bout, Quality};
use super::night::TrueNight;
use super::{lord_howe, order};
use counterpane_model::{Instant, Stage};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

const STEP_MS: i64 = 30_000;
/// How much its clock is slow: every time it shows is earlier by this.
pub(crate) const EARLY_MS: i64 = 3 * 60_000;
/// When it was stuck on the skin: the morning of the day before the first night.
const STUCK_BEFORE_MS: i64 = 37 * 3_600_000;
/// The columns, and how wide they are.
const COLUMNS: [(&str, f64); 4] = [("Begin", 14.0), ("Lasted", 12.0), ("Worn so far", 12.0), ("Phase", 10.0)];
/// Rows above the first one of a night: title, a blank, header.
const ABOVE: u32 = 3;

const QUALITY: Quality = Quality {
    stream: 8,
    wrong: [300, 110, 170, 150],
    instead: [[0, 7, 0, 3], [3, 0, 3, 4], [0, 10, 0, 0], [1, 9, 0, 0]],
    bout: (5, 18),
    shortest: 2,
    jitter: 1,
};

/// Returns the workbook of a participant's nights.
///
/// # Errors
/// The workbook cannot be written: none that is known of.
pub(crate) fn file(seed: u64, participant: &str, nights: &[&TrueNight]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // A workbook bears the moment of its making; the same demo must be the same file.
    let made = ExcelDateTime::from_ymd(2026, 4, 6)?.and_hms(8, 0, 0)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&made));
    let sheet = book.add_worksheet();
    head(sheet, participant)?;
    let lengths = Format::new().set_num_format("[h]:mm:ss");
    let stuck = nights.first().map_or(0, |n| n.start.0 - STUCK_BEFORE_MS);
    let mut row = ABOVE;
    for night in nights {
        for bout in shown(seed, night) {
            sheet.write_number(row, 0, lord_howe::serial(bout.start))?;
            sheet.write_number(row, 1, days(bout.ms()))?;
            sheet.write_number_with_format(row, 2, days(bout.start.0 - stuck), &lengths)?;
            sheet.write_string(row, 3, word(bout.class))?;
            row += 1;
        }
    }
    book.save_to_buffer()
}

fn head(sheet: &mut Worksheet, participant: &str) -> Result<(), XlsxError> {
    sheet.set_name("Nights")?;
    let title = format!("patch-a, nights of {participant} (invented: no such patch exists)");
    sheet.merge_range(0, 0, 0, 3, &title, &Format::new().set_bold())?;
    for (column, (name, width)) in (0..).zip(COLUMNS) {
        sheet.write_string(ABOVE - 1, column, name)?;
        sheet.set_column_width(column, width)?;
    }
    Ok(())
}

/// What the patch shows of a night, by its own clock.
fn shown(seed: u64, night: &TrueNight) -> Vec<Bout> {
    let mut dice = devices::dice(seed, night, &QUALITY);
    let earlier = |at: Instant| Instant(at.0 - EARLY_MS);
    let bouts = devices::bouts(&mut dice, night, &QUALITY, STEP_MS).into_iter();
    let bouts = bouts.map(|b| Bout { start: earlier(b.start), end: earlier(b.end), ..b }).collect();
    order::settled(bouts, STEP_MS)
}

fn days(ms: i64) -> f64 {
    ms as f64 / 86_400_000.0
}

fn word(class: Stage) -> &'static str {
    match class {
        Stage::W => "awake",
        Stage::N3 => "heavy",
        Stage::R => "lively",
        _ => "even",
    }
}
