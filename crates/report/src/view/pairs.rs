//! Device against device over all nights.

use super::table::{Cell, Row, Table};
use crate::draw::text::clean;
use crate::words;
use crate::words::pairs as said;
use askama::Template;
use counterpane_compare::{DevicePair, DevicePairs, PairDifference, Ranks};

/// How far every two devices lie apart, which of them can be told apart, and the ranks that this leaves open.
#[derive(Debug, Template)]
#[template(path = "pairs.html")]
pub(crate) struct Pairs {
    headline: String,
    verdict: Vec<String>,
    table: Table,
    ranks: Vec<Table>,
    shares: &'static str,
}

impl Pairs {
    /// Returns the view; `None` where no two devices were worn by two people on the same nights.
    pub(crate) fn of(pairs: &DevicePairs) -> Option<Pairs> {
        if pairs.pairs.is_empty() {
            return None;
        }
        let told = pairs.pairs.iter().filter(|p| p.better().is_some()).count();
        let ranks = if pairs.may_tell() { pairs.ranks.as_slice() } else { &[] };
        Some(Pairs {
            headline: format!("{told} of {} told apart", words::count(pairs.pairs.len(), "pair")),
            verdict: said::verdict(pairs).iter().map(|s| clean(s)).collect(),
            table: table(pairs),
            ranks: ranks.iter().enumerate().map(|(i, set)| ranked(set, i)).collect(),
            shares: said::SHARES,
        })
    }
}

fn table(pairs: &DevicePairs) -> Table {
    let columns: Vec<String> = std::iter::once("First and second".to_owned())
        .chain(std::iter::once(words::capital(&words::planned::measure(pairs.measure))))
        .chain(["p, adjusted".to_owned(), "Exploratory".to_owned(), "n".to_owned()])
        .collect();
    let heads: Vec<&str> = columns.iter().map(String::as_str).collect();
    let note = format!(
        "{} Below each difference its interval, and the mean of each device on these epochs. What is exploratory is not \
         adjusted and tells no devices apart.",
        said::about(pairs)
    );
    let mut table = Table::new("all-pairs".into(), "Device against device", &note, &heads);
    pairs.pairs.iter().for_each(|pair| table.row(row(pair)));
    table
}

fn row(pair: &DevicePair) -> Row {
    let of = &pair.main;
    let adjusted = of.adjusted.map_or_else(|| "not of the protocol".to_owned(), |p| format!("adjusted {}", said::p(p)));
    let p = of.p.map_or_else(|_| "none".to_owned(), said::p);
    let people = words::count(of.difference.each.len(), "participant");
    let nights = words::count(of.difference.nights(), "night");
    let [value, interval, means] = lines(of);
    let others: Vec<String> = pair.others.iter().map(other).collect();
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    let cells = vec![
        Cell::number_lines(&value, &[&interval, &means]),
        Cell::number(&p, &adjusted),
        Cell::words_lines("", &others),
        Cell::words_lines(&people, &[&nights, &format!("{} epochs", pair.epochs)]),
    ];
    let under = format!("in {}", words::scheme_words(pair.scheme));
    Row::new(&format!("{} \u{2212} {}", pair.devices[0], pair.devices[1]), &under, cells)
}

/// The difference, its interval, and the mean of each device.
fn lines(of: &PairDifference) -> [String; 3] {
    let value = of
        .difference
        .mean
        .map_or_else(|why| format!("undefined: {}", why.words()), |v| said::difference(of.measure, v));
    let interval = match of.difference.interval {
        Ok(limits) => format!("95 %: {}", said::between(of.measure, limits)),
        Err(why) => why.words(),
    };
    let mean = |at: usize| of.means[at].map_or_else(|_| "-".to_owned(), |v| words::planned::value(of.measure, v));
    [value, interval, format!("{} and {}", mean(0), mean(1))]
}

fn other(of: &PairDifference) -> String {
    let [value, interval, _] = lines(of);
    format!("{}: {value}, {interval}", words::planned::measure(of.measure))
}

fn ranked(set: &Ranks, at: usize) -> Table {
    let caption = format!("Ranks left open, in {}", words::scheme_words(set.scheme));
    let note = format!(
        "1 + the devices that are better beyond chance, to all less those that are worse (Mogstad et al. 2024, Review of \
         Economic Studies 91, 476-518, from memory). Shares: {} drawn anew.",
        words::count(set.people, "participant")
    );
    let columns = ["Device", "Rank", "Share of resampled studies, rank by rank"];
    let mut table = Table::new(format!("all-ranks-{}", at + 1), &caption, &note, &columns);
    for device in &set.devices {
        let shares: Vec<String> =
            device.shares.iter().enumerate().map(|(i, s)| format!("{}: {}", i + 1, words::share(*s))).collect();
        let cells = vec![Cell::brief(&said::rank(device.interval)), Cell::words(&shares.join(", "))];
        table.row(Row::new(&device.device, "", cells));
    }
    table.stacked()
}
