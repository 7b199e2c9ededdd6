//! What the numbers leave open, for the terminal.

use super::name_in;
use crate::output::{Out, clean, table};
use counterpane_compare::{
    Across, DeviceNight, DevicePeople, Inference, Interval, IntervalBy, Limits, NightComparison, NoInterval,
    OverPeople, SHOW_EACH_BELOW,
};
use counterpane_report::words;
use counterpane_report::words::intervals::{between_shares, between_two};
use std::collections::BTreeSet;

/// Prints the intervals of a night, a line for each device that was compared.
pub(super) fn within_night(n: &NightComparison, inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    let rows: Vec<Vec<String>> = n.devices.iter().filter_map(|d| within_cells(n, inference, d)).collect();
    if rows.is_empty() {
        return Ok(());
    }
    out.paragraph("95 % intervals within this night, approximate")?;
    let head = ["device", "agree", "kappa", "mean sens.", "worst sens."];
    out.raw(&table(&head, &[1, 2], &rows, out.width()))
}

fn within_cells(n: &NightComparison, inference: &Inference, d: &DeviceNight) -> Option<Vec<String>> {
    let of = inference.within_nights.of(n, d)?.stages.as_ref()?;
    Some(vec![
        name_in(n, d),
        short(&of.accuracy, between_shares),
        short(&of.kappa, between_two),
        short(&of.mean_sensitivity, between_shares),
        short(&of.worst_sensitivity, between_shares),
    ])
}

/// Prints the intervals of the means over people, and where they are few, each person.
pub(super) fn over_people(people: &[DevicePeople], out: &mut Out) -> anyhow::Result<()> {
    if people.is_empty() {
        return Ok(());
    }
    let across: Vec<Across> = people.iter().map(|p| p.stages.accuracy.across).collect();
    out.paragraph(match (across.contains(&Across::People), across.contains(&Across::Nights)) {
        (true, false) => "95 % intervals of the means over people",
        (false, _) => "95 % intervals of the means, over the nights of this one person only",
        (true, true) => "95 % intervals of the means: over people, or over the nights of the only person",
    })?;
    let rows: Vec<Vec<String>> = people.iter().map(mean_cells).collect();
    out.raw(&table(&["device", "over", "agree", "kappa", "of all scored"], &[2, 3, 4], &rows, out.width()))?;
    let few: Vec<&DevicePeople> = people.iter().filter(|p| few_people(p)).collect();
    if !few.is_empty() {
        each_person(&few, out)?;
    }
    Ok(())
}

/// Says how the intervals over people were made, and what they do not say.
pub(super) fn said_of_means(people: &[DevicePeople], out: &mut Out) -> anyhow::Result<()> {
    let made: Vec<&OverPeople> = people.iter().map(|p| &p.stages.accuracy).filter(|of| of.interval.is_ok()).collect();
    let any = |across: Across, drawn: bool| {
        made.iter().any(|of| of.across == across && (of.by == Some(IntervalBy::ClusterBootstrap)) == drawn)
    };
    if any(Across::People, false) {
        let people = made.iter().filter(|of| of.across == Across::People).map(|of| of.n()).min().unwrap_or(0);
        out.paragraph(format_args!(
            "An interval over people is Student's, on one mean for each person: it speaks of people like these. {}",
            words::held::over_people(people).unwrap_or_default()
        ))?;
    }
    if any(Across::People, true) {
        out.paragraph(
            "From 20 people on, people are drawn anew, each with all nights: the interval speaks of people like these.",
        )?;
    }
    if made.iter().any(|of| of.across == Across::Nights) {
        out.paragraph("All nights are of one person: the interval over them speaks of this person only, and takes the nights as independent of each other.")?;
    }
    if people.iter().any(|p| p.pooled.stages.accuracy == Err(NoInterval::FewPeople(p.pooled.people))) {
        out.paragraph(
            "All epochs in one matrix have no interval of their own below 20 people: the mean over people has it.",
        )?;
    }
    Ok(())
}

fn mean_cells(p: &DevicePeople) -> Vec<String> {
    vec![
        clean(&p.name),
        over(&p.stages.accuracy),
        short(&p.stages.accuracy.interval, between_shares),
        short(&p.stages.kappa.interval, between_two),
        short(&p.accuracy_missing_wrong.interval, between_shares),
    ]
}

/// Returns what a mean is spread over: `3 people`, or `6 nights` of the only one.
pub(super) fn over(of: &OverPeople) -> String {
    match of.across {
        Across::People => format!("{} people", of.n()),
        Across::Nights => words::count(of.n(), "night"),
    }
}

fn few_people(p: &DevicePeople) -> bool {
    let of = &p.stages.accuracy;
    of.across == Across::People && of.n() < SHOW_EACH_BELOW
}

/// Agreement and kappa of each person, where an interval rests on so few that it must not stand alone.
fn each_person(few: &[&DevicePeople], out: &mut Out) -> anyhow::Result<()> {
    out.paragraph(format_args!(
        "With fewer than {SHOW_EACH_BELOW} people an interval of their mean is only a hint, for their spread is hardly known. \
         Look at each person (agreement and kappa, mean over their nights):"
    ))?;
    let of = |p: &DevicePeople| p.stages.accuracy.each.iter().map(|e| e.code.clone()).collect::<Vec<_>>();
    let codes: BTreeSet<String> = few.iter().flat_map(|p| of(p)).collect();
    let heads: Vec<String> = codes.iter().flat_map(|code| [clean(code), String::new()]).collect();
    let head: Vec<&str> = std::iter::once("device").chain(heads.iter().map(String::as_str)).collect();
    let value = |of: &OverPeople, code: &str, wording: fn(f64) -> String| {
        of.each.iter().find(|e| e.code == code).map_or_else(|| "-".to_owned(), |e| wording(e.mean))
    };
    let row = |p: &&DevicePeople| {
        let two = |code: &String| {
            [value(&p.stages.accuracy, code, words::fine_share), value(&p.stages.kappa, code, plain_two)]
        };
        std::iter::once(clean(&p.name)).chain(codes.iter().flat_map(two)).collect()
    };
    let right: Vec<usize> = (1..head.len()).collect();
    out.raw(&table(&head, &right, &few.iter().map(row).collect::<Vec<_>>(), out.width()))
}

fn plain_two(value: f64) -> String {
    format!("{value:.2}")
}

/// Returns the ends of an interval, or in a few words why there is none.
pub(super) fn short(interval: &Interval, wording: fn(Limits) -> String) -> String {
    match interval {
        Ok(limits) => wording(*limits),
        Err(NoInterval::Undefined(_)) => "undefined".to_owned(),
        Err(NoInterval::FewBouts(n)) => format!("too few bouts ({n})"),
        Err(NoInterval::FewDeviceBouts(n)) => format!("too few bouts of the device ({n})"),
        Err(NoInterval::FewEpochs(n)) => format!("too few epochs ({n})"),
        Err(NoInterval::OftenUndefined) => "often undefined".to_owned(),
        Err(NoInterval::AtTheEnd) => "nothing varies".to_owned(),
        Err(NoInterval::OneNight) => "one night".to_owned(),
        Err(NoInterval::AllAlike(n)) => format!("all {n} alike"),
        Err(NoInterval::FewPeople(_)) => "see the mean".to_owned(),
    }
}
