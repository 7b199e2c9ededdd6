//! Sleep, wake and stage minutes: device minus reference.
//!
//! One line for each device under each quantity, from zero to its difference. No device is coloured
//! apart: a small difference on one night earns nothing.

use super::{Drawn, Figure, drawn, stem};
use crate::ReportError;
use crate::draw::text::{fit, number, width, wrap};
use crate::draw::{Anchor, Canvas, Frame, Ink, Linear, Look, Size, Theme, Type};
use crate::{minutes, words};
use counterpane_compare::{Comparison, NightComparison};

/// The kind of figure.
pub static FIGURE: Figure =
    Figure { name: "deviations", shows: "minutes of sleep, of wake and of each stage: device minus reference", draw };

/// One difference.
#[derive(Clone, Debug, PartialEq)]
pub struct Deviation {
    /// Name of the device.
    pub label: String,
    /// Device minus reference, minutes; or why there is none.
    pub minutes: Result<f64, String>,
    /// The device's minutes are its own claim, not counted from its epochs.
    pub claim: bool,
}

/// The differences of one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Name of the quantity, such as `Deep (N3)`.
    pub quantity: String,
    /// One for each device.
    pub deviations: Vec<Deviation>,
}

impl Deviation {
    fn name(&self) -> String {
        if self.claim { format!("{}, claim", self.label) } else { self.label.clone() }
    }
}

impl Group {
    fn height(&self) -> f64 {
        let lines = self.deviations.iter().filter(|d| d.minutes.is_ok()).count();
        HEAD + LINE * (lines + usize::from(self.without().is_some())) as f64
    }

    /// Names the devices without a difference, in one line.
    fn without(&self) -> Option<String> {
        let names: Vec<String> = self.deviations.iter().filter(|d| d.minutes.is_err()).map(Deviation::name).collect();
        (!names.is_empty()).then(|| format!("no minutes of this: {}", names.join("; ")))
    }
}

/// The data of the figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Deviations {
    /// Starts the names inside the document; unique in a page.
    pub id: String,
    /// Which night, and which epochs count.
    pub about: String,
    /// Who scored the reference: `the scorer`.
    pub reference: String,
    /// Quantity by quantity.
    pub groups: Vec<Group>,
}

const LINE: f64 = 19.0;
const HEAD: f64 = 26.0;

/// Draws the differences.
#[must_use]
pub fn deviations(data: &Deviations, size: Size, theme: Theme) -> String {
    let mut c = Canvas::new(&data.id, size.width, theme);
    let title = format!("Minutes: device minus {}", data.reference.trim_start_matches("the "));
    c.text((4.0, 20.0), &title, &Type::new(14.0).bold());
    let mut top = 22.0;
    for line in wrap(&data.about, 11.5, size.width - 8.0) {
        top += 15.0;
        c.text((4.0, top), &line, &Type::new(11.5).faint());
    }
    let names = if size.narrow { 100.0 } else { 150.0 };
    let scale = scale(data, names, size);
    let height: f64 = data.groups.iter().map(|g| g.height()).sum();
    axis(&mut c, &scale, top + 14.0, top + 36.0 + height, size);
    let mut y = top + 36.0;
    for group in &data.groups {
        c.line((4.0, y + 2.0), (size.width - 4.0, y + 2.0), &Look::stroke(Ink::Grid, 1.0).dashed("4 3"));
        c.text((4.0, y + 18.0), &group.quantity, &Type::new(12.0).bold());
        y += HEAD;
        let shown: Vec<Shown> = group.shown(&scale, y).collect();
        several(&mut c, &shown, scale.at(0.0), names, size);
        y += LINE * shown.len() as f64;
        if let Some(words) = group.without() {
            // The lines of the axis would run through the words.
            let behind = Frame { x: 8.0, y: y - 4.0, w: (width(&words, 11.0) + 12.0).min(size.width - 16.0), h: 16.0 };
            c.rect(behind, &Look::fill(Ink::Paper));
            c.text((12.0, y + 8.0), &fit(&words, 11.0, size.width - 16.0), &Type::new(11.0).faint());
            y += LINE;
        }
    }
    c.finish(y + 30.0, &title, &description(data))
}

/// The axis always holds zero and at least ten minutes to either side; it leaves room for a label.
fn scale(data: &Deviations, names: f64, size: Size) -> Linear {
    let all: Vec<f64> =
        data.groups.iter().flat_map(|g| g.deviations.iter().filter_map(|d| d.minutes.clone().ok())).collect();
    let least = all.iter().copied().fold(-10.0, f64::min);
    let most = all.iter().copied().fold(10.0, f64::max);
    let domain = Linear::round_out((least, most), if size.narrow { 3 } else { 6 });
    let label = if size.narrow { 40.0 } else { 66.0 };
    Linear::new(domain, (names + label, size.width - label))
}

fn axis(c: &mut Canvas, scale: &Linear, top: f64, bottom: f64, size: Size) {
    for tick in scale.ticks(if size.narrow { 3 } else { 6 }) {
        let x = scale.at(tick);
        let zero = tick.abs() < 1e-9;
        let look = if zero { Look::stroke(Ink::Text, 1.25) } else { Look::stroke(Ink::Grid, 1.0) };
        c.line((x, top + 4.0), (x, bottom + 4.0), &look);
        let word = words::signed(tick).replace(" min", "");
        c.text((x, bottom + 19.0), &word, &Type::new(11.0).faint().anchor(Anchor::Middle));
    }
    let zero = scale.at(0.0);
    let faint = Type::new(10.5).faint();
    let (less, more) = if size.narrow {
        ("\u{2190} less", "more \u{2192}")
    } else {
        ("\u{2190} device says less", "device says more \u{2192}")
    };
    c.text((zero - 8.0, top + 12.0), less, &faint.anchor(Anchor::End));
    c.text((zero + 8.0, top + 12.0), more, &faint);
}

/// A difference and where it stands.
struct Shown<'a> {
    deviation: &'a Deviation,
    minutes: f64,
    x: f64,
    base: f64,
}

impl Group {
    /// Returns the differences that are numbers, from `top` down.
    fn shown(&self, scale: &Linear, top: f64) -> impl Iterator<Item = Shown<'_>> {
        let numbers = self.deviations.iter().filter_map(|d| d.minutes.as_ref().ok().map(|m| (d, *m)));
        let place = move |(i, (deviation, minutes)): (usize, (_, f64))| {
            let base = top + LINE * i as f64 + 4.0;
            Shown { deviation, minutes, x: scale.at(minutes), base }
        };
        numbers.enumerate().map(place)
    }
}

/// Draws differences under each other: names, bars, squares, numbers.
fn several(c: &mut Canvas, shown: &[Shown], zero: f64, names: f64, size: Size) {
    let type_ = Type::new(11.5);
    let name = |s: &Shown| (12.0, s.base + 4.0, fit(&s.deviation.name(), 11.5, names - 14.0));
    c.texts(&shown.iter().map(name).collect::<Vec<_>>(), &type_);
    let bar = |s: &Shown| format!("M{} {}H{}", number(zero), number(s.base), number(s.x));
    if !shown.is_empty() {
        c.path(&shown.iter().map(bar).collect::<String>(), &Look::stroke(Ink::Shade, 3.0));
    }
    let (claims, counted): (Vec<&Shown>, Vec<&Shown>) = shown.iter().partition(|s| s.deviation.claim);
    let square = |s: &&Shown| Frame { x: s.x - 4.5, y: s.base - 4.5, w: 9.0, h: 9.0 };
    c.outlines(&counted.iter().map(square).collect::<Vec<_>>(), 2.0, &Look::fill(Ink::Shade));
    let claim = Look { stroke: Some((Ink::Shade, 1.75)), ..Look::fill(Ink::Paper) }.dashed("2 1.5");
    c.outlines(&claims.iter().map(square).collect::<Vec<_>>(), 2.0, &claim);
    let (less, more): (Vec<&Shown>, Vec<&Shown>) = shown.iter().partition(|s| s.minutes < 0.0);
    let word = |s: &&Shown, by: f64| {
        let word = words::signed(s.minutes);
        let word = if size.narrow { word.trim_end_matches(" min").to_owned() } else { word };
        (s.x + by, s.base + 4.0, word)
    };
    c.texts(&less.iter().map(|s| word(s, -9.0)).collect::<Vec<_>>(), &type_.anchor(Anchor::End));
    c.texts(&more.iter().map(|s| word(s, 9.0)).collect::<Vec<_>>(), &type_);
}

fn description(data: &Deviations) -> String {
    let group = |g: &Group| {
        let all: Vec<String> = g
            .deviations
            .iter()
            .map(|d| match &d.minutes {
                Ok(value) if d.claim => format!("{} {} by its own claim", d.label, words::signed(*value)),
                Ok(value) => format!("{} {}", d.label, words::signed(*value)),
                Err(why) => format!("{} {why}", d.label),
            })
            .collect();
        format!("{}: {}.", g.quantity, all.join(", "))
    };
    let groups: Vec<String> = data.groups.iter().map(group).collect();
    format!("{} {}", data.about, groups.join(" "))
}

/// Returns the differences of a night of a comparison.
#[must_use]
pub fn of_night(night: &NightComparison, id: &str) -> Deviations {
    let sources = minutes::sources(night);
    let group = |quantity: minutes::Quantity| Group {
        quantity: quantity.head().to_owned(),
        deviations: sources
            .iter()
            .map(|s| Deviation { label: s.label.clone(), minutes: s.difference(quantity), claim: s.claim })
            .collect(),
    };
    Deviations {
        id: id.to_owned(),
        about: format!(
            "{}; counted over the epochs that both sides scored, claims over the window",
            words::night_name(night)
        ),
        reference: words::Voices::of_reference(night).reference().to_owned(),
        groups: minutes::quantities(&sources).into_iter().map(group).collect(),
    }
}

fn draw(comparison: &Comparison, size: Size, theme: Theme) -> Result<Vec<Drawn>, ReportError> {
    let with_devices = comparison.nights.iter().filter(|n| !n.devices.is_empty());
    let one = |night: &NightComparison| {
        let name = stem(&["deviations", &night.participant, &night.night]);
        (name, deviations(&of_night(night, "deviations"), size, theme))
    };
    Ok(drawn(with_devices.map(one).collect()))
}
