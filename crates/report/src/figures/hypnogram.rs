//! All sources of a night under each other on one axis of local time.
//!
//! A night is pieced from patches. Every source has the same five lanes: W on top, then R, N1, N2,
//! N3. A finely scored stage fills one lane; a coarse word fills all lanes that it may mean, so
//! `Light` is two lanes tall, `NREM` three and `Asleep` four: a coarse source looks coarse. What is
//! unscored is densely cross-hatched over all lanes, what is off is dotted, and what is missing is an empty frame.
//! What the reviewer left out is seen through a veil of wide bars in a heavy frame: it was said, and does not count.

use super::{Drawn, Figure, drawn, stem};
use crate::ReportError;
use crate::draw::text::{fit, number, width};
use crate::draw::time::{Tick, offset_text, ticks};
use crate::draw::{Anchor, Canvas, Frame, Ink, Linear, Look, Size, Theme, Type};
use crate::words;
use counterpane_compare::{Comparison, NightComparison};
use counterpane_model::{Cell, EPOCH_MS, Instant, Stage, Zone};
use std::ops::Range;

/// The kind of figure.
pub static FIGURE: Figure =
    Figure { name: "hypnogram", shows: "all sources of a night on one axis of local time, the reference on top", draw };

/// What one source says of a night.
#[derive(Clone, Debug)]
pub struct Row {
    /// Name of the source.
    pub label: String,
    /// A few words beside the name.
    pub under: String,
    /// What it says of each epoch from the start of the hypnogram.
    pub cells: Vec<Cell>,
    /// Stretches that do not count, because the reviewer left them out.
    pub excluded: Vec<(Instant, Instant)>,
}

/// Something that happened.
#[derive(Clone, Debug)]
pub struct Marker {
    /// Number by which a list beside the figure tells what it was; `L` for lights.
    pub number: String,
    /// When it happened.
    pub at: Instant,
    /// When it ended, if that is known.
    pub until: Option<Instant>,
    /// How finely the time is known, in milliseconds either way.
    pub precision_ms: i64,
    /// What it was.
    pub text: String,
}

/// The data of a hypnogram.
#[derive(Clone, Debug)]
pub struct Hypnogram {
    /// Starts the names inside the document; unique in a page.
    pub id: String,
    /// Title for those who cannot see it.
    pub title: String,
    /// Start of the first epoch.
    pub start: Instant,
    /// The zone of the axis.
    pub zone: Zone,
    /// The sources, the reference first.
    pub rows: Vec<Row>,
    /// Lights off and on, where known.
    pub lights: (Option<Instant>, Option<Instant>),
    /// What happened; those outside the axis are not drawn.
    pub markers: Vec<Marker>,
}

impl Hypnogram {
    /// Returns the number of epochs: that of the longest row.
    #[must_use]
    pub fn n_epochs(&self) -> usize {
        self.rows.iter().map(|r| r.cells.len()).max().unwrap_or(0)
    }

    /// Returns the horizontal places of the start of the first epoch and the end of the last.
    #[must_use]
    pub fn epochs_between(&self, size: Size) -> (f64, f64) {
        let scale = self.scale(size);
        (scale.x(self.start), scale.x(self.end()))
    }

    fn end(&self) -> Instant {
        Instant(self.start.0 + i64::try_from(self.n_epochs()).unwrap_or(0) * EPOCH_MS)
    }

    /// Lights within an hour of the epochs widen the axis, so that they can be seen.
    fn scale(&self, size: Size) -> TimeScale {
        let hour = 3_600_000;
        let off = self.lights.0.filter(|t| *t < self.start && self.start.ms_since(*t) <= hour);
        let on = self.lights.1.filter(|t| *t > self.end() && t.ms_since(self.end()) <= hour);
        let (from, until) = (off.unwrap_or(self.start), on.unwrap_or(self.end()));
        let domain = (0.0, until.ms_since(from) as f64);
        TimeScale { from, until, scale: Linear::new(domain, (GUTTER, size.width - RIGHT)) }
    }
}

const GUTTER: f64 = 40.0;
const RIGHT: f64 = 10.0;
const HEAD: f64 = 22.0;
const TOP: f64 = 40.0;

/// Where the plots of the sources stand. What crosses all sources is drawn plot by plot, so that no
/// line runs through a name.
struct Rows {
    n: usize,
    pitch: f64,
    height: f64,
}

impl Rows {
    fn plots(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        (0..self.n).map(|i| TOP + self.pitch * i as f64 + HEAD).map(|top| (top, top + self.height))
    }

    fn upright(&self, c: &mut Canvas, x: f64, look: &Look) {
        let mut path = String::new();
        for (top, bottom) in self.plots() {
            path.push_str(&format!("M{} {}V{}", number(x), number(top), number(bottom)));
        }
        if self.n > 0 {
            c.path(&path, look);
        }
    }
}

struct TimeScale {
    from: Instant,
    until: Instant,
    scale: Linear,
}

impl TimeScale {
    fn x(&self, at: Instant) -> f64 {
        self.scale.at(at.ms_since(self.from) as f64)
    }

    fn holds(&self, at: Instant) -> bool {
        (self.from..=self.until).contains(&at)
    }
}

/// Draws a hypnogram.
#[must_use]
pub fn hypnogram(data: &Hypnogram, size: Size, theme: Theme) -> String {
    let mut canvas = Canvas::new(&data.id, size.width, theme);
    let time = data.scale(size);
    let lane = if size.narrow { 9.0 } else { 11.0 };
    let pitch = HEAD + 5.0 * lane + 8.0;
    let bottom = TOP + pitch * data.rows.len() as f64;
    patterns(&mut canvas);
    let rows = Rows { n: data.rows.len(), pitch, height: 5.0 * lane };
    hours(&mut canvas, data, &time, size, bottom);
    for (index, row) in data.rows.iter().enumerate() {
        source(&mut canvas, data, row, &time, TOP + pitch * index as f64, lane, size);
    }
    changes(&mut canvas, data, &time, &rows);
    happenings(&mut canvas, data, &time, &rows);
    canvas.finish(bottom + 50.0, &data.title, &description(data))
}

fn patterns(canvas: &mut Canvas) {
    canvas.pattern("n1", 5.0, Some(Ink::Light), "M1.5 1.5h.1M4 4h.1", Ink::Seam);
    canvas.pattern("n3", 6.0, Some(Ink::Deep), "M0 6L6 0M-1 1L1 -1M5 7L7 5", Ink::Ground);
    canvas.pattern("r", 5.0, Some(Ink::Rem), "M2.5 0V5", Ink::Ground);
    canvas.pattern("nrem", 6.0, Some(Ink::Nrem), "M0 3H6", Ink::Ground);
    canvas.pattern("unscored", 4.0, Some(Ink::Ground), "M0 0L4 4M0 4L4 0", Ink::Hatch);
    canvas.pattern(LEFT_OUT, 9.0, None, "M0 0L9 9M-2 7L2 11M7 -2L11 2", Ink::Text);
    canvas.pattern("off", 6.0, Some(Ink::Ground), "M2 2h1v1h-1zM5 5h1v1h-1z", Ink::Hatch);
}

/// Draws the lines and labels of the hours, and each change of the clock.
fn hours(canvas: &mut Canvas, data: &Hypnogram, time: &TimeScale, size: Size, bottom: f64) {
    let per_hour = time.scale.at(3_600_000.0) - time.scale.at(0.0);
    let step = [1, 2, 3, 4, 6, 12].into_iter().find(|s| per_hour * f64::from(*s) >= 44.0).unwrap_or(24);
    let all = ticks(&data.zone, time.from, time.until, i64::from(step));
    let type_ = Type::new(11.0).anchor(Anchor::Middle);
    let mut free = f64::MIN;
    for tick in &all {
        if let Tick::Hour { at, text } = tick {
            let x = time.x(*at);
            canvas.line((x, bottom - 5.0), (x, bottom + 2.0), &Look::stroke(Ink::Line, 1.0));
            // Around a change two whole hours can be half an hour apart.
            if x - 17.0 >= free {
                let held = x.clamp(GUTTER - 24.0, size.width - 17.0);
                canvas.text((held, bottom + 16.0), text, &type_);
                free = x + 19.0;
            }
        }
    }
    offsets(canvas, data, time, &all, size, bottom);
}

fn offsets(canvas: &mut Canvas, data: &Hypnogram, time: &TimeScale, all: &[Tick], size: Size, bottom: f64) {
    let small = Type::new(10.0).faint();
    let first = format!("UTC{}", offset_text(data.zone.offset_at(time.from)));
    let mut changed = false;
    for tick in all {
        if let Tick::Change { at, before, after } = tick {
            changed = true;
            let x = time.x(*at);
            canvas.line((x, bottom - 6.0), (x, bottom + 34.0), &Look::stroke(Ink::Note, 1.5).dashed("6 3"));
            let note = Type { ink: Ink::Note, ..small };
            canvas.text((x - 5.0, bottom + 32.0), &format!("UTC{before}"), &note.anchor(Anchor::End));
            canvas.text((x + 5.0, bottom + 32.0), &format!("UTC{after}"), &note);
        }
    }
    let words = if changed {
        "the clock changes at the dashed line".to_owned()
    } else {
        format!("{}, {first}", data.zone.name())
    };
    let at = if changed { (size.width - RIGHT, bottom + 44.0) } else { (size.width - RIGHT, bottom + 32.0) };
    let room = size.width - GUTTER - RIGHT;
    canvas.text(at, &fit(&words, 10.0, room), &small.anchor(Anchor::End));
}

/// Draws the changes of the clock over the plots.
fn changes(c: &mut Canvas, data: &Hypnogram, time: &TimeScale, rows: &Rows) {
    for tick in ticks(&data.zone, time.from, time.until, 24) {
        if let Tick::Change { at, .. } = tick {
            rows.upright(c, time.x(at), &Look::stroke(Ink::Note, 1.5).dashed("6 3"));
        }
    }
}

/// Draws one source: its name, its lanes, its patches. Every source is drawn from the same height on, so that what
/// all have in common is the same.
fn source(c: &mut Canvas, data: &Hypnogram, row: &Row, time: &TimeScale, top: f64, lane: f64, size: Size) {
    c.open(&row.label);
    c.shift((0.0, top));
    let room = size.width - GUTTER - RIGHT;
    let name = fit(&row.label, 13.0, room * if size.narrow { 0.62 } else { 0.4 });
    let after = GUTTER + width(&name, 13.0) * 1.12 + 12.0;
    c.text((GUTTER, 15.0), &name, &Type::new(13.0).bold());
    let type_ = Type::new(if size.narrow { 10.0 } else { 11.0 }).faint();
    c.text((after, 15.0), &beside(&row.under, type_.size, size.width - RIGHT - after), &type_);
    let (x0, x1) = (time.x(data.start), time.x(data.end()));
    c.rect(Frame { x: x0, y: HEAD, w: x1 - x0, h: 5.0 * lane }, &Look::fill(Ink::Ground));
    net(c, data, time, (x0, x1), HEAD, lane);
    lane_names(c, &row.cells, HEAD, lane);
    let runs = runs(&row.cells, data.n_epochs());
    let at = |epoch: usize| time.x(Instant(data.start.0 + i64::try_from(epoch).unwrap_or(0) * EPOCH_MS));
    stitches(c, &runs, &at, HEAD, lane);
    let cut = |(from, until): &(Instant, Instant)| (time.x((*from).max(data.start)), time.x((*until).min(data.end())));
    let frames = row.excluded.iter().map(cut).filter(|(a, b)| a < b);
    let frames: Vec<Frame> = frames.map(|(a, b)| Frame { x: a, y: HEAD, w: b - a, h: 5.0 * lane }).collect();
    // A word that a frame would cut is not written.
    let middle = |p: &Frame| p.x + p.w / 2.0;
    let whole = |p: &Frame| frames.iter().all(|f| (middle(p) - f.x - f.w / 2.0).abs() > f.w / 2.0 + 30.0);
    for kind in Cell::all() {
        let mut patches = patches(kind, &runs, &at, HEAD, lane);
        c.rects(&patches, &look(kind));
        if kind.stage().is_none_or(|s| hidden(s, &row.cells)) {
            patches.retain(whole);
            word_on(c, kind.code(), &patches);
        }
    }
    left_out(c, &frames);
    word_on(c, "left out", &frames);
    c.close();
    c.close();
}

/// The words beside a name; where they find no room, first without what stands in brackets.
fn beside(under: &str, size: f64, room: f64) -> String {
    let bare = under.split(" (").next().unwrap_or(under);
    fit(if width(under, size) > room { bare } else { under }, size, room)
}

/// Draws the lines between lanes and those of the hours.
fn net(c: &mut Canvas, data: &Hypnogram, time: &TimeScale, (x0, x1): (f64, f64), plot: f64, lane: f64) {
    let mut path = String::new();
    for i in 0..=5 {
        path.push_str(&format!("M{} {}H{}", number(x0), number(plot + lane * f64::from(i)), number(x1)));
    }
    for tick in ticks(&data.zone, time.from, time.until, 1) {
        if let Tick::Hour { at, .. } = tick {
            path.push_str(&format!("M{} {}v{}", number(time.x(at)), number(plot), number(5.0 * lane)));
        }
    }
    c.path(&path, &Look::stroke(Ink::Grid, 0.9));
}

/// Names the lanes in the source's own words: only what it used.
fn lane_names(c: &mut Canvas, cells: &[Cell], plot: f64, lane: f64) {
    let type_ = Type::new((lane - 1.0).min(10.0)).faint().anchor(Anchor::End);
    let shown = Stage::ALL.into_iter().filter(|s| cells.contains(&Cell::Stage(*s)) && !hidden(*s, cells));
    let name = |stage: Stage| {
        let lanes = lanes(stage);
        let middle = plot + lane * (lanes.start + lanes.end) as f64 / 2.0;
        (GUTTER - 5.0, middle + type_.size * 0.36, stage.code().to_owned())
    };
    c.texts(&shown.map(name).collect::<Vec<_>>(), &type_);
}

/// Coarse and fine words of one source would be written over each other beside the lanes: the fine
/// ones stay there, and the coarse ones stand on their patches.
fn hidden(stage: Stage, cells: &[Cell]) -> bool {
    Stage::ALL.iter().any(|s| *s != stage && cells.contains(&Cell::Stage(*s)) && covers(stage, *s))
}

fn covers(coarse: Stage, fine: Stage) -> bool {
    lanes(coarse).start <= lanes(fine).start && lanes(fine).end <= lanes(coarse).end
}

/// The lanes that a stage may mean, counted from the top.
fn lanes(stage: Stage) -> Range<usize> {
    match stage {
        Stage::W => 0..1,
        Stage::R => 1..2,
        Stage::N1 => 2..3,
        Stage::N2 => 3..4,
        Stage::N3 => 4..5,
        Stage::Light => 2..4,
        Stage::Nrem => 2..5,
        Stage::Asleep => 1..5,
    }
}

/// Runs of equal cells; epochs after the last cell are missing.
fn runs(cells: &[Cell], n: usize) -> Vec<(Range<usize>, Cell)> {
    let mut out: Vec<(Range<usize>, Cell)> = Vec::new();
    for epoch in 0..n {
        let cell = cells.get(epoch).copied().unwrap_or(Cell::Missing);
        match out.last_mut() {
            Some((range, last)) if *last == cell => range.end = epoch + 1,
            _ => out.push((epoch..epoch + 1, cell)),
        }
    }
    out
}

/// Joins the patches of neighbouring stages by thin upright lines, so that the eye can follow.
fn stitches(c: &mut Canvas, runs: &[(Range<usize>, Cell)], at: &dyn Fn(usize) -> f64, plot: f64, lane: f64) {
    let mut path = String::new();
    for pair in runs.windows(2) {
        let [(_, before), (range, after)] = pair else { continue };
        if let (Some(a), Some(b)) = (before.stage(), after.stage()) {
            let (a, b) = (lanes(a), lanes(b));
            let (from, to) = (a.end.min(b.end), a.start.max(b.start));
            if from < to {
                let (y1, y2) = (plot + lane * from as f64, plot + lane * to as f64);
                // On tenths, as the edges of the patches are.
                let x = (at(range.start) * 10.0).round() / 10.0;
                path.push_str(&format!("M{} {}V{}", number(x), number(y1), number(y2)));
            }
        }
    }
    if !path.is_empty() {
        c.path(&path, &Look::stroke(Ink::Line, 0.9));
    }
}

/// The patches of one kind.
fn patches(kind: Cell, runs: &[(Range<usize>, Cell)], at: &dyn Fn(usize) -> f64, plot: f64, lane: f64) -> Vec<Frame> {
    let lanes = kind.stage().map_or(0..5, lanes);
    let (y, h) = (plot + lane * lanes.start as f64, lane * lanes.len() as f64);
    let own = runs.iter().filter(|(_, cell)| *cell == kind);
    own.map(|(r, _)| Frame { x: at(r.start), y, w: at(r.end) - at(r.start), h }).collect()
}

/// Writes a word on those patches that have room for it.
fn word_on(c: &mut Canvas, word: &str, patches: &[Frame]) {
    let type_ = Type::new(10.0).anchor(Anchor::Middle);
    let room = width(word, type_.size) + 8.0;
    for f in patches.iter().filter(|f| f.w > room + 4.0) {
        let (x, y) = (f.x + f.w / 2.0, f.y + f.h / 2.0);
        let behind = Frame { x: x - room / 2.0, y: y - 7.0, w: room, h: 14.0 };
        c.rect(behind, &Look { round: 3.0, ..Look::fill(Ink::Paper) });
        c.text((x, y + 3.5), word, &type_);
    }
}

fn look(kind: Cell) -> Look {
    let sewn = Look { stroke: Some((Ink::Seam, 0.5)), ..Look::default() };
    match kind {
        Cell::Stage(Stage::W) => Look { fill: Some(Ink::Wake), ..sewn },
        Cell::Stage(Stage::N1) => Look { pattern: Some("n1"), ..sewn },
        Cell::Stage(Stage::N2 | Stage::Light) => Look { fill: Some(Ink::Light), ..sewn },
        Cell::Stage(Stage::N3) => Look { pattern: Some("n3"), ..sewn },
        Cell::Stage(Stage::R) => Look { pattern: Some("r"), ..sewn },
        Cell::Stage(Stage::Nrem) => Look { pattern: Some("nrem"), ..sewn },
        Cell::Stage(Stage::Asleep) => Look { fill: Some(Ink::Asleep), ..sewn },
        Cell::Unscored => Look { pattern: Some("unscored"), stroke: Some((Ink::Hatch, 0.75)), ..Look::default() },
        Cell::Off => Look { pattern: Some("off"), stroke: Some((Ink::Hatch, 0.75)), ..Look::default() },
        Cell::Missing => {
            Look { fill: Some(Ink::Paper), stroke: Some((Ink::Line, 0.75)), ..Look::default() }.dashed("3 3")
        }
    }
}

/// The pattern over what does not count.
const LEFT_OUT: &str = "left-out";

/// Veils stretches that do not count: what was said of them stays to be seen.
fn left_out(c: &mut Canvas, frames: &[Frame]) {
    c.rects(frames, &Look { opacity: Some(0.55), ..Look::fill(Ink::Paper) });
    c.rects(frames, &Look { pattern: Some(LEFT_OUT), stroke: Some((Ink::Text, 1.75)), ..Look::default() });
}

/// Returns what a patch looks like and means, in words that do without the colour too.
fn key_words(kind: Cell) -> &'static str {
    match kind {
        Cell::Stage(Stage::W) => "Orange, in the top lane: wake",
        Cell::Stage(Stage::R) => "Pink with upright stripes: REM",
        Cell::Stage(Stage::N1) => "Light blue with dots: N1",
        Cell::Stage(Stage::N2) => "Plain light blue: N2",
        Cell::Stage(Stage::N3) => "Blue with diagonal stripes: N3",
        Cell::Stage(Stage::Light) => "Plain light blue, two lanes: light, N1 or N2",
        Cell::Stage(Stage::Nrem) => "Green with level stripes, three lanes: N1, N2 or N3",
        Cell::Stage(Stage::Asleep) => "Plain grey, four lanes: asleep in any stage",
        Cell::Unscored => "Grey cross-hatching: looked at and not scored",
        Cell::Off => "Dotted: off the body",
        Cell::Missing => "Empty dashed frame: the source says nothing",
    }
}

/// Draws the key of the patches that a hypnogram uses, each as it is drawn there with its meaning.
#[must_use]
pub fn key(data: &Hypnogram, size: Size, theme: Theme) -> String {
    let n = data.n_epochs();
    let used =
        |kind: &Cell| data.rows.iter().any(|r| r.cells.contains(kind) || (*kind == Cell::Missing && r.cells.len() < n));
    let kinds: Vec<Cell> = Cell::all().into_iter().filter(used).collect();
    let mut c = Canvas::new(&data.id, size.width, theme);
    patterns(&mut c);
    let type_ = Type::new(12.0);
    let columns = if size.narrow { 1 } else { 2 };
    let any_left_out = data.rows.iter().any(|r| !r.excluded.is_empty());
    let kinds = kinds.into_iter().map(Some).chain(any_left_out.then_some(None)).collect::<Vec<_>>();
    let lines = kinds.len().div_ceil(columns).max(1);
    let mut words = Vec::new();
    for (index, kind) in kinds.iter().enumerate() {
        let (x, y) = (4.0 + size.width / 2.0 * (index / lines) as f64, 3.0 + 22.0 * (index % lines) as f64);
        let frame = Frame { x, y, w: 34.0, h: 16.0 };
        match kind {
            Some(kind) => c.rect(frame, &look(*kind)),
            None => left_out(&mut c, &[frame]),
        }
        let meaning = kind.map_or("Bars in a heavy frame: left out on purpose", key_words);
        c.text((x + 44.0, y + 12.5), meaning, &type_);
        words.push(meaning);
    }
    c.finish(22.0 * lines as f64 + 4.0, "Key to the patches", &format!("{}.", words.join(". ")))
}

/// Draws lights and notes over all sources, their numbers on top.
fn happenings(c: &mut Canvas, data: &Hypnogram, time: &TimeScale, rows: &Rows) {
    for (at, word, anchor) in [(data.lights.0, "lights off", Anchor::Start), (data.lights.1, "lights on", Anchor::End)]
    {
        if let Some(at) = at.filter(|t| time.holds(*t)) {
            let x = time.x(at);
            c.open(&format!("{word} {}", data.zone.clock_of(at)));
            rows.upright(c, x, &Look::stroke(Ink::Text, 1.75));
            c.rect(Frame { x: x - 3.0, y: 5.0, w: 6.0, h: 6.0 }, &Look::fill(Ink::Text));
            let beside = if anchor == Anchor::Start { x + 7.0 } else { x - 7.0 };
            c.text((beside, 12.0), word, &Type::new(10.0).anchor(anchor));
            c.close();
        }
    }
    let mut free = f64::MIN;
    let mut high = false;
    for marker in data.markers.iter().filter(|m| time.holds(m.at)) {
        let x = time.x(marker.at);
        // Numbers that would touch stand in turn on two lines.
        high = x < free && !high;
        free = x + 17.0;
        note(c, data, marker, time, rows, if high { TOP - 26.0 } else { TOP - 9.0 });
    }
}

fn note(c: &mut Canvas, data: &Hypnogram, marker: &Marker, time: &TimeScale, rows: &Rows, y: f64) {
    let x = time.x(marker.at);
    c.open(&format!("{} {}", data.zone.clock_of(marker.at), marker.text));
    let until = marker.until.map_or(x, |t| time.x(t.min(time.until)));
    let blur = time.scale.at(marker.precision_ms as f64) - time.scale.at(0.0);
    let (left, right) = ((x - blur).max(GUTTER), (until + blur).min(time.x(time.until)));
    if right - left > 1.5 {
        let band = |(top, bottom): (f64, f64)| Frame { x: left, y: top, w: right - left, h: bottom - top };
        let bands: Vec<Frame> = rows.plots().map(band).collect();
        c.rects(&bands, &Look { opacity: Some(0.2), ..Look::fill(Ink::Note) });
    }
    rows.upright(c, x, &Look::stroke(Ink::Note, 1.25).dashed("2 3"));
    c.circle((x, y), 7.5, &Look { stroke: Some((Ink::Note, 1.25)), ..Look::fill(Ink::Paper) });
    let type_ = Type { ink: Ink::Note, ..Type::new(10.0).bold().anchor(Anchor::Middle) };
    c.text((x, y + 3.5), &marker.number, &type_);
    c.close();
}

/// Says in words what a reader of the picture sees first.
fn description(data: &Hypnogram) -> String {
    let from = data.zone.clock_of(data.start);
    let until = data.zone.clock_of(data.end());
    let mut out = format!("{} sources from {from} to {until} local time ({}).", data.rows.len(), data.zone.name());
    for row in &data.rows {
        let minutes = Cell::all().into_iter().filter_map(|kind| {
            let n = row.cells.iter().filter(|c| **c == kind).count();
            (n > 0).then(|| format!("{} {}", kind.code(), words::minutes(n as f64 * 0.5)))
        });
        out.push_str(&format!(" {}: {}.", row.label, minutes.collect::<Vec<_>>().join(", ")));
        for (from, until) in &row.excluded {
            let (from, until) = (data.zone.clock_of(*from), data.zone.clock_of(*until));
            out.push_str(&format!(" Left out from {from} to {until}."));
        }
    }
    out
}

/// Returns the hypnogram of a night of a comparison, without the reviewer's own notes.
///
/// # Errors
/// The zone of the night is not in the database.
pub fn of_night(night: &NightComparison, id: &str) -> Result<Hypnogram, ReportError> {
    let zone =
        Zone::named(&night.zone).map_err(|source| ReportError::Zone { night: words::night_name(night), source })?;
    let mut rows = vec![Row {
        label: words::reference_name(night),
        under: words::reference_under(night),
        cells: night.reference.clone(),
        excluded: night.excluded.clone(),
    }];
    rows.extend(night.devices.iter().filter(|d| !d.cells.is_empty()).map(|d| Row {
        label: words::name_on(night, d),
        under: words::scheme_under(night, d),
        cells: d.cells.clone(),
        excluded: d.excluded.clone(),
    }));
    let title = format!("Hypnograms of {}", words::night_name(night));
    Ok(Hypnogram {
        id: id.to_owned(),
        title,
        start: night.start,
        zone,
        rows,
        lights: night.lights,
        markers: Vec::new(),
    })
}

fn draw(comparison: &Comparison, size: Size, theme: Theme) -> Result<Vec<Drawn>, ReportError> {
    let one = |night: &NightComparison| {
        let data = of_night(night, "hypnogram")?;
        Ok((stem(&["hypnogram", &night.participant, &night.night]), hypnogram(&data, size, theme)))
    };
    Ok(drawn(comparison.nights.iter().map(one).collect::<Result<_, ReportError>>()?))
}
