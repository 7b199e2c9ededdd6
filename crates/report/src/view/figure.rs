//! A figure in the page: drawn once for wide and once for narrow screens; the style shows one.

use crate::draw::text::script_json;
use crate::draw::{Size, Theme};
use crate::figures::hypnogram::{Hypnogram, hypnogram};
use crate::{ReportError, words};
use askama::Template;
use counterpane_model::{Cell, EPOCH_MS, Instant};
use serde::Serialize;
use std::collections::BTreeMap;

/// A figure without a pointer.
#[derive(Debug, Template)]
#[template(path = "figure.html")]
pub(crate) struct Figure {
    wide: String,
    narrow: String,
}

impl Figure {
    /// Draws a figure in both sizes; `draw` gets the name that its parts start with.
    pub(crate) fn new(id: &str, draw: impl Fn(&str, Size) -> String) -> Figure {
        Figure { wide: draw(&format!("{id}-w"), Size::WIDE), narrow: draw(&format!("{id}-n"), Size::NARROW) }
    }

    /// Draws a figure once, in a size that every screen has room for; the style lets it grow.
    pub(crate) fn one(id: &str, draw: impl Fn(&str, Size) -> String) -> Figure {
        Figure { wide: draw(id, Size { width: 360.0, narrow: true }), narrow: String::new() }
    }
}

/// Hypnograms with a pointer that reads out every source.
#[derive(Debug, Template)]
#[template(path = "sheet.html")]
pub(crate) struct Sheet {
    id: String,
    name: String,
    last: usize,
    wide: Side,
    narrow: Side,
    sources: Vec<String>,
    data: String,
}

#[derive(Debug)]
struct Side {
    svg: String,
    width: f64,
    from: f64,
    to: f64,
}

/// Returns runs of letters, a number before each that is longer than one: `57W 203 L` is W 57 times, 3 20 times, L once.
fn runs(letters: &[char]) -> String {
    let runs = letters.chunk_by(|a, b| a == b).map(|run| match run {
        [letter] => letter.to_string(),
        [letter, ..] => format!("{}{letter}", run.len()),
        [] => String::new(),
    });
    runs.collect::<Vec<_>>().join(" ")
}

/// What the script reads. Times are local by arithmetic on offsets: the reader's own zone must never
/// enter, and a browser knows no other rules than its own.
#[derive(Serialize)]
struct Data<'a> {
    start: i64,
    epoch: i64,
    n: usize,
    offsets: Vec<(i64, i32)>,
    rows: Vec<String>,
    words: BTreeMap<char, &'a str>,
}

impl Sheet {
    /// Draws the hypnograms of a night in both sizes.
    pub(crate) fn new(data: &Hypnogram) -> Result<Sheet, ReportError> {
        let side = |suffix: &str, size: Size| {
            let data = Hypnogram { id: format!("{}-{suffix}", data.id), ..data.clone() };
            let (from, to) = data.epochs_between(size);
            Side { svg: hypnogram(&data, size, Theme::Page), width: size.width, from, to }
        };
        let n = data.n_epochs();
        Ok(Sheet {
            id: data.id.clone(),
            name: crate::draw::text::clean(&data.title),
            last: n.saturating_sub(1),
            wide: side("w", Size::WIDE),
            narrow: side("n", Size::NARROW),
            sources: data.rows.iter().map(|r| crate::draw::text::clean(&r.label)).collect(),
            data: script_json(&serde_json::to_string(&readout(data, n))?),
        })
    }
}

fn readout(data: &Hypnogram, n: usize) -> Data<'static> {
    let end = Instant(data.start.0 + i64::try_from(n).unwrap_or(0) * EPOCH_MS);
    let letters = |cells: &[Cell]| {
        let all = cells.iter().copied().chain(std::iter::repeat(Cell::Missing)).take(n);
        runs(&all.map(Cell::letter).collect::<Vec<char>>())
    };
    Data {
        start: data.start.0,
        epoch: EPOCH_MS,
        n,
        offsets: data.zone.stretches(data.start, end).iter().map(|s| (s.from.0, s.offset_seconds)).collect(),
        rows: data.rows.iter().map(|r| letters(&r.cells)).collect(),
        words: Cell::all().into_iter().map(|c| (c.letter(), words::cell(c))).collect(),
    }
}
