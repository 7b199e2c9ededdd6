//! What devices are measured against, for the terminal.

use super::name_in;
use crate::output::{Out, clean, table};
use counterpane_compare::{Baselines, Beside, Comparison, NightComparison};
use counterpane_report::words::{baselines as said, listed};

/// Prints what comes for free on a night, a line for each device that was compared.
pub(super) fn print_night(n: &NightComparison, baselines: &Baselines, out: &mut Out) -> anyhow::Result<()> {
    let own = |d| Some((name_in(n, d), &baselines.of(&n.reference_key, &d.key)?.beside));
    let all: Vec<(String, &Beside)> = n.devices.iter().filter_map(own).collect();
    if all.is_empty() {
        return Ok(());
    }
    out.paragraph("beside what comes for free in the same epochs")?;
    print_table(&all, out)
}

/// Prints the same over all nights, with what the words mean and what people reach.
pub(super) fn print_together(baselines: &Baselines, c: &Comparison, out: &mut Out) -> anyhow::Result<()> {
    if baselines.devices.is_empty() {
        return Ok(());
    }
    if c.nights.len() > 1 {
        out.paragraph("beside what comes for free, mean over people of the mean over their nights")?;
        let all: Vec<(String, &Beside)> = baselines.devices.iter().map(|d| (clean(&d.name), &d.beside)).collect();
        print_table(&all, out)?;
    }
    let asleep: Vec<String> = baselines
        .devices
        .iter()
        .map(|d| {
            let (own, free) = (said::share(d.beside.sleep_wake), said::share(d.beside.asleep_accuracy));
            format!("{} {own} (always asleep {free})", clean(&d.name))
        })
        .collect();
    out.paragraph(format_args!("sleep and wake alone, mean over people: {}", listed(&asleep)))?;
    out.paragraph(said::MEANING)?;
    if said::is_alone(baselines) {
        out.paragraph(said::ALONE)?;
    }
    let majority = c.nights.iter().any(|n| n.consensus.is_some());
    said::ceiling(baselines, majority).iter().try_for_each(|s| out.paragraph(clean(s)))?;
    out.line("")
}

fn print_table(all: &[(String, &Beside)], out: &mut Out) -> anyhow::Result<()> {
    let head = ["device", "agree", "always", "lots", "time", "skill", "kappa", "random", "time"];
    let rows: Vec<Vec<String>> = all.iter().map(|(name, of)| cells(name, of)).collect();
    out.raw(&table(&head, &[1, 2, 3, 4, 5, 6, 7, 8], &rows, out.width()))
}

fn cells(name: &str, of: &Beside) -> Vec<String> {
    vec![
        name.to_owned(),
        said::share(of.accuracy),
        said::share(of.always_accuracy),
        said::share(of.lots_accuracy),
        said::share(of.prior_accuracy),
        said::coefficient(of.skill_over_always()),
        said::coefficient(of.kappa),
        said::random(&of.random),
        said::coefficient(of.prior_kappa),
    ]
}
