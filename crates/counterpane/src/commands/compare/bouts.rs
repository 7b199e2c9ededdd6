//! Wakes as events, for the terminal.

use super::intervals;
use crate::output::{Out, clean, table};
use counterpane_compare::{BoutCounts, BoutsTogether, Inference, Limits, NightComparison, OverPeople, Tally};
use counterpane_model::Zone;
use counterpane_report::words::intervals::between_shares;
use counterpane_report::words::{bouts as said, fine_share};

/// Prints how many wakes each device of a night found and made up, and each long wake with what the devices made of it.
pub(super) fn print_night(n: &NightComparison, inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    let Some(bouts) = inference.wakes.of(&n.reference_key).filter(|b| !b.devices.is_empty()) else { return Ok(()) };
    out.paragraph("wakes as events: found, of the reference's wakes; true, of the device's own; made up, in an hour of sleep; by how many minutes those found start late, and are off either way")?;
    let rows: Vec<Vec<String>> = bouts.devices.iter().map(|d| cells(&said::device_name(n, d), &d.counts)).collect();
    print_table(&rows, out)?;
    let named = bouts.devices.iter().map(|d| (said::device_name(n, d), &d.counts));
    out.paragraph(clean(&said::one_to_one(named)))?;
    let zone = Zone::named(&n.zone)?;
    let long = said::long_wakes(n, bouts, &zone);
    if long.is_empty() {
        out.paragraph("no wake of the reference lasted 5 min")?;
    }
    long.iter().try_for_each(|sentence| out.paragraph(clean(sentence)))?;
    out.line("")
}

/// Prints the same over all nights, with what the words mean.
pub(super) fn print_together(inference: &Inference, nights: usize, out: &mut Out) -> anyhow::Result<()> {
    let devices = &inference.wakes.devices;
    if devices.is_empty() {
        return Ok(());
    }
    if nights > 1 {
        out.paragraph("wakes as events, all wakes of all nights counted together")?;
        let rows: Vec<Vec<String>> = devices.iter().map(|d| cells(&d.name, &d.pooled)).collect();
        print_table(&rows, out)?;
        out.paragraph(clean(&said::one_to_one(devices.iter().map(|d| (d.name.clone(), &d.pooled)))))?;
        out.paragraph("the same as the mean over people of the mean over their nights, each with its 95 % interval: over people, below five of them each person's own mean; or over the nights of the only person")?;
        let head = ["device", "over", "found", "", "true", "", "made up", ""];
        let rows: Vec<Vec<String>> = devices.iter().map(mean_cells).collect();
        out.raw(&table(&head, &[2, 4, 6], &rows, out.width()))?;
    }
    out.paragraph(said::MEANING)?;
    out.paragraph(said::NO_INTERVAL)?;
    out.line("")
}

fn print_table(rows: &[Vec<String>], out: &mut Out) -> anyhow::Result<()> {
    let head = ["device", "found", "0.5-2", "2-5", "5+ min", "true", "made up", "late (off)"];
    out.raw(&table(&head, &[1, 2, 3, 4, 5, 6, 7], rows, out.width()))
}

fn mean_cells(d: &BoutsTogether) -> Vec<String> {
    let share =
        |of: &OverPeople| [of.mean.map_or_else(|_| "-".to_owned(), fine_share), beside(of, between_shares, share_of)];
    let per_hour = &d.false_per_hour;
    let made_up = [said::per_hour(per_hour.mean), beside(per_hour, said::between_rates, said::rate)];
    let over = vec![clean(&d.name), intervals::over(&d.recall)];
    over.into_iter().chain(share(&d.recall)).chain(share(&d.precision)).chain(made_up).collect()
}

/// Returns the interval of a mean; of few people each own mean, for an interval would say little.
fn beside(of: &OverPeople, between: fn(Limits) -> String, wording: fn(f64) -> String) -> String {
    if !said::each_for_itself(of) {
        return intervals::short(&of.interval, between);
    }
    let each: Vec<String> = of.each.iter().map(|person| wording(person.mean)).collect();
    let unit = if each.iter().all(|text| text.ends_with(" %")) { " %" } else { "" };
    format!("{}{unit}", each.iter().map(|text| text.trim_end_matches(" %")).collect::<Vec<_>>().join(" / "))
}

fn share_of(value: f64) -> String {
    format!("{:.0} %", 100.0 * value)
}

fn cells(name: &str, counts: &BoutCounts) -> Vec<String> {
    let found = |t: &Tally| said::part(t.found, t.bouts);
    let [short, middle, long] = counts.by_length.each_ref().map(found);
    let own = said::part(counts.all.device_true, counts.all.device);
    let per_hour = said::per_hour(counts.false_per_hour());
    vec![clean(name), found(&counts.all), short, middle, long, own, per_hour, said::onset(counts)]
}
