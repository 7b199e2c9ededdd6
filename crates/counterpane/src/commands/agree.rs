//! `agree REF DEV --scheme S`: two plain label files, every statistic of one table, no study.

use crate::cli::Shape;
use crate::output::{Ended, Out, table};
use anyhow::{Context as _, bail};
use counterpane_compare::json::AgreementIntervalsJson;
use counterpane_compare::{AgreementIntervals, ClassIntervals, Interval, NoInterval, agreement_intervals};
use counterpane_model::{Scheme, Stage};
use counterpane_stats::{Agree, Resampling, agree};
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Labels of the reference, one a line; `?` is unscored
    #[arg(value_name = "REF")]
    reference: PathBuf,
    /// Labels of the device, one a line, as many as the reference
    #[arg(value_name = "DEV")]
    device: PathBuf,
    /// Classes: sleep-wake, three, four or five
    #[arg(long, value_name = "SCHEME")]
    scheme: Scheme,
    /// Add the intervals to the JSON; the text always has them. They hold where the lines are the epochs of one night in
    /// order of time
    #[arg(long)]
    intervals: bool,
    /// How often the lines are drawn anew for intervals
    #[arg(long, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u32).range(200..=1_000_000))]
    replicates: u32,
    /// Seed of what is drawn: the same seed gives the same intervals
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

/// What `agree` answers.
#[derive(Debug, serde::Serialize, schemars::JsonSchema)]
pub(crate) struct Answer {
    /// The statistics of the table.
    #[serde(flatten)]
    agree: Agree,
    /// Their intervals, 95 % and approximate, where the lines are the epochs of one night in order of time; only with
    /// `--intervals`.
    #[serde(skip_serializing_if = "Option::is_none")]
    intervals: Option<AgreementIntervalsJson>,
}

pub(crate) fn run(args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let reference = labels(&args.reference, args.scheme)?;
    let device = labels(&args.device, args.scheme)?;
    if reference.len() != device.len() {
        let (short, other) = if reference.len() < device.len() {
            (&args.reference, &args.device)
        } else {
            (&args.device, &args.reference)
        };
        let n = reference.len().min(device.len());
        bail!(
            "{}: line {} is not there: the file has {n} labels and {} has {}; both need one label for each epoch",
            short.display(),
            n + 1,
            other.display(),
            reference.len().max(device.len())
        );
    }
    let classes: Vec<&str> = args.scheme.classes().iter().map(|c| c.code()).collect();
    let answer = agree(args.scheme.code(), &classes, &reference, &device)?;
    let both = reference.iter().zip(&device).filter_map(|(r, d)| Some(((*r)?, (*d)?))).collect::<Vec<_>>();
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let asked = Resampling { replicates: args.replicates, seed: args.seed, threads };
    let intervals = agreement_intervals(args.scheme, &both, asked);
    match args.format {
        Shape::Json => {
            let intervals = args.intervals.then(|| AgreementIntervalsJson::from(&intervals));
            out.json(&Answer { agree: answer, intervals })?;
        }
        Shape::Text => {
            out.raw(&words(&answer, out.width()))?;
            print_intervals(&intervals, out)?;
        }
    }
    Ok(Ended::Fine)
}

/// The intervals of the numbers that have one.
fn print_intervals(of: &AgreementIntervals, out: &mut Out) -> anyhow::Result<()> {
    let said = |made: &Interval| match made {
        Ok(limits) => format!("{:.4} to {:.4}", limits.low, limits.high),
        Err(why) => why.words(),
    };
    out.line("")?;
    out.paragraph("95 % intervals, approximate, where the lines are the epochs of one night in order of time")?;
    for (name, made) in [("accuracy", &of.accuracy), ("kappa", &of.kappa), ("balanced accuracy", &of.mean_sensitivity)]
    {
        out.line(format_args!(" {name:<18} {}", said(made)))?;
    }
    out.line("")?;
    let bouts = |n: Option<usize>| n.map_or_else(|| "-".to_owned(), |n| n.to_string());
    // The row says how many bouts there are.
    let brief = |made: &Interval| match made {
        Err(NoInterval::FewBouts(_) | NoInterval::FewDeviceBouts(_)) => "too few bouts".to_owned(),
        Err(NoInterval::Undefined(_)) => "undefined".to_owned(),
        made => said(made),
    };
    let row = |c: &ClassIntervals| {
        vec![c.class.code().to_owned(), bouts(c.bouts), bouts(c.device_bouts), brief(&c.sensitivity), brief(&c.ppv)]
    };
    let rows: Vec<Vec<String>> = of.per_class.iter().map(row).collect();
    out.raw(&table(&["class", "bouts", "of device", "sensitivity", "PPV"], &[1, 2], &rows, out.width()))?;
    out.line("")?;
    out.paragraph("They are made by drawing the lines anew in blocks, for neighbouring epochs resemble each other, and say nothing about other nights or other people. The standard error of kappa holds for independent pairs only: it is no interval for sleep data. The other statistics have none here.")
}

/// Bytes of a label file: far more than a year of epochs.
const MOST_BYTES: u64 = 64 << 20;

/// Reads one label a line as class numbers; a byte order mark, CRLF and blank ends are tolerated.
fn labels(path: &Path, scheme: Scheme) -> anyhow::Result<Vec<Option<usize>>> {
    let shown = path.display();
    let facts = std::fs::metadata(path).with_context(|| shown.to_string())?;
    if !facts.is_file() || facts.len() > MOST_BYTES {
        bail!(
            "{shown} is not a list of labels: it is {}",
            if facts.is_file() { "too large" } else { "no regular file" }
        );
    }
    let bytes = std::fs::read(path).with_context(|| shown.to_string())?;
    let text = String::from_utf8(bytes).with_context(|| format!("{shown}: the file is not UTF-8 text"))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text).trim_end();
    if text.is_empty() {
        bail!("{shown}: the file is empty; write one label a line");
    }
    let label = |(i, line): (usize, &str)| {
        let word = line.trim();
        let line = i + 1;
        if word == "?" {
            return Ok(None);
        }
        let known = "W, N1, N2, N3, R, Light, NREM, Asleep and ? for unscored";
        let stage: Stage = word.parse().map_err(|_| {
            anyhow::anyhow!(
                "{shown}: line {line}: `{}` is not a label; labels are {known}",
                crate::output::clean(&word.chars().take(40).collect::<String>())
            )
        })?;
        match scheme.index(stage) {
            Some(index) => Ok(Some(index)),
            None => {
                bail!("{shown}: line {line}: `{word}` is too coarse for the scheme `{scheme}`; choose a coarser scheme")
            }
        }
    };
    text.lines().enumerate().map(label).collect()
}

fn words(a: &Agree, width: usize) -> String {
    let number = |value: Option<f64>, name: &str| match (value, a.undefined.get(name)) {
        (Some(v), _) => format!("{v:.4}"),
        (None, Some(why)) => format!("undefined: {}", why.words()),
        (None, None) => "undefined".into(),
    };
    let mut out = format!("scheme {}, {} epochs that both scored\n\n", a.scheme, a.n);
    out.push_str("Counts of epochs: the reference in rows, the device in columns\n");
    let head: Vec<&str> = std::iter::once("").chain(a.classes.iter().map(String::as_str)).chain(["sum"]).collect();
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (class, counts) in a.classes.iter().zip(&a.matrix) {
        let sum: u64 = counts.iter().sum();
        rows.push(std::iter::once(class.clone()).chain(counts.iter().chain([&sum]).map(u64::to_string)).collect());
    }
    let right: Vec<usize> = (1..head.len()).collect();
    out.push_str(&table(&head, &right, &rows, width));
    out.push('\n');
    let all = [
        ("accuracy", a.accuracy),
        ("kappa", a.kappa),
        ("kappa_se", a.kappa_se),
        ("pabak", a.pabak),
        ("mcc", a.mcc),
        ("ac1", a.ac1),
        ("balanced_accuracy", a.balanced_accuracy),
        ("macro_f1", a.macro_f1),
        ("weighted_f1", a.weighted_f1),
    ];
    for (name, value) in all {
        out.push_str(&format!(" {:<18} {}\n", name.replace('_', " "), number(value, name)));
    }
    out.push('\n');
    let rows: Vec<Vec<String>> = a
        .per_class
        .iter()
        .map(|c| {
            let of = |value, name: &str| match value {
                Some(v) => format!("{v:.4}"),
                None => number(None, &format!("per_class.{}.{name}", c.class)),
            };
            vec![
                c.class.clone(),
                of(c.sensitivity, "sensitivity"),
                of(c.specificity, "specificity"),
                of(c.ppv, "ppv"),
                of(c.npv, "npv"),
                of(c.f1, "f1"),
            ]
        })
        .collect();
    out.push_str(&table(&["class", "sensitivity", "specificity", "PPV", "NPV", "F1"], &[], &rows, width));
    out
}
