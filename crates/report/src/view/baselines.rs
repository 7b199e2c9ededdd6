//! What a device is measured against: what comes for free in the same epochs, and what people reach.

use super::table::{Cell, Row, Table};
use crate::words::{self, baselines as said, bouts, pairs};
use counterpane_compare::{Baselines, Beside, DeviceBaselines, NightComparison};
use counterpane_model::PlanMeasure;

const COLUMNS: [&str; 8] = [
    "Device",
    "Epochs that agree",
    "Always one stage",
    "Drawn by lot",
    "Time of night",
    "Cohen's kappa",
    "Random nights: kappa",
    "Sleep and wake",
];

/// The baselines of the devices of a night; empty where none was compared.
pub(crate) fn of_night(night: &NightComparison, baselines: &Baselines, id: &str) -> Table {
    let mut table = Table::new(format!("{id}-free"), "Beside what comes for free", said::MEANING, &COLUMNS);
    for device in &night.devices {
        let Some(own) = baselines.of(&night.reference_key, &device.key) else { continue };
        let under = format!("in {}; {} epochs", words::scheme_words(own.beside.scheme), own.beside.n);
        table.row(Row::new(&words::name_on(night, device), &under, cells(&own.beside, &beyond_on(&own.beside))));
    }
    table
}

/// The baselines of every device over its nights.
pub(crate) fn of_all(baselines: &Baselines) -> Table {
    let note = format!("{} Each number is the mean over people of the mean over their nights.", said::MEANING);
    let mut table = Table::new("all-free".into(), "Beside what comes for free, over all nights", &note, &COLUMNS);
    for device in &baselines.devices {
        let nights = words::count(device.nights, "night");
        let over = format!("{nights} of {}", words::count(device.participants, "participant"));
        let under = format!("in {}; {over}", words::scheme_words(device.beside.scheme));
        table.row(Row::new(&device.name, &under, cells(&device.beside, &beyond(device))));
    }
    table
}

/// What people reach, and what is not there.
pub(crate) fn sentences(baselines: &Baselines, nights: &[NightComparison]) -> Vec<String> {
    if baselines.nights.is_empty() {
        return Vec::new();
    }
    let majority = nights.iter().any(|n| n.consensus.is_some());
    let alone = said::is_alone(baselines).then(|| said::ALONE.to_owned());
    alone.into_iter().chain(said::ceiling(baselines, majority)).map(|s| crate::draw::text::clean(&s)).collect()
}

fn beyond(device: &DeviceBaselines) -> Vec<String> {
    let lines = bouts::mean(&device.beyond_prior, points, |limits| pairs::between(PlanMeasure::Accuracy, limits));
    lines.into_iter().map(|line| line.replace("mean ", "beyond it ")).collect()
}

fn points(value: f64) -> String {
    pairs::difference(PlanMeasure::Accuracy, value)
}

fn beyond_on(of: &Beside) -> Vec<String> {
    of.beyond_prior().ok().map(|by| format!("beyond it {}", points(by))).into_iter().collect()
}

/// `beyond` are smaller lines on how far the device goes beyond the time of night.
fn cells(of: &Beside, beyond: &[String]) -> Vec<Cell> {
    let skill = of.skill_over_always().map_or_else(|_| String::new(), |s| format!("skill {}", words::two(s)));
    let prior = match of.prior_accuracy {
        Ok(_) => {
            let kappa = format!("kappa {}", said::coefficient(of.prior_kappa));
            let skill = of.skill_over_prior().ok().map(|s| format!("skill over it {}", words::two(s)));
            let under: Vec<&str> = std::iter::once(&kappa).chain(&skill).chain(beyond).map(String::as_str).collect();
            Cell::number_lines(&said::share(of.prior_accuracy), &under)
        }
        Err(_) => Cell::none("nobody else to learn it from"),
    };
    vec![
        Cell::number(&said::share(of.accuracy), &skill),
        Cell::number(&said::share(of.always_accuracy), &format!("always {}", said::called_alone(of))),
        Cell::number(&said::share(of.lots_accuracy), ""),
        prior,
        Cell::number(&said::coefficient(of.kappa), ""),
        Cell::number(&said::random(&of.random), &said::reached(&of.random)),
        Cell::number_lines(&said::share(of.sleep_wake), &["always asleep", &said::share(of.asleep_accuracy)]),
    ]
}
