//! Sources that a person read off a picture: what the precision of the reading leaves open.

use super::table::{Cell, Row, Table};
use crate::draw::text::clean;
use crate::words::{self, reading as said};
use askama::Template;
use counterpane_compare::{Comparison, Inference, Reading};

/// The section.
#[derive(Debug, Template)]
#[template(path = "reading.html")]
pub(crate) struct Readings {
    meaning: String,
    means: Vec<String>,
    nights: Vec<(String, Table)>,
}

impl Readings {
    /// Returns the view of the section; `None` where nothing was read off a picture.
    pub(crate) fn new(comparison: &Comparison, inference: &Inference) -> Option<Readings> {
        if inference.readings.is_empty() {
            return None;
        }
        let night = |(i, reading): (usize, &Reading)| {
            let of = comparison.nights.iter().find(|n| n.reference_key == reading.reference_key)?;
            let head = format!("{}: {}", words::night_name(of), said::precision(reading));
            Some((clean(&head), table(reading, &head, format!("reading-{}", i + 1))))
        };
        Some(Readings {
            meaning: clean(said::MEANING),
            means: inference.means_read.iter().map(|m| clean(&said::means(m))).collect(),
            nights: inference.readings.iter().enumerate().filter_map(night).collect(),
        })
    }
}

fn table(reading: &Reading, caption: &str, id: String) -> Table {
    let note =
        format!("{} redraws. Between the two ends lie 95 % of those in which the number is defined.", reading.redraws);
    let mut table = Table::new(id, caption, &note, &["Number", "As read", "Moved within the precision"]).stacked();
    for spread in &reading.spreads {
        let under = match spread.undefined {
            0 => String::new(),
            n => format!("undefined in {}", words::count(n as usize, "redraw")),
        };
        let cells = vec![
            Cell::number(&said::value(spread.of, spread.value), ""),
            Cell::brief_under(&said::between(spread.of, spread.within.0, spread.within.1), &under),
        ];
        table.row(Row::new(&said::name(spread.of), "", cells));
    }
    table
}
