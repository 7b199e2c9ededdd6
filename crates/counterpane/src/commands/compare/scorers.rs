//! Scorers against each other, for the terminal.

use super::intervals::short;
use super::{share, two};
use crate::output::{Out, clean, table};
use counterpane_compare::{Agreement, ScorerIntervals, Scorers, specific_agreement};
use counterpane_model::{Source, Stage};
use counterpane_report::words::intervals::{between_shares, between_two, over};
use counterpane_report::words::scorers as said;

/// Prints every pair, night by night and over all nights, and groups of three or more; nothing where no night has two
/// scorers.
pub(super) fn print(scorers: &Scorers, intervals: &ScorerIntervals, out: &mut Out) -> anyhow::Result<()> {
    if scorers.nights.is_empty() {
        return Ok(());
    }
    out.paragraph(said::CEILING)?;
    if scorers.nights.len() > 1 {
        let rows: Vec<Vec<String>> = scorers
            .nights
            .iter()
            .flat_map(|n| n.pairs.iter().map(move |p| (n, p)))
            .map(|(n, p)| {
                let night = clean(&format!("{}/{}", n.participant, n.night));
                [vec![night], cells(&p.sources, p.agreement.as_ref())].concat()
            })
            .collect();
        let head = ["night", "scorers", "who", "classes", "n", "agree", "kappa"];
        out.raw(&table(&head, &[4, 5, 6], &rows, out.width()))?;
    }
    within(scorers, intervals, out)?;
    let head = ["scorers", "who", "classes", "n", "agree", "kappa", "nights", "kappa of nights"];
    let rows: Vec<Vec<String>> = scorers
        .pairs
        .iter()
        .map(|p| {
            let range = said::kappa_range(p).unwrap_or_else(|| "-".into());
            [cells(&p.sources, Some(&p.pooled)), vec![p.nights.to_string(), range]].concat()
        })
        .collect();
    out.raw(&table(&head, &[3, 4, 5, 6], &rows, out.width()))?;
    over_nights(scorers, intervals, out)?;
    out.line("")?;
    out.paragraph("specific agreement: of all that either gave to a stage, the share on which both agree")?;
    let head = ["scorers", "W", "N1", "N2", "light", "N3", "R", "NREM", "sleep"];
    let rows: Vec<Vec<String>> = scorers.pairs.iter().map(|p| specific_cells(&p.sources, &p.pooled)).collect();
    out.raw(&table(&head, &[1, 2, 3, 4, 5, 6, 7, 8], &rows, out.width()))?;
    out.line("")?;
    for group in &scorers.groups {
        out.paragraph(clean(&said::group_sentence(group)))?;
    }
    out.paragraph(said::PUBLISHED)?;
    out.line("")
}

/// The intervals of each night, a line for each pair.
fn within(scorers: &Scorers, intervals: &ScorerIntervals, out: &mut Out) -> anyhow::Result<()> {
    let mut rows = Vec::new();
    for (night, own) in scorers.nights.iter().zip(&intervals.nights) {
        for (pair, of) in night.pairs.iter().zip(own).filter_map(|(p, of)| Some((p, of.as_ref()?))) {
            rows.push(vec![
                clean(&format!("{}/{}", night.participant, night.night)),
                clean(&said::pair_name(&pair.sources)),
                short(&of.accuracy, between_shares),
                short(&of.kappa, between_two),
            ]);
        }
    }
    if rows.is_empty() {
        return Ok(());
    }
    out.paragraph("95 % intervals within each night, approximate")?;
    out.raw(&table(&["night", "scorers", "agree", "kappa"], &[2, 3], &rows, out.width()))?;
    out.line("")
}

/// The intervals of means over people; nothing where every pair has one night, whose interval stands above.
fn over_nights(scorers: &Scorers, intervals: &ScorerIntervals, out: &mut Out) -> anyhow::Result<()> {
    let several = scorers.pairs.iter().zip(&intervals.pairs).filter(|(p, _)| p.nights > 1);
    let row = |(pair, of): (&counterpane_compare::PairSummary, &counterpane_compare::PairOverPeople)| {
        vec![
            clean(&said::pair_name(&pair.sources)),
            over(&of.kappa),
            short(&of.accuracy.interval, between_shares),
            short(&of.kappa.interval, between_two),
        ]
    };
    let rows: Vec<Vec<String>> = several.map(row).collect();
    if rows.is_empty() {
        return Ok(());
    }
    out.paragraph("95 % intervals of the mean over people of the mean over their nights")?;
    out.raw(&table(&["scorers", "over", "agree", "kappa"], &[2, 3], &rows, out.width()))
}

fn cells(sources: &[Source; 2], agreement: Option<&Agreement>) -> Vec<String> {
    let figures = agreement.map_or_else(
        || vec!["none shared".into(), "0".into(), "-".into(), "-".into()],
        |a| vec![a.scheme.code().into(), a.n.to_string(), share(a.accuracy), two(a.kappa)],
    );
    [vec![clean(&said::pair_name(sources)), said::pair_kind(sources).to_owned()], figures].concat()
}

fn specific_cells(sources: &[Source; 2], agreement: &Agreement) -> Vec<String> {
    let all = specific_agreement(agreement);
    let of = |stage: Stage| all.iter().find(|(class, _)| *class == stage).and_then(|(_, figure)| figure.ok());
    let stages =
        [Stage::W, Stage::N1, Stage::N2, Stage::Light, Stage::N3, Stage::R, Stage::Nrem, Stage::Asleep].map(of);
    let shares = stages.map(|figure| figure.map_or_else(|| "-".into(), |v| share(Ok(v))));
    [vec![clean(&said::pair_name(sources))], shares.to_vec()].concat()
}
