//! The page `docs/coverage.md`, made of the measured coverages.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use counterpane_stats::{MeasuredCoverage, measured_coverages};
use expect_test::expect_file;
use std::fmt::Write as _;

const HEAD: &str = include_str!("data/coverage_head.txt");

/// Returns what is new in an order, each once.
fn each<T: PartialEq>(all: impl Iterator<Item = T>) -> Vec<T> {
    let mut out = Vec::new();
    for one in all {
        if !out.contains(&one) {
            out.push(one);
        }
    }
    out
}

fn cell(of: Option<&MeasuredCoverage>) -> String {
    let Some(of) = of else { return "-".into() };
    let text = format!("{:.1} ± {:.1}", of.coverage * 100.0, of.error * 100.0);
    if of.coverage < 0.9 { format!("**{text}**") } else { text }
}

fn nights(page: &mut String) {
    let all: Vec<&MeasuredCoverage> = measured_coverages().iter().filter(|m| m.kind == "night").collect();
    let scenarios = each(all.iter().map(|m| m.scenario));
    writeln!(page, "\n## One night\n\n| statistic | {} |", scenarios.join(" | ")).unwrap();
    writeln!(page, "| --- |{}", " --- |".repeat(scenarios.len())).unwrap();
    for statistic in each(all.iter().map(|m| m.statistic)) {
        let of = |scenario| all.iter().find(|m| m.statistic == statistic && m.scenario == scenario).copied();
        let cells: Vec<String> = scenarios.iter().map(|s| cell(of(*s))).collect();
        writeln!(page, "| {statistic} | {} |", cells.join(" | ")).unwrap();
    }
}

fn people(page: &mut String) {
    let all: Vec<&MeasuredCoverage> = measured_coverages().iter().filter(|m| m.kind != "night").collect();
    let sizes = each(all.iter().map(|m| m.n));
    let heads: Vec<String> = sizes.iter().map(|n| format!("{n} people")).collect();
    writeln!(page, "\n## Several participants\n\n| interval | statistic | drawn | {} |", heads.join(" | ")).unwrap();
    writeln!(page, "| --- | --- | --- |{}", " --- |".repeat(sizes.len())).unwrap();
    for (kind, statistic, scenario) in each(all.iter().map(|m| (m.kind, m.statistic, m.scenario))) {
        let of = |n| all.iter().find(|m| (m.kind, m.statistic, m.scenario, m.n) == (kind, statistic, scenario, n));
        let cells: Vec<String> = sizes.iter().map(|n| cell(of(*n).copied())).collect();
        writeln!(page, "| {kind} | {statistic} | {scenario} | {} |", cells.join(" | ")).unwrap();
    }
}

#[test]
fn the_page_shows_the_measured_coverages() {
    let mut page = String::from(HEAD);
    nights(&mut page);
    people(&mut page);
    expect_file!["../../../docs/coverage.md"].assert_eq(&page);
}

#[test]
fn what_compare_prints_for_a_night_and_for_people_holds_the_truth_in_ninety_to_ninety_seven_of_a_hundred() {
    let printed = |m: &&MeasuredCoverage| ["night", "participants", "bias"].contains(&m.kind);
    let all: Vec<_> = measured_coverages().iter().filter(printed).collect();
    assert!(all.len() > 90, "{} cells", all.len());
    for m in all {
        assert!((0.90..=0.97).contains(&m.coverage), "{m:?}: mend the method, or tell the reader in docs/coverage.md");
    }
}
