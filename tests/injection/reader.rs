//! A person who reads a picture and types a sheet.

use crate::dice::Dice;
use crate::night::Change;
use crate::phone::clock;

/// A row as it is typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Row {
    /// Number of the change of the night that it is about.
    pub(crate) of: usize,
    pub(crate) at: String,
    pub(crate) is: &'static str,
}

/// A typed sheet.
#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    pub(crate) precision: f64,
    pub(crate) pass: u8,
    pub(crate) shown: Vec<(&'static str, String)>,
    pub(crate) rows: Vec<Row>,
}

/// Types a night: each time is a whole minute within the precision of the true one, any as likely as another, and
/// never before or at the one above.
pub(crate) fn typed(dice: &mut Dice, night: &[Change], precision: f64, pass: u8) -> Sheet {
    let style = dice.below(4);
    let mut above = i64::MIN;
    let mut rows = Vec::new();
    for (of, change) in night.iter().enumerate() {
        let minute = read(dice, change.at, precision, above);
        rows.push(Row { of, at: written(minute, style), is: change.stage });
        above = minute;
    }
    Sheet { precision, pass, shown: crate::phone::shown(night), rows }
}

/// A whole minute within the precision of a time in half minutes, later than the one above.
pub(crate) fn read(dice: &mut Dice, half_minutes: i64, precision: f64, above: i64) -> i64 {
    let within: Vec<i64> = (half_minutes / 2 - 6..=half_minutes / 2 + 7)
        .filter(|m| (m * 2 - half_minutes).abs() as f64 <= precision * 2.0 && *m > above)
        .collect();
    if within.is_empty() { above + 1 } else { dice.one(&within) }
}

/// A time of day in one of the ways in which people type it.
pub(crate) fn written(minutes: i64, style: usize) -> String {
    let text = clock(minutes);
    let (hour, minute) = text.split_once(':').unwrap();
    let hour: i64 = hour.parse().unwrap();
    match style {
        0 => text,
        1 => text.replace(':', "."),
        2 => text.replace(':', ""),
        _ => format!("{}:{minute} {}", (hour + 11) % 12 + 1, if hour < 12 { "am" } else { "pm" }),
    }
}

impl Sheet {
    /// The plain text, with or without the totals of the screen.
    pub(crate) fn text(&self, totals: bool) -> String {
        let mut out = format!(
            "line\tat\tis\nsheet\tform\tchanges 1\nhead\tunit\tring-x-1\nhead\tnight\t2026-04-04\nhead\tpass\t{}\nhead\tprecision\t{}\n",
            self.pass, self.precision
        );
        for (name, value) in self.shown.iter().filter(|_| totals) {
            out += &format!("shown\t{name}\t{value}\n");
        }
        for row in &self.rows {
            out += &format!("change\t{}\t{}\n", row.at, row.is);
        }
        out
    }

    /// The line of the plain text on which a row stands.
    pub(crate) fn line(&self, row: usize, totals: bool) -> u64 {
        (7 + row + if totals { self.shown.len() } else { 0 }) as u64
    }
}
