//! How often the interval of one night holds what a night without end would give.

use crate::dice::{Dice, Lengths};
use crate::rows::{Row, on_two_threads};
use crate::sleep::{Errors, STAGES, as_table, device, reference, truth};
use counterpane_stats::{
    Figure, NightStatistic, Resampling, Table, accuracy, balanced_accuracy, bouts, cohen_kappa, night_intervals, ppv,
    sensitivity,
};

/// Resamples of each night.
const REPLICATES: u32 = 2000;
/// The least number of bouts of a stage for which an interval of it is given.
const BOUTS_WANT: usize = 5;

/// The kinds of devices: name, and how they err.
pub(crate) const SCENARIOS: [(&str, Errors); 6] = [
    ("15 % of epochs in errors of 1.5 min", Errors { share: 0.15, mean: 3.0, lengths: Lengths::Geometric }),
    ("30 % in errors of 1.5 min", Errors { share: 0.30, mean: 3.0, lengths: Lengths::Geometric }),
    ("30 % in errors of 3 min", Errors { share: 0.30, mean: 6.0, lengths: Lengths::Geometric }),
    ("30 % in errors of 3 min, alike", Errors { share: 0.30, mean: 6.0, lengths: Lengths::Gamma }),
    ("30 % in errors of 3 min, a few long", Errors { share: 0.30, mean: 6.0, lengths: Lengths::Mixed }),
    ("40 % in errors of 6 min", Errors { share: 0.40, mean: 12.0, lengths: Lengths::Geometric }),
];

const STAGE_NAMES: [&str; STAGES] = ["W", "N1", "N2", "N3", "R"];

type Of = fn(&Table, usize) -> Figure;

/// A statistic: its name, and the class whose bouts it needs.
fn statistics() -> Vec<(String, Option<usize>, Of)> {
    let mut all: Vec<(String, Option<usize>, Of)> = vec![
        ("accuracy".into(), None, |t, _| accuracy(t)),
        ("kappa".into(), None, |t, _| cohen_kappa(t)),
        ("mean sensitivity".into(), None, |t, _| balanced_accuracy(t)),
    ];
    all.extend((0..STAGES).map(|i| (format!("sensitivity {}", STAGE_NAMES[i]), Some(i), sensitivity as Of)));
    all.extend((0..STAGES).map(|i| (format!("ppv {}", STAGE_NAMES[i]), Some(i), ppv as Of)));
    all
}

pub(crate) fn rows(seed: u64, nights: u32) -> Vec<Row> {
    SCENARIOS
        .iter()
        .enumerate()
        .flat_map(|(at, (name, errors))| scenario(seed, at as u64, name, *errors, nights))
        .collect()
}

fn scenario(seed: u64, at: u64, name: &str, errors: Errors, nights: u32) -> Vec<Row> {
    let statistics = statistics();
    let table = as_table(&truth(errors));
    let truths: Vec<f64> = statistics.iter().map(|(_, class, of)| of(&table, class.unwrap_or(0)).unwrap()).collect();
    let found = on_two_threads(nights, |number| one(seed, at << 32 | u64::from(number), errors, &statistics, &truths));
    let row = |i: usize| {
        let given: Vec<bool> = found.iter().filter_map(|night| night[i]).collect();
        Row::new("night", &statistics[i].0, name, 1, &given, truths[i])
    };
    (0..statistics.len()).map(row).collect()
}

/// Returns for each statistic whether the interval of a drawn night holds the truth; none where the night gives none.
fn one(
    seed: u64,
    number: u64,
    errors: Errors,
    statistics: &[(String, Option<usize>, Of)],
    truths: &[f64],
) -> Vec<Option<bool>> {
    let mut dice = Dice::new(seed, number);
    let truth = reference(&mut dice);
    let said = device(&mut dice, &truth, errors);
    let pairs: Vec<(usize, usize)> = truth.iter().copied().zip(said.iter().copied()).collect();
    let wanted: Vec<NightStatistic<'_>> =
        statistics.iter().map(|(name, class, of)| asked(name, class.unwrap_or(0), *of)).collect();
    let asked = Resampling { replicates: REPLICATES, seed: seed ^ number, threads: 1 };
    let enough = |name: &str, class: usize| {
        bouts(truth.iter().copied(), class) >= BOUTS_WANT
            && (!name.starts_with("ppv") || bouts(said.iter().copied(), class) >= BOUTS_WANT)
    };
    let of = night_intervals(STAGES, &pairs, asked, &wanted);
    let holds = |(i, of): (usize, &Result<counterpane_stats::NightInterval, _>)| {
        let (name, class, _) = &statistics[i];
        let given = class.is_none_or(|class| enough(name, class));
        of.as_ref().ok().filter(|_| given).map(|of| of.interval.0 <= truths[i] && truths[i] <= of.interval.1)
    };
    of.iter().enumerate().map(holds).collect()
}

fn asked(name: &str, class: usize, of: Of) -> NightStatistic<'static> {
    let statistic = move |t: &Table| of(t, class);
    match name {
        "kappa" => NightStatistic::coefficient(statistic),
        "accuracy" | "mean sensitivity" => NightStatistic::share(statistic, Table::n),
        _ if name.starts_with("ppv") => NightStatistic::share(statistic, move |t| t.column_sum(class)),
        _ => NightStatistic::share(statistic, move |t| t.row_sum(class)),
    }
}
