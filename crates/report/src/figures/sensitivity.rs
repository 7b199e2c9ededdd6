//! The mean of the stage sensitivities against the worst of them.
//!
//! A good mean can hide a stage that a device hardly sees, so each device gets one line from its
//! worst stage to its mean. The devices stand in the order of their names, never in that of their
//! numbers, and none is coloured apart.

use super::{Drawn, Figure, drawn, stem};
use crate::ReportError;
use crate::draw::text::{fit, number, uncoded, width, wrap};
use crate::draw::{Anchor, Canvas, Frame, Ink, Linear, Look, Size, Theme, Type};
use crate::words::{self, Voices};
use counterpane_compare::{Agreement, Comparison, NightComparison};

/// The kind of figure.
pub static FIGURE: Figure =
    Figure { name: "sensitivity", shows: "the mean of the stage sensitivities against the worst of them", draw };

/// The worst stage of a device.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstStage {
    /// What it is called: `REM`.
    pub class: String,
    /// Its sensitivity, 0..=1.
    pub sensitivity: f64,
    /// Epochs of the reference in it.
    pub n: u64,
}

/// One device.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Name of the device.
    pub label: String,
    /// The classes it is compared in: means over other classes cannot be compared.
    pub classes: String,
    /// Mean sensitivity, 0..=1; or why there is none.
    pub mean: Result<f64, String>,
    /// Sensitivity of each stage that the reference has, 0..=1.
    pub stages: Vec<f64>,
    /// The worst stage; or why none is named.
    pub worst: Result<WorstStage, String>,
}

/// The data of the figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensitivity {
    /// Starts the names inside the document; unique in a page.
    pub id: String,
    /// Which night, or which nights.
    pub about: String,
    /// One line for each device.
    pub lines: Vec<Line>,
}

/// Draws mean against worst.
#[must_use]
pub fn sensitivity(data: &Sensitivity, size: Size, theme: Theme) -> String {
    let mut c = Canvas::new(&data.id, size.width, theme);
    let title = "Mean of the stage sensitivities, and the worst stage";
    let mut top = 4.0;
    for line in wrap(title, 15.0, size.width - 8.0) {
        top += 17.0;
        c.text((4.0, top), &line, &Type::new(14.0).bold());
    }
    let key = "square: the worst stage; diamond: the mean over the stages; ticks: every stage";
    for line in wrap(&format!("{}; {key}", data.about), 11.5, size.width - 8.0) {
        top += 15.0;
        c.text((4.0, top), &line, &Type::new(11.5).faint());
    }
    let pitch = if size.narrow { 64.0 } else { 46.0 };
    let left = if size.narrow { 14.0 } else { (size.width * 0.34).min(250.0) };
    let scale = Linear::new((0.0, 1.0), (left, size.width - 22.0));
    let first = top + 14.0;
    let bottom = first + pitch * data.lines.len() as f64;
    for tick in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let x = scale.at(tick);
        c.line((x, first), (x, bottom), &Look::stroke(Ink::Grid, 1.0));
        let word = format!("{:.0} %", tick * 100.0);
        c.text((x, bottom + 16.0), &word, &Type::new(11.0).faint().anchor(Anchor::Middle));
    }
    for (index, line) in data.lines.iter().enumerate() {
        c.open(&line.label);
        c.shift((0.0, first + pitch * index as f64));
        one(&mut c, line, &scale, size);
        c.close();
        c.close();
    }
    c.finish(bottom + 28.0, title, &description(data))
}

/// Draws a device, from 0 down.
fn one(c: &mut Canvas, line: &Line, scale: &Linear, size: Size) {
    let (left, right) = (scale.at(0.0), scale.at(1.0));
    let base = if size.narrow { 34.0 } else { 16.0 };
    let room = if size.narrow { size.width - 8.0 } else { left - 22.0 };
    c.text((4.0, 14.0), &fit(&line.label, 12.0, room), &Type::new(12.0).bold());
    if size.narrow {
        let at = (size.width - 4.0, 14.0);
        c.text(at, &fit(&line.classes, 10.5, room * 0.6), &Type::new(10.5).faint().anchor(Anchor::End));
    } else {
        c.text((4.0, 30.0), &fit(&line.classes, 11.0, room), &Type::new(11.0).faint());
    }
    if line.mean.is_ok() || line.worst.is_ok() {
        c.line((left, base), (right, base), &Look::stroke(Ink::Line, 0.75).dashed("2 4"));
    }
    let tick = |stage: &f64| format!("M{} {}v10", number(scale.at(*stage)), number(base - 5.0));
    if !line.stages.is_empty() {
        c.path(&line.stages.iter().map(tick).collect::<String>(), &Look::stroke(Ink::Line, 1.25));
    }
    if let (Ok(mean), Ok(worst)) = (&line.mean, &line.worst) {
        c.line((scale.at(worst.sensitivity), base), (scale.at(*mean), base), &Look::stroke(Ink::Shade, 3.0));
    }
    if let Ok(mean) = line.mean {
        let x = scale.at(mean);
        let look = Look { stroke: Some((Ink::Shade, 1.75)), ..Look::fill(Ink::Paper) };
        c.path(&format!("M{} {}l6.5 6.5l-6.5 6.5l-6.5 -6.5z", number(x), number(base - 6.5)), &look);
    }
    if let Ok(worst) = &line.worst {
        let x = scale.at(worst.sensitivity);
        c.rect(Frame { x: x - 5.0, y: base - 5.0, w: 10.0, h: 10.0 }, &Look { round: 2.0, ..Look::fill(Ink::Shade) });
    }
    if let (Err(mean), Err(worst)) = (&line.mean, &line.worst)
        && mean == worst
    {
        why_not(c, mean, left, base, size);
        return;
    }
    let words = numbers(line);
    let held = line.worst.as_ref().map_or(left, |w| scale.at(w.sensitivity) - 5.0);
    let wide = width(&words, 11.0);
    let at = held.min(size.width - 6.0 - wide).max(4.0_f64.max(if size.narrow { 4.0 } else { left }));
    // The lines of the axis would run through the words.
    c.rect(Frame { x: at - 3.0, y: base + 9.0, w: wide.min(size.width - at) + 4.0, h: 15.0 }, &Look::fill(Ink::Paper));
    c.text((at, base + 20.0), &fit(&words, 11.0, size.width - at), &Type::new(11.0));
}

/// Says why there is nothing to draw, in the place of the drawing; in up to three lines where one has no room.
fn why_not(c: &mut Canvas, why: &str, left: f64, base: f64, size: Size) {
    let at = if size.narrow { 4.0 } else { left };
    let room = size.width - at - 4.0;
    let lines = wrap(why, 11.0, room);
    // More lines would run into the next device.
    let most = if size.narrow { 3 } else { 2 };
    let rest = lines.get(most - 1..).filter(|rest| !rest.is_empty()).map(|rest| rest.join(" "));
    for (index, text) in lines.iter().take(most - 1).cloned().chain(rest).enumerate() {
        let y = base - if size.narrow { 2.0 } else { 0.0 } + 14.0 * index as f64;
        let text = fit(&text, 11.0, room);
        c.rect(
            Frame { x: at - 3.0, y: y - 11.0, w: (width(&text, 11.0) + 6.0).min(room), h: 15.0 },
            &Look::fill(Ink::Paper),
        );
        c.text((at, y), &text, &Type::new(11.0).faint());
    }
}

fn numbers(line: &Line) -> String {
    let worst = match &line.worst {
        Ok(w) => format!("worst {} {} of {}", w.class, words::share(w.sensitivity), words::epochs(w.n)),
        Err(why) => why.clone(),
    };
    let mean = match &line.mean {
        Ok(mean) => format!("mean {}", words::share(*mean)),
        Err(why) => why.clone(),
    };
    if worst == mean { mean } else { format!("{worst}; {mean}") }
}

fn description(data: &Sensitivity) -> String {
    let all: Vec<String> = data.lines.iter().map(|l| format!("{} ({}): {}.", l.label, l.classes, numbers(l))).collect();
    format!("{}. {}", data.about, all.join(" "))
}

/// Returns the line of one device.
#[must_use]
pub fn line(label: &str, agreement: Option<&Agreement>, voices: Voices, why_not: Option<&str>) -> Line {
    let label = label.to_owned();
    let Some(a) = agreement else {
        let why = why_not.map_or_else(|| "not compared".to_owned(), |w| format!("not compared: {}", uncoded(w)));
        return Line { label, classes: String::new(), mean: Err(why.clone()), stages: Vec::new(), worst: Err(why) };
    };
    let worst = a.worst_sensitivity.map(|w| WorstStage {
        class: words::called(w.class).to_owned(),
        sensitivity: w.sensitivity,
        n: w.n,
    });
    Line {
        label,
        classes: words::scheme_words(a.scheme),
        mean: a.mean_sensitivity.map_err(|why| format!("no mean: {}", voices.undefined(why))),
        stages: a.per_class.iter().filter_map(|c| c.sensitivity.ok()).collect(),
        worst: worst.ok_or_else(|| "no worst stage: no stage has 20 epochs of the reference".to_owned()),
    }
}

/// Returns the lines of a night.
#[must_use]
pub fn of_night(night: &NightComparison, id: &str) -> Sensitivity {
    let one = |d: &counterpane_compare::DeviceNight| {
        let voices = Voices::of(night, &d.source);
        line(&words::name_on(night, d), d.agreement.as_ref(), voices, d.not_compared.as_deref())
    };
    Sensitivity { id: id.to_owned(), about: words::night_name(night), lines: night.devices.iter().map(one).collect() }
}

/// Returns the lines of all devices over all their nights, pooled.
#[must_use]
pub fn of_all(comparison: &Comparison, id: &str) -> Sensitivity {
    let one = |d: &counterpane_compare::DeviceSummary| {
        let voices = words::voices_of_device(comparison, &d.name);
        let label = format!("{}, {}", d.name, words::count(d.nights, "night"));
        line(&label, d.pooled.as_ref(), voices, None)
    };
    Sensitivity {
        id: id.to_owned(),
        about: "all epochs of all nights of a device pooled".to_owned(),
        lines: comparison.devices.iter().map(one).collect(),
    }
}

fn draw(comparison: &Comparison, size: Size, theme: Theme) -> Result<Vec<Drawn>, ReportError> {
    let mut out: Vec<(String, String)> = Vec::new();
    for night in comparison.nights.iter().filter(|n| !n.devices.is_empty()) {
        let name = stem(&["sensitivity", &night.participant, &night.night]);
        out.push((name, sensitivity(&of_night(night, "sensitivity"), size, theme)));
    }
    if !comparison.devices.is_empty() {
        out.push(("sensitivity_all-nights".to_owned(), sensitivity(&of_all(comparison, "sensitivity"), size, theme)));
    }
    Ok(drawn(out))
}
