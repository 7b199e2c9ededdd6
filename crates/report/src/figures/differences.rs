//! Differences of one whole-night measure against its size, night by night, with bias and limits of agreement.
//!
//! The size is the mean of both sides, never the reference alone: error in the reference would make a slope out of
//! nothing. Nights of one person are joined, and each point bears the code of its person where there is room.

use super::{Drawn, Figure, drawn, stem};
use crate::ReportError;
use crate::draw::text::{clean, number, wrap};
use crate::draw::{Anchor, Canvas, Frame, Ink, Linear, Look, Size, Theme, Type};
use crate::words::{self, deviations as said};
use counterpane_compare::{Comparison, Deviation, Limits, NightPair, deviations};
use std::collections::BTreeMap;

/// The kind of figure.
pub static FIGURE: Figure = Figure {
    name: "differences",
    shows: "each whole-night measure over nights: difference against size, with bias and limits of agreement",
    draw,
};

/// More points than this bear no code: the codes would lie over each other.
const MOST_CODES: usize = 24;

/// A line across the plot, with the interval of what it says.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// What it is called: `bias`.
    pub name: &'static str,
    /// Where it lies, in the unit of the measure.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Option<Limits>,
}

/// The data of the figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Differences {
    /// Starts the names inside the document; unique in a page.
    pub id: String,
    /// Name of the measure.
    pub measure: String,
    /// Name of the device.
    pub device: String,
    /// The unit of a difference as it stands after a number, such as ` min`.
    pub unit: &'static str,
    /// The unit of the measure itself: `min`, `%` or `count`.
    pub size_unit: &'static str,
    /// Which nights.
    pub about: String,
    /// One for each night.
    pub nights: Vec<NightPair>,
    /// Bias and limits, as far as they are given.
    pub levels: Vec<Level>,
    /// Height at 0 and slope of the line of the differences, where a slope is told.
    pub line: Option<(f64, f64)>,
}

/// The plot: its frame and both scales.
struct Plot {
    frame: Frame,
    x: Linear,
    y: Linear,
    narrow: bool,
}

/// Draws the differences.
#[must_use]
pub fn differences(data: &Differences, size: Size, theme: Theme) -> String {
    let mut c = Canvas::new(&data.id, size.width, theme);
    let title = format!("{}: {} minus reference", data.measure, data.device);
    let mut top = 4.0;
    for line in wrap(&title, 13.5, size.width - 8.0) {
        top += 16.0;
        c.text((4.0, top), &line, &Type::new(13.0).bold());
    }
    for line in wrap(&data.about, 11.5, size.width - 8.0) {
        top += 14.0;
        c.text((4.0, top), &line, &Type::new(11.0).faint());
    }
    top += 16.0;
    let more = if data.unit == " min" { "longer" } else { "more" };
    c.text((44.0, top), &format!("\u{2191} device says {more}"), &small());
    let plot = Plot::of(data, top + 6.0, size);
    plot.ground(&mut c);
    for level in &data.levels {
        plot.level(&mut c, level);
    }
    plot.slope(&mut c, data);
    plot.points(&mut c, data);
    plot.names(&mut c, data);
    let under = plot.frame.y + plot.frame.h;
    let middle = plot.frame.x + plot.frame.w / 2.0;
    let words = format!("mean of both sides, {}", data.size_unit);
    c.text((middle, under + 33.0), &words, &small().anchor(Anchor::Middle));
    c.finish(under + 42.0, &title, &description(data))
}

fn small() -> Type {
    Type::new(10.5).faint()
}

impl Plot {
    /// The axis of differences holds zero, every point and the lines; intervals may run out of it.
    fn of(data: &Differences, top: f64, size: Size) -> Plot {
        let frame = Frame {
            x: 44.0,
            y: top,
            w: size.width - 44.0 - if size.narrow { 72.0 } else { 96.0 },
            h: if size.narrow { 190.0 } else { 260.0 },
        };
        let n = if size.narrow { 4 } else { 6 };
        let levels = data.levels.iter().map(|l| l.value);
        let heights = data.nights.iter().map(NightPair::difference).chain(levels).chain([0.0]);
        let (low, high) = ends(heights);
        let spare = 0.08 * (high - low).max(1.0);
        let y = Linear::round_out((low - spare, high + spare), n);
        let (least, most) = ends(data.nights.iter().map(NightPair::size));
        let spare = 0.06 * (most - least).max(1.0);
        // Nothing that is measured is below nothing.
        let x = Linear::round_out(((least - spare).max(0.0_f64.min(least)), most + spare), n);
        Plot {
            frame,
            x: Linear::new(x, (frame.x, frame.x + frame.w)),
            y: Linear::new(y, (frame.y + frame.h, frame.y)),
            narrow: size.narrow,
        }
    }

    fn ticks(&self) -> usize {
        if self.narrow { 4 } else { 6 }
    }

    fn ground(&self, c: &mut Canvas) {
        let Frame { x, y, w, h } = self.frame;
        c.rect(self.frame, &Look::fill(Ink::Ground));
        for tick in self.y.ticks(self.ticks()) {
            let at = self.y.at(tick);
            let zero = tick.abs() < 1e-9;
            let look = if zero { Look::stroke(Ink::Text, 1.0) } else { Look::stroke(Ink::Grid, 1.0) };
            c.line((x, at), (x + w, at), &look);
            c.text((x - 5.0, at + 3.5), &said::signed(tick), &small().anchor(Anchor::End));
        }
        for tick in self.x.ticks(self.ticks()) {
            let at = self.x.at(tick);
            c.line((at, y + h), (at, y + h + 4.0), &Look::stroke(Ink::Line, 1.0));
            c.text((at, y + h + 17.0), &number(tick), &small().anchor(Anchor::Middle));
        }
    }

    /// Returns the height of a value, held inside the plot.
    fn held(&self, value: f64) -> f64 {
        self.y.at(value).clamp(self.frame.y, self.frame.y + self.frame.h)
    }

    fn level(&self, c: &mut Canvas, level: &Level) {
        let Frame { x, w, .. } = self.frame;
        if let Some(ends) = level.interval {
            let (top, bottom) = (self.held(ends.high), self.held(ends.low));
            let band = Frame { x, y: top, w, h: bottom - top };
            let opacity = if level.name == BIAS { 0.22 } else { 0.1 };
            c.rect(band, &Look { opacity: Some(opacity), ..Look::fill(Ink::Shade) });
        }
        let at = self.y.at(level.value);
        let look = Look::stroke(Ink::Shade, 2.0);
        let look = if level.name == BIAS { look } else { look.dashed("6 4") };
        c.line((x, at), (x + w, at), &look);
    }

    fn slope(&self, c: &mut Canvas, data: &Differences) {
        let Some((intercept, slope)) = data.line else { return };
        let (least, most) = ends(data.nights.iter().map(NightPair::size));
        let at = |size: f64| (self.x.at(size), self.held(intercept + slope * size));
        c.line(at(least), at(most), &Look::stroke(Ink::Text, 1.25).dashed("2 3"));
    }

    /// Draws each person's nights, joined where there are several, in a group that bears the code.
    fn points(&self, c: &mut Canvas, data: &Differences) {
        let mut people: BTreeMap<&str, Vec<&NightPair>> = BTreeMap::new();
        for night in &data.nights {
            people.entry(&night.participant).or_default().push(night);
        }
        for (person, nights) in people {
            c.open(&format!(
                "{}: {}",
                clean(person),
                nights.iter().map(|n| spoken(n, data)).collect::<Vec<_>>().join("; ")
            ));
            let at = |n: &NightPair| (self.x.at(n.size()), self.y.at(n.difference()));
            let places: Vec<(f64, f64)> = nights.iter().map(|n| at(n)).collect();
            for pair in places.windows(2) {
                c.line(pair[0], pair[1], &Look::stroke(Ink::Line, 0.75));
            }
            for place in &places {
                c.circle(*place, 3.75, &Look { stroke: Some((Ink::Paper, 1.0)), ..Look::fill(Ink::Text) });
            }
            if data.nights.len() <= MOST_CODES
                && let Some((x, y)) = places.first()
            {
                c.text((x + 5.5, y - 4.5), &clean(person), &Type::new(9.5).faint());
            }
            c.close();
        }
    }

    /// Names the lines at the right, pushed apart where they lie close.
    fn names(&self, c: &mut Canvas, data: &Differences) {
        let x = self.frame.x + self.frame.w + 5.0;
        let mut levels: Vec<&Level> = data.levels.iter().collect();
        levels.sort_by(|a, b| b.value.total_cmp(&a.value));
        let mut free = self.frame.y;
        for level in levels {
            let y = self.y.at(level.value).max(free + 9.0);
            c.text((x, y), level.name, &small());
            c.text((x, y + 12.0), &said::signed(level.value), &Type::new(11.0));
            free = y + 16.0;
        }
    }
}

const BIAS: &str = "bias";

/// The least and the most; 0 and 1 of nothing.
fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if low <= high { (low, high) } else { (0.0, 1.0) }
}

fn spoken(night: &NightPair, data: &Differences) -> String {
    let difference = said::signed(night.difference());
    format!("{} {difference}{} at {:.0}", clean(&night.night), data.unit, night.size())
}

fn description(data: &Differences) -> String {
    let level = |l: &Level| {
        let within =
            l.interval.map(|i| format!(" (95 % interval {} to {})", said::signed(i.low), said::signed(i.high)));
        format!("{} {}{}{}", l.name, said::signed(l.value), data.unit, within.unwrap_or_default())
    };
    let levels: Vec<String> = data.levels.iter().map(level).collect();
    let line =
        data.line.map(|(_, slope)| format!(" The difference changes with the size, slope {}.", words::two(slope)));
    let nights: Vec<String> =
        data.nights.iter().map(|n| format!("{}, {}", clean(&n.participant), spoken(n, data))).collect();
    format!("{}. {}.{} {}.", data.about, levels.join("; "), line.unwrap_or_default(), nights.join("; "))
}

/// Returns the data of a measure of a device.
#[must_use]
pub fn of_measure(device: &str, d: &Deviation, id: &str) -> Differences {
    let mut levels: Vec<Level> =
        d.bias.iter().map(|value| Level { name: BIAS, value: *value, interval: d.bias_interval.ok() }).collect();
    if let Ok(limits) = &d.limits {
        for (name, limit) in [("lower limit", &limits.lower), ("upper limit", &limits.upper)] {
            levels.push(Level { name, value: limit.value, interval: Some(limit.interval) });
        }
    }
    let told = d.proportional.as_ref().ok().filter(|slope| slope.is_told());
    Differences {
        id: id.to_owned(),
        measure: said::name(d.of),
        device: clean(device),
        unit: said::unit(d.of),
        size_unit: d.of.unit(),
        about: said::counted(d).join("; "),
        nights: d.nights.clone(),
        levels,
        line: told.map(|slope| (slope.intercept, slope.slope)),
    }
}

fn draw(comparison: &Comparison, size: Size, theme: Theme) -> Result<Vec<Drawn>, ReportError> {
    let mut out = Vec::new();
    for device in deviations(comparison) {
        for d in device.measures.iter().filter(|d| d.nights.len() > 1) {
            let name = stem(&["differences", &device.name, &d.of.code()]);
            out.push((name, differences(&of_measure(&device.name, d, "differences"), size, theme)));
        }
    }
    Ok(drawn(out))
}
