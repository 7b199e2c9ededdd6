//! One confusion matrix, normalised one way, with the way said in its title.
//!
//! The reference always stands in the rows. A dashed frame runs round what adds to 100 %: each row,
//! or each column. Minutes stand under every share, and the sums stand at the edges.

use super::{Drawn, Figure, drawn, stem};
use crate::ReportError;
use crate::draw::text::{width, wrap};
use crate::draw::{Anchor, Canvas, Frame, Ink, Look, Size, Theme, Type};
use crate::words::{self, Voices};
use counterpane_compare::{Agreement, Comparison};
use counterpane_model::{Scheme, Stage};

/// The kind of figure.
pub static FIGURE: Figure = Figure {
    name: "matrix",
    shows: "a confusion matrix, once with rows that add to 100 % and once with columns that do",
    draw,
};

/// What adds to 100 %.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Each row: sensitivity.
    Rows,
    /// Each column: positive predictive value.
    Columns,
}

/// The data of a matrix.
#[derive(Clone, Debug)]
pub struct Matrix {
    /// Starts the names inside the document; unique in a page.
    pub id: String,
    /// What is compared with what, and over which nights: the line under the title.
    pub about: String,
    /// Who speaks.
    pub voices: Voices,
    /// The classes.
    pub scheme: Scheme,
    /// Counts of epochs, the reference in rows; K x K for the K classes of the scheme.
    pub counts: Vec<Vec<u64>>,
    /// What adds to 100 %.
    pub direction: Direction,
}

impl Matrix {
    fn count(&self, row: usize, column: usize) -> u64 {
        self.counts.get(row).and_then(|r| r.get(column)).copied().unwrap_or(0)
    }

    fn row_sum(&self, row: usize) -> u64 {
        (0..self.classes().len()).map(|j| self.count(row, j)).sum()
    }

    fn column_sum(&self, column: usize) -> u64 {
        (0..self.classes().len()).map(|i| self.count(i, column)).sum()
    }

    fn classes(&self) -> &'static [Stage] {
        self.scheme.classes()
    }

    /// The number by which a cell is divided.
    fn whole(&self, row: usize, column: usize) -> u64 {
        match self.direction {
            Direction::Rows => self.row_sum(row),
            Direction::Columns => self.column_sum(column),
        }
    }

    fn title(&self) -> String {
        match self.direction {
            Direction::Rows => self.voices.rows_title(),
            Direction::Columns => self.voices.columns_title(),
        }
    }
}

struct Layout {
    left: f64,
    top: f64,
    cell: (f64, f64),
    k: usize,
    narrow: bool,
}

impl Layout {
    fn cell(&self, row: usize, column: usize) -> Frame {
        let (w, h) = self.cell;
        Frame { x: self.left + w * column as f64, y: self.top + h * row as f64, w, h }
    }

    fn small(&self) -> Type {
        Type::new(if self.narrow { 10.0 } else { 11.0 }).anchor(Anchor::Middle)
    }
}

/// Draws a matrix.
#[must_use]
pub fn matrix(data: &Matrix, size: Size, theme: Theme) -> String {
    // A matrix gains nothing by the width of a page: two of them stand side by side there.
    let page = size.width.min(450.0);
    let mut c = Canvas::new(&data.id, page, theme);
    // Titles take one to three lines; what is below them stands alike in all matrices of one size.
    let title = title(&mut c, data, page);
    c.shift((0.0, title));
    let top = about(&mut c, data, page);
    let k = data.classes().len();
    let (left, least) = if size.narrow { (58.0, 66.0) } else { (88.0, 80.0) };
    let right = widest_sum(data, size.narrow).max(least);
    let w = ((page - left - right) / k as f64).min(84.0);
    let layout = Layout { left, top: top + 36.0, cell: (w, 44.0), k, narrow: size.narrow };
    heads(&mut c, data, &layout);
    cells(&mut c, data, &layout);
    frames(&mut c, data, &layout);
    sums(&mut c, data, &layout);
    c.close();
    let height = title + layout.top + layout.cell.1 * k as f64 + 42.0;
    c.finish(height, &data.title(), &description(data, theme))
}

/// The room that the sums at the right edge need; the last of them is bold.
fn widest_sum(data: &Matrix, narrow: bool) -> f64 {
    let all = (0..data.classes().len()).map(|i| data.row_sum(i)).sum();
    let size = if narrow { 10.0 } else { 11.0 };
    width(&words::epochs(all), size) * 1.06 + 12.0
}

fn title(c: &mut Canvas, data: &Matrix, width: f64) -> f64 {
    let mut y = 4.0;
    let mut lines = Vec::new();
    for line in wrap(&data.title(), 15.0, width - 8.0) {
        y += 17.0;
        lines.push((4.0, y, line));
    }
    c.texts(&lines, &Type::new(14.0).bold());
    y
}

fn about(c: &mut Canvas, data: &Matrix, width: f64) -> f64 {
    let mut y = 0.0;
    let mut lines = Vec::new();
    for line in wrap(&data.about, 11.5, width - 8.0) {
        y += 16.0;
        lines.push((4.0, y, line));
    }
    c.texts(&lines, &Type::new(11.5).faint());
    y + 12.0
}

/// Names rows and columns, and says which side each of them is.
fn heads(c: &mut Canvas, data: &Matrix, at: &Layout) {
    let small = at.small().faint();
    let middle = at.left + at.cell.0 * at.k as f64 / 2.0;
    c.text((middle, at.top - 24.0), &format!("{} said", data.voices.other()), &small);
    let edge = at.left + at.cell.0 * at.k as f64;
    let mut words = vec![
        (edge + 6.0, at.top - 8.0, "in all".to_owned()),
        (4.0, at.top + at.cell.1 * at.k as f64 + 19.0, "in all".to_owned()),
    ];
    let side = format!("{} said", data.voices.reference().trim_start_matches("the "));
    for (index, line) in wrap(&side, small.size, at.left - 8.0).into_iter().enumerate() {
        words.push((4.0, at.top - 20.0 + 13.0 * index as f64, line));
    }
    c.texts(&words, &small.anchor(Anchor::Start));
    let (mut columns, mut rows) = (Vec::new(), Vec::new());
    let name = if at.narrow { Type::new(10.5).bold() } else { Type::new(12.0).bold() };
    for (i, class) in data.classes().iter().enumerate() {
        let cell = at.cell(i, i);
        let word = if at.narrow { short(*class) } else { words::class_head(*class) };
        columns.push((cell.x + cell.w / 2.0, at.top - 8.0, word.to_owned()));
        rows.push((4.0, cell.y + cell.h / 2.0 + 4.0, word.to_owned()));
    }
    c.texts(&columns, &name.anchor(Anchor::Middle));
    c.texts(&rows, &name);
}

fn short(class: Stage) -> &'static str {
    match class {
        Stage::N3 => "Deep",
        Stage::Nrem => "NREM",
        other => words::class_head(other),
    }
}

/// Draws every cell: grounds, shades, frames of the diagonal, shares, minutes.
fn cells(c: &mut Canvas, data: &Matrix, at: &Layout) {
    let all = (0..at.k).flat_map(|i| (0..at.k).map(move |j| (i, j)));
    let filled: Vec<(usize, usize)> = all.filter(|(i, j)| data.whole(*i, *j) > 0).collect();
    let inner = |i, j| {
        let Frame { x, y, w, h } = at.cell(i, j);
        Frame { x: x + 2.0, y: y + 2.0, w: w - 4.0, h: h - 4.0 }
    };
    let frames: Vec<Frame> = filled.iter().map(|(i, j)| inner(*i, *j)).collect();
    c.rects(&frames, &Look::fill(Ink::Ground));
    for (i, j) in &filled {
        let (count, whole) = (data.count(*i, *j), data.whole(*i, *j));
        if count > 0 {
            let opacity = Some(0.06 + 0.44 * count as f64 / whole as f64);
            c.rects(&[inner(*i, *j)], &Look { opacity, ..Look::fill(Ink::Shade) });
        }
    }
    let diagonal: Vec<Frame> = filled.iter().filter(|(i, j)| i == j).map(|(i, j)| inner(*i, *j)).collect();
    c.rects(&diagonal, &Look::stroke(Ink::Text, 1.25));
    let share = |(i, j): &(usize, usize)| {
        let cell = at.cell(*i, *j);
        (cell.x + cell.w / 2.0, cell.y + 20.0, words::short_percent(data.count(*i, *j), data.whole(*i, *j)))
    };
    let type_ = Type::new(if at.narrow { 12.0 } else { 13.0 }).anchor(Anchor::Middle);
    let (on, off): (Vec<_>, Vec<_>) = filled.iter().partition(|(i, j)| i == j);
    c.texts(&off.iter().map(share).collect::<Vec<_>>(), &type_);
    c.texts(&on.iter().map(share).collect::<Vec<_>>(), &type_.bold());
    let minute = |(i, j): &(usize, usize)| {
        let cell = at.cell(*i, *j);
        (cell.x + cell.w / 2.0, cell.y + 34.0, minutes(data.count(*i, *j), at.narrow))
    };
    c.texts(&filled.iter().map(minute).collect::<Vec<_>>(), &at.small().faint());
}

/// On a telephone the unit stands at the sums only.
fn minutes(count: u64, narrow: bool) -> String {
    let text = words::epochs(count);
    if narrow { text.trim_end_matches(" min").to_owned() } else { text }
}

/// Draws the frames round what adds to 100 %, and says where there is nothing in one.
fn frames(c: &mut Canvas, data: &Matrix, at: &Layout) {
    let frame = |i: usize| {
        let (first, last) = match data.direction {
            Direction::Rows => (at.cell(i, 0), at.cell(i, at.k - 1)),
            Direction::Columns => (at.cell(0, i), at.cell(at.k - 1, i)),
        };
        Frame { x: first.x, y: first.y, w: last.x + last.w - first.x, h: last.y + last.h - first.y }
    };
    let all: Vec<Frame> = (0..at.k).map(frame).collect();
    c.outlines(&all, 5.0, &Look::stroke(Ink::Line, 1.0).dashed("4 3"));
    for (i, frame) in all.iter().enumerate() {
        if data.whole(i, i) == 0 {
            nothing(c, data, *frame);
        }
    }
}

/// Says why there is nothing in a frame.
fn nothing(c: &mut Canvas, data: &Matrix, all: Frame) {
    let words = match data.direction {
        Direction::Rows => "stage not present".to_owned(),
        Direction::Columns => format!("{} never said this", data.voices.other().trim_start_matches("the ")),
    };
    let lines = wrap(&words, 11.0, all.w - 8.0);
    let first = all.y + all.h / 2.0 - 7.0 * (lines.len() as f64 - 1.0) + 4.0;
    for (index, line) in lines.iter().enumerate() {
        let y = first + 14.0 * index as f64;
        c.text((all.x + all.w / 2.0, y), line, &Type::new(11.0).faint().anchor(Anchor::Middle));
    }
}

fn sums(c: &mut Canvas, data: &Matrix, at: &Layout) {
    let edge = at.left + at.cell.0 * at.k as f64 + 6.0;
    let below = at.top + at.cell.1 * at.k as f64 + 19.0;
    let row = |i: usize| {
        let cell = at.cell(i, i);
        (edge, cell.y + cell.h / 2.0 + 4.0, words::epochs(data.row_sum(i)))
    };
    let column = |i: usize| {
        let cell = at.cell(i, i);
        (cell.x + cell.w / 2.0, below, minutes(data.column_sum(i), at.narrow))
    };
    let small = at.small();
    c.texts(&(0..at.k).map(row).collect::<Vec<_>>(), &small.anchor(Anchor::Start));
    c.texts(&(0..at.k).map(column).collect::<Vec<_>>(), &small);
    let all = (0..at.k).map(|i| data.row_sum(i)).sum();
    c.text((edge, below), &words::epochs(all), &small.anchor(Anchor::Start).bold());
}

/// In a page a list below each pair of matrices says every sentence.
fn description(data: &Matrix, theme: Theme) -> String {
    if theme == Theme::Page {
        return format!("{}. The same stands in sentences below.", data.about);
    }
    let sentence = |i: usize, class: Stage| match data.direction {
        Direction::Rows => data.voices.row_sentence(class, data.count(i, i), data.row_sum(i)),
        Direction::Columns => data.voices.column_sentence(class, data.count(i, i), data.column_sum(i)),
    };
    let all: Vec<String> = data.classes().iter().enumerate().map(|(i, class)| sentence(i, *class)).collect();
    format!("{} {}", data.about, all.join(" "))
}

/// Returns the matrix of an agreement, normalised one way.
#[must_use]
pub fn of(agreement: &Agreement, voices: Voices, about: &str, direction: Direction, id: &str) -> Matrix {
    Matrix {
        id: id.to_owned(),
        about: about.to_owned(),
        voices,
        scheme: agreement.scheme,
        counts: agreement.matrix.clone(),
        direction,
    }
}

fn draw(comparison: &Comparison, size: Size, theme: Theme) -> Result<Vec<Drawn>, ReportError> {
    let mut out = Vec::new();
    let mut both = |agreement: &Agreement, voices: Voices, about: &str, parts: &[&str]| {
        for (direction, word) in [(Direction::Rows, "rows"), (Direction::Columns, "columns")] {
            let name = stem(&[&["matrix"], parts, &[word]].concat());
            out.push((name, matrix(&of(agreement, voices, about, direction, "matrix"), size, theme)));
        }
    };
    for night in &comparison.nights {
        for device in &night.devices {
            if let Some(agreement) = &device.agreement {
                let name = words::name_on(night, device);
                let about = words::matrix_about(&name, &words::night_name(night), agreement.n);
                let voices = Voices::of(night, &device.source);
                both(agreement, voices, &about, &[&night.participant, &night.night, &name]);
            }
        }
    }
    for device in &comparison.devices {
        if let Some(agreement) = &device.pooled {
            let about = words::matrix_about(&device.name, &words::over(device), agreement.n);
            both(agreement, words::voices_of_device(comparison, &device.name), &about, &["all-nights", &device.name]);
        }
    }
    Ok(drawn(out))
}
