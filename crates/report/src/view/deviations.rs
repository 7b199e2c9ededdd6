//! How far whole-night measures lie from the reference's over nights: a table for each device, a figure for each measure.

use super::figure::Figure;
use super::table::{Cell, Row, Table};
use crate::draw::Theme;
use crate::draw::text::clean;
use crate::figures::differences;
use crate::words::{self, deviations as said};
use askama::Template;
use counterpane_compare::{Deviation, Deviations, Inference, Limit, Limits, NightLimits, NotSaid, Slope};

/// The section.
#[derive(Debug, Template)]
#[template(path = "deviations.html")]
pub(crate) struct DeviationsView {
    meaning: &'static str,
    cautions: Vec<String>,
    devices: Vec<OfDevice>,
}

#[derive(Debug)]
struct OfDevice {
    name: String,
    headline: String,
    open: bool,
    sentences: Vec<String>,
    limits: Table,
    shape: Table,
    figures: Vec<Figure>,
}

impl DeviationsView {
    /// Returns the view of the section; `None` where no device has two nights: the night itself then says the same.
    pub(crate) fn new(inference: &Inference) -> Option<DeviationsView> {
        let several = |d: &&Deviations| d.measures.iter().any(|m| m.nights.len() > 1);
        let all: Vec<&Deviations> = inference.deviations.iter().filter(several).collect();
        let alone = all.len() == 1;
        let devices: Vec<OfDevice> =
            all.iter().enumerate().map(|(i, d)| OfDevice::new(d, &format!("measures-{}", i + 1), alone)).collect();
        (!devices.is_empty()).then_some(DeviationsView {
            meaning: said::MEANING,
            cautions: said::cautions(&all).iter().map(|s| clean(s)).collect(),
            devices,
        })
    }
}

impl OfDevice {
    fn new(device: &Deviations, id: &str, open: bool) -> OfDevice {
        let drawn = device.measures.iter().filter(|d| d.nights.len() > 1);
        OfDevice {
            name: clean(&device.name),
            headline: device.measures.first().map(headline).unwrap_or_default(),
            open,
            sentences: said::sentences_of_all(&device.measures).iter().map(|s| clean(s)).collect(),
            limits: limits(device, id),
            shape: shape(device, id),
            figures: drawn
                .enumerate()
                .map(|(i, d)| {
                    Figure::one(&format!("{id}-f{}", i + 1), |id, size| {
                        differences::differences(&differences::of_measure(&device.name, d, id), size, Theme::Page)
                    })
                })
                .collect(),
        }
    }
}

/// The first measure in a line, for a device that is folded.
fn headline(d: &Deviation) -> String {
    let unit = said::unit(d.of);
    let bias = d.bias.map_or_else(|why| why.words().to_owned(), |bias| format!("{}{unit}", said::signed(bias)));
    let limits = match &d.limits {
        Ok(of) => format!("limits {} to {}{unit}", said::signed(of.lower.value), said::signed(of.upper.value)),
        Err(why) => format!("no limits: {}", why.words()),
    };
    format!("{}: bias {bias}, {limits}", said::short(d.of))
}

fn limits(device: &Deviations, id: &str) -> Table {
    let columns = ["Measure", "Bias", "Lower limit", "Upper limit", "Mean size (MAE)", "Root mean square"];
    let caption = format!("Whole-night measures of {}: bias and limits of agreement", device.name);
    let note = "Below each number its 95 % interval.";
    let mut table = Table::new(format!("{id}-l"), &caption, note, &columns).stacked();
    for d in &device.measures {
        let unit = said::unit(d.of);
        let number = |value: f64, under: &str| Cell::number(&format!("{}{unit}", said::signed(value)), under);
        let plain = |figure: counterpane_compare::Figure| match figure {
            Ok(value) => Cell::number(&format!("{value:.1}{unit}"), ""),
            Err(why) => Cell::none(why.words()),
        };
        let limit = |pick: fn(&NightLimits) -> &Limit| match &d.limits {
            Ok(of) => number(pick(of).value, &between(pick(of).interval)),
            Err(why) => Cell::none(&why.words()),
        };
        let interval = d.bias_interval.map_or_else(|why| why.words(), between);
        let bias = d.bias.map_or_else(|why| Cell::none(why.words()), |bias| number(bias, &interval));
        let cells = vec![bias, limit(|l| &l.lower), limit(|l| &l.upper), plain(d.mae), plain(d.rmse)];
        table.row(Row::new(&said::name(d.of), &said::counted(d).join("; "), cells));
    }
    table
}

fn shape(device: &Deviations, id: &str) -> Table {
    let columns = ["Measure", "Slope of the difference", "Growth of the spread", "Ratio limits", "CCC", "ICC(2,1)"];
    let caption = format!("Whole-night measures of {}: does size matter, and concordance", device.name);
    let note = "Slopes are for one unit more of the mean of both sides, with their 95 % intervals and p; the p of the spread is that of Koenker's \
                test. Ratios device / reference are given where the spread grows and every value is above 0.";
    let mut table = Table::new(format!("{id}-s"), &caption, note, &columns).stacked();
    for d in &device.measures {
        let ratio = d.ratio_limits.as_ref().map_or_else(
            || Cell::words("-"),
            |of| Cell::brief(&format!("{:.2} to {:.2}", of.lower.value, of.upper.value)),
        );
        let cells = vec![
            slope(&d.proportional),
            slope(&d.spread),
            ratio,
            Cell::words(&said::coefficient(&d.ccc)),
            Cell::words(&said::coefficient(&d.icc)),
        ];
        table.row(Row::new(&said::name(d.of), "", cells));
    }
    table
}

fn slope(of: &Result<Slope, NotSaid>) -> Cell {
    match of {
        Ok(slope) => {
            let p = if slope.p < 0.001 { "p < 0.001".to_owned() } else { format!("p = {:.3}", slope.p) };
            let under = format!("{}; {p}", words::intervals::between_two(slope.interval));
            Cell::number(&words::two(slope.slope), &under)
        }
        Err(why) => Cell::none(&why.words()),
    }
}

fn between(ends: Limits) -> String {
    format!("{} to {}", said::signed(ends.low), said::signed(ends.high))
}
