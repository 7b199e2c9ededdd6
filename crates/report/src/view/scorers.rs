//! Scorers against each other, beside the devices.

use super::table::{Cell, Row, Table};
use crate::words::intervals::{between_shares, between_two};
use crate::words::{self, scorers as said};
use counterpane_compare::{Figure, Interval, OverPeople, ScorerIntervals, Scorers, specific_agreement};

/// Every pair over all nights that both scored; empty where no night has two scorers.
pub(crate) fn pairs(scorers: &Scorers, intervals: &ScorerIntervals) -> Table {
    let columns =
        ["Scorers", "Epochs that agree", "Cohen's kappa", "Specific agreement: both, of all that either gave"];
    let mut table = Table::new("all-scorers".into(), "Scorer against scorer over all nights", said::CEILING, &columns);
    for (at, pair) in scorers.pairs.iter().enumerate() {
        let own = intervals.pairs.get(at);
        let within = intervals.within(scorers, at);
        let a = &pair.pooled;
        let n = format!("{} epochs", a.n);
        let nights =
            format!("{} of {}", words::count(pair.nights, "night"), words::count(pair.participants, "participant"));
        let under = format!("{}; {nights}; in {}", said::pair_kind(&pair.sources), words::scheme_words(a.scheme));
        let range = said::kappa_range(pair).map(|r| format!("nights {r}")).unwrap_or_default();
        let agree = interval_words(within.map(|w| w.accuracy), own.map(|o| &o.accuracy), between_shares);
        let kappa = interval_words(within.map(|w| w.kappa), own.map(|o| &o.kappa), between_two);
        let mean = format!("mean over people {}", said_or_why(pair.mean_kappa, words::two));
        let of_class =
            |(class, figure): (_, Figure)| format!("{} {}", words::called(class), said_or_why(figure, words::share));
        let specific: Vec<String> = specific_agreement(a).into_iter().map(of_class).collect();
        let cells = vec![
            Cell::number_lines(&said_or_why(a.accuracy, words::share), &[&n, &agree]),
            Cell::number_lines(&said_or_why(a.kappa, words::two), &[&mean, &kappa, &range]),
            Cell::words(&specific.join(", ")),
        ];
        table.row(Row::new(&said::pair_name(&pair.sources), &under, cells));
    }
    table
}

/// What is said below the table: groups, and what has been published.
pub(crate) fn sentences(scorers: &Scorers) -> Vec<String> {
    let groups = scorers.groups.iter().map(said::group_sentence);
    let published = (!scorers.pairs.is_empty()).then(|| said::PUBLISHED.to_owned());
    groups.chain(published).map(|s| crate::draw::text::clean(&s)).collect()
}

/// The interval of the only night within it, else that of the mean over people.
fn interval_words(
    within: Option<Interval>,
    over: Option<&OverPeople>,
    wording: fn(counterpane_compare::Limits) -> String,
) -> String {
    match (within, over.map(|o| (o, o.interval))) {
        (Some(Ok(limits)), _) => format!("95 %, within the night: {}", wording(limits)),
        (Some(Err(why)), _) => why.words(),
        (None, Some((of, Ok(limits)))) => format!("95 %, over {}: {}", words::intervals::over(of), wording(limits)),
        (None, Some((_, Err(why)))) => why.words(),
        (None, None) => String::new(),
    }
}

fn said_or_why(figure: Figure, wording: fn(f64) -> String) -> String {
    figure.map_or_else(|why| format!("undefined: {}", why.words()), wording)
}
