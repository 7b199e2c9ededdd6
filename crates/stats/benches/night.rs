//! How fast a night is drawn anew, beside scikit-learn and numpy in the same run; and a study of many nights.
//!
//! Run with `cargo bench -p counterpane-stats`. The tables are kept in `docs/benchmarks.md`. `COUNTERPANE_PYTHON` names a
//! Python with the packages of `tests/python/requirements.txt`; without it the others are left out, and it says so.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a run is for its tables, and ends where it cannot go on")]

use counterpane_stats::{
    NightInterval, NightStatistic, Resampling, Scale, Table, accuracy, balanced_accuracy, below, cohen_kappa,
    night_interval, night_intervals, on_threads, ppv, sensitivity, stationary_bootstrap,
};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::time::Instant;

const CLASSES: usize = 5;
const EPOCHS: usize = 960;
const SEED: u64 = 20_240;

fn main() {
    // The test runner starts benches too; a measurement there would only cost time.
    if std::env::args().any(|a| a == "--test") {
        return;
    }
    beside_others();
    many_nights();
}

/// An invented night: bouts of stages of about 20 epochs, and a device that errs in bouts of about six.
fn night(rng: &mut Pcg32) -> Vec<(usize, usize)> {
    let (mut truth, mut wrong, mut said) = (0, false, 0);
    let mut one_in = |n: u32| below(n, || rng.next_u32()) == 0;
    let mut pairs = Vec::with_capacity(EPOCHS);
    for t in 0..EPOCHS {
        if one_in(20) {
            truth = (truth + 1 + usize::from(one_in(2)) + t % 2) % CLASSES;
        }
        if one_in(if wrong { 6 } else { 24 }) {
            (wrong, said) = (!wrong, (truth + 1 + t % 3) % CLASSES);
        }
        pairs.push((truth, if wrong { said } else { truth }));
    }
    pairs
}

/// Returns the fewest seconds of several turns.
fn fastest<T>(turns: u32, mut run: impl FnMut() -> T) -> (f64, T) {
    let mut best = f64::INFINITY;
    let mut last = None;
    for _ in 0..turns {
        let start = Instant::now();
        last = Some(run());
        best = best.min(start.elapsed().as_secs_f64());
    }
    (best, last.unwrap())
}

fn beside_others() {
    let pairs = night(&mut Pcg32::new(SEED, 1));
    let asked = |threads| Resampling { replicates: 10_000, seed: SEED, threads };
    let NightInterval { block, estimate, interval } =
        night_interval(CLASSES, &pairs, Scale::Coefficient, asked(2), cohen_kappa).unwrap();
    println!("one night, {EPOCHS} epochs, {CLASSES} classes, 10,000 resamples, blocks of {block:.1} epochs on average");
    println!("kappa {estimate:.3}, {:.3} to {:.3}\n", interval.0, interval.1);
    let ours = |threads, block| {
        fastest(9, || stationary_bootstrap(CLASSES, &pairs, block, asked(threads), cohen_kappa).unwrap().values)
    };
    let (one, values) = ours(1, block);
    let (two, _) = ours(2, block);
    let (short, _) = ours(1, 10.0);
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64).sqrt();
    println!("| what | ms | times ours on one thread | mean | sd |\n| --- | --- | --- | --- | --- |");
    println!("| counterpane, one thread | {:.2} | 1 | {mean:.4} | {sd:.4} |", one * 1e3);
    println!("| counterpane, two threads | {:.2} | {:.2} | {mean:.4} | {sd:.4} |", two * 1e3, two / one);
    println!("| counterpane, one thread, blocks of 10 | {:.2} | {:.2} | | |", short * 1e3, short / one);
    let Some(others) = others(&pairs, block) else {
        println!("\nscikit-learn and numpy: left out, `COUNTERPANE_PYTHON` names no Python that has them");
        return;
    };
    for name in ["numpy", "scikit_learn"] {
        let of = |key: &str| others[name][key].as_f64().unwrap();
        let ms = of("seconds") * 1e3;
        println!(
            "| {name}, {} drawn | {ms:.1} | {:.0} | {:.4} | {:.4} |",
            of("drawn"),
            ms / one / 1e3,
            of("mean"),
            of("sd")
        );
        // Both draw from one distribution: a standard deviation from m draws is known to 1 / sqrt(2 m), here six times.
        let error = 6.0 / (2.0 * of("drawn")).sqrt();
        assert!((of("sd") / sd - 1.0).abs() < error + 0.05, "{name} draws something else");
    }
}

fn others(pairs: &[(usize, usize)], block: f64) -> Option<serde_json::Value> {
    let python = std::env::var("COUNTERPANE_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/python/night_speed.py");
    let side = |of: fn(&(usize, usize)) -> usize| pairs.iter().map(of).collect::<Vec<_>>();
    let night = serde_json::json!({ "classes": CLASSES, "block": block, "replicates": 10_000,
        "reference": side(|p| p.0), "device": side(|p| p.1) });
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    child.stdin.take()?.write_all(night.to_string().as_bytes()).ok()?;
    let output = child.wait_with_output().ok()?;
    serde_json::from_slice(&output.stdout).ok()
}

/// What a comparison asks of each night: agreement, kappa, each class both ways, the mean, and sleep against wake.
fn wanted() -> Vec<NightStatistic<'static>> {
    let sleep_wake = |t: &Table| t.folded(2, &[0, 1, 1, 1, 1]).unwrap();
    let mut all = vec![
        NightStatistic::share(accuracy, Table::n),
        NightStatistic::coefficient(cohen_kappa),
        NightStatistic::share(balanced_accuracy, Table::n),
        NightStatistic::share(move |t| accuracy(&sleep_wake(t)), Table::n),
        NightStatistic::coefficient(move |t| cohen_kappa(&sleep_wake(t))),
    ];
    for class in 0..CLASSES {
        all.push(NightStatistic::share(move |t| sensitivity(t, class), move |t| t.row_sum(class)));
        all.push(NightStatistic::share(move |t| ppv(t, class), move |t| t.column_sum(class)));
    }
    all
}

fn study(nights: usize, threads: usize) -> usize {
    let wanted = wanted();
    let asked = Resampling { replicates: 2000, seed: SEED, threads: 1 };
    let device_nights: Vec<u64> = (0..nights as u64 * 8).collect();
    let one = |number: &u64| {
        let pairs = night(&mut Pcg32::new(SEED ^ number, *number));
        night_intervals(CLASSES, &pairs, asked, &wanted).iter().filter(|of| of.is_ok()).count()
    };
    on_threads(&device_nights, threads, one).into_iter().sum()
}

/// Seconds that the cores have worked for this process, on Linux: unlike those of a clock they do not depend on what else
/// runs. The kernel counts in hundredths.
fn worked() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let fields: Vec<&str> = stat.rsplit(')').next()?.split_whitespace().collect();
    let ticks = |at: usize| fields.get(at)?.parse::<f64>().ok();
    Some((ticks(11)? + ticks(12)?) / 100.0)
}

fn many_nights() {
    println!("\n{} numbers of each of 8 devices on each night, 2,000 resamples\n", wanted().len());
    println!("| nights | threads | s by the clock | s of work | work for 1,000 nights | intervals |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for (nights, threads) in [(250, 1), (250, 2), (500, 2), (1000, 2)] {
        let before = worked();
        let (seconds, intervals) = fastest(1, || study(nights, threads));
        let work = worked().zip(before).map_or(f64::NAN, |(after, before)| after - before);
        println!(
            "| {nights} | {threads} | {seconds:.1} | {work:.1} | {:.1} | {intervals} |",
            work * 1e3 / nights as f64
        );
    }
}
