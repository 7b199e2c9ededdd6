//! What a reviewer left out or corrected on purpose, and what the numbers are either way.

use super::notes::local;
use super::table::{Cell, Row, Table};
use crate::draw::text::{clean, coded};
use crate::input::{ExclusionLine, Page};
use crate::words::intervals::{between_shares, between_two, interval};
use crate::words::{self, decided};
use askama::Template;
use counterpane_compare::{Comparison, DevicePeople, Limits, NightComparison, OverPeople, people};
use counterpane_model::Looked;

/// The section.
#[derive(Debug, Template)]
#[template(path = "left_out.html")]
pub(crate) struct LeftOut {
    counted: String,
    exclusions: Table,
    both_ways: Option<Table>,
    /// Something was left out, and no number over all nights differs.
    unchanged: bool,
    clocks: Vec<String>,
    nights: Vec<String>,
}

impl LeftOut {
    /// Returns the view of the section.
    pub(crate) fn new(page: &Page) -> LeftOut {
        let comparison = &page.comparison;
        let mut clocks: Vec<String> = Vec::new();
        for night in &comparison.nights {
            let name = words::night_name(night);
            clocks.extend(clock_sentences(night).into_iter().map(|said| clean(&format!("{name}: {said}"))));
        }
        let both_ways = page.with_excluded.as_ref().map(|whole| both_ways(page, whole));
        let unchanged = both_ways.as_ref().is_some_and(Table::is_empty);
        LeftOut {
            counted: counted(&page.exclusions, page.with_excluded.is_some(), clocks.len()),
            exclusions: exclusions(&page.exclusions),
            both_ways: both_ways.filter(|t| !t.is_empty()),
            unchanged,
            clocks,
            nights: page.left_out.iter().map(|t| coded(t)).collect(),
        }
    }
}

/// The corrected clocks of a night, a sentence each with the result on either clock.
pub(crate) fn clock_sentences(night: &NightComparison) -> Vec<String> {
    let devices = night.devices.iter();
    let said = devices.filter_map(|d| Some(format!("{}: {}", words::name_on(night, d), decided::clock(d)?)));
    said.chain(night.reference_clock.as_ref().map(decided::reference_clock)).map(|s| clean(&s)).collect()
}

fn counted(exclusions: &[ExclusionLine], applied: bool, clocks: usize) -> String {
    if exclusions.is_empty() && clocks == 0 {
        return "Nothing was left out on purpose, and no clock corrected.".into();
    }
    let corrected = match clocks {
        0 => "No clock was corrected.".to_owned(),
        1 => "1 clock was corrected.".to_owned(),
        n => format!("{n} clocks were corrected."),
    };
    if exclusions.is_empty() {
        return format!("Nothing was left out on purpose. {corrected}");
    }
    let after = exclusions.iter().filter(|e| e.exclusion.looked == Looked::After).count();
    let looked = match (after, exclusions.len()) {
        (0, 1) => "It was taken before anybody looked at results.".to_owned(),
        (0, _) => "All were taken before anybody looked at results.".to_owned(),
        (1, 1) => "It was taken after looking at results, so it may have been taken because of them.".to_owned(),
        (n, all) => {
            format!("{n} of {all} after looking at results: what is left out then may have been chosen by them.")
        }
    };
    let kept = if applied { "" } else { " This report was asked to count all of it nevertheless." };
    let decisions = match exclusions.len() {
        1 => "1 decision leaves something out of this report.".to_owned(),
        n => format!("{n} decisions leave something out of this report."),
    };
    format!("{decisions} {looked}{kept} {corrected}")
}

fn exclusions(lines: &[ExclusionLine]) -> Table {
    let note = "What is left out stays in the store, and a stretch on the hypnograms too, under bars in a heavy frame.";
    let columns = ["Decision", "What is left out", "From and until, local time", "Why", "When and by whom"];
    let mut table = Table::new("left-out-t".into(), "Every decision that leaves something out", note, &columns);
    for ExclusionLine { night, zone, exclusion: e } in lines {
        let what = match (&e.source, e.stretch) {
            (Some(source), _) => source.clone(),
            (None, Some(_)) => "everything in the stretch".to_owned(),
            (None, None) => "the whole night".to_owned(),
        };
        let stretch = match e.stretch {
            Some((from, until)) => Cell::words_lines(&local(zone, from), &[&format!("until {}", local(zone, until))]),
            None if e.source.is_some() => Cell::words("the whole recording"),
            None => Cell::words("the whole night"),
        };
        let looked = format!("{} looking", e.looked.code());
        let by = format!("{}, {}", e.by, words::when(&e.at));
        let cells =
            vec![Cell::brief_under(night, &what), stretch, Cell::words(&e.reason), Cell::words_under(&looked, &by)];
        table.row(Row::new(&e.decision.to_string(), "", cells));
    }
    table.stacked()
}

/// The devices of which a number differs, over all nights as this report counts them, and below it with all that was left
/// out; the others by name.
fn both_ways(page: &Page, whole: &Comparison) -> Table {
    let counted = &page.comparison;
    let mut differing = Vec::new();
    let mut same = Vec::new();
    for device in &whole.devices {
        let own = counted.devices.iter().find(|d| d.name == device.name);
        match [own.and_then(|d| d.pooled.as_ref()), device.pooled.as_ref()] {
            [None, None] => {}
            [without, with] if without == with => same.push(device.name.as_str()),
            _ => differing.push(device.clone()),
        }
    }
    let others = match same.len() {
        0 => String::new(),
        _ => format!(" No number differs for {}.", same.join(", ")),
    };
    let note = format!(
        "The mean over people of the mean over their nights, in brackets its 95 % interval (of one person: over their \
         nights, and for this person only). Large: as this report counts. Small: the same with everything that was left out \
         on purpose.{others}"
    );
    let columns = ["Device", "Epochs compared (n)", "Epochs that agree", "Cohen's kappa"];
    let mut table = Table::new("both-ways-t".into(), "With and without what was left out", &note, &columns);
    let with = people(&Comparison { devices: differing.clone(), ..whole.clone() }, page.inference.asked);
    for device in &differing {
        let own = counted.devices.iter().find(|d| d.name == device.name).and_then(|d| d.pooled.as_ref());
        let n = [own, device.pooled.as_ref()].map(|a| a.map_or("0".to_owned(), |a| a.n.to_string()));
        let both = [page.inference.people_of(&device.name), with.iter().find(|p| p.name == device.name)];
        table.row(both_of(&device.name, n, both));
    }
    table.stacked()
}

fn both_of(name: &str, n: [String; 2], both: [Option<&DevicePeople>; 2]) -> Row {
    let cell = |[without, with]: [String; 2]| Cell::number(&without, &format!("with it {with}"));
    let mean = |of: fn(&DevicePeople) -> &OverPeople, say: fn(f64) -> String, between: fn(Limits) -> String| {
        both.map(|own| match own.map(of).map(|m| (m.mean, m.interval)) {
            None => "not compared".to_owned(),
            Some((Err(why), _)) => format!("undefined: {}", why.words()),
            Some((Ok(mean), made)) => format!("{} ({})", say(mean), interval(&made, between)),
        })
    };
    let agree = mean(|p| &p.stages.accuracy, words::fine_share, between_shares);
    let kappa = mean(|p| &p.stages.kappa, words::two, between_two);
    Row::new(name, "", vec![cell(n), cell(agree), cell(kappa)])
}
