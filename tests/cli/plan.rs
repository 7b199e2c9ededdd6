use crate::common::{Bench, Run};
use serde_json::Value;

fn plan(bench: &Bench, line: &str) -> Value {
    bench.line(&format!("plan {line} --format json")).ends(0).json()
}

fn people(answer: &Value) -> Vec<u64> {
    answer["plans"].as_array().unwrap().iter().map(|p| p["people"].as_u64().unwrap()).collect()
}

fn words(run: &Run) -> String {
    run.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_mean_needs_as_many_people_as_the_closed_form_says() {
    let bench = Bench::new();
    let of = |half: &str, nights: &str| {
        people(&plan(&bench, &format!("mean --half-width {half} --between 0.13 --within 0.08 --nights {nights}")))
    };
    // P >= t^2 (0.13^2 + 0.08^2 / N) / h^2, worked with scipy's t.
    assert_eq!((of("0.05", "1,2,4"), of("0.10", "1"), of("0.03", "1")), (vec![39, 34, 31], vec![12], vec![102]));
    let said = words(&bench.line("plan mean --half-width 0.05 --between 0.13 --within 0.08").ends(0));
    assert!(said.contains("39 people with 1 night each, 34 with 2 or 31 with 4."), "{said}");
    assert!(said.contains("standard deviation of 0.13, nights of one person by 0.08, as given"), "{said}");
}

#[test]
fn a_plan_can_be_drawn_and_a_seed_repeats_it() {
    let bench = Bench::new();
    let drawn = |seed: u32| {
        let line = format!(
            "mean --half-width 0.1 --between 0.13 --within 0.08 --nights 1 --simulate --studies 400 --seed {seed}"
        );
        plan(&bench, &line)["plans"][0]["simulated"].clone()
    };
    let found = drawn(3);
    assert_eq!(found["studies"], 400);
    let of = |name: &str| found[name].as_f64().unwrap();
    // 12 people: about the width that was asked for, and the truth in about 95 of 100 intervals.
    assert!((of("half_width") - 0.095).abs() < 0.01, "{found}");
    assert!((0.90..=0.99).contains(&of("coverage")), "{found}");
    assert_eq!(drawn(3), found);
    assert_ne!(drawn(4), found);
}

#[test]
fn a_difference_needs_six_people_whatever_its_size() {
    let bench = Bench::new();
    // Half a standard deviation, power 0.8: 34 (statsmodels, TTestPower).
    assert_eq!(people(&plan(&bench, "difference --detect 0.05 --between 0.1 --nights 1")), [34]);
    assert_eq!(people(&plan(&bench, "difference --detect 5 --between 0.1 --nights 1")), [6]);
    let said = words(&bench.line("plan difference --detect 5 --between 0.1").ends(0));
    assert!(said.contains("With fewer than 6 people no difference can reach 0.05"), "{said}");
}

#[test]
fn limits_and_correlations_have_their_published_sizes() {
    let bench = Bench::new();
    let said = words(&bench.line("plan limits --people 10").ends(0));
    // Carkeet 2015, Optometry and Vision Science 92(3), e71-e80: from 1.16 to 3.80 for ten people.
    assert!(said.contains("one that is seen 1.96 above the bias has an interval from 1.16 to 3.8."), "{said}");
    // 1.96 sqrt(1/n + 1.96^2 / (2 (n - 1))) of 25 min is 9.99 min for 71 people, and 10.06 for 70.
    assert_eq!(people(&plan(&bench, "limits --half-width 10 --sd 25")), [71]);
    // Bonett 2002, Statistics in Medicine 21(9), 1331-1335.
    assert_eq!(people(&plan(&bench, "icc --expected 0.85 --sides 4 --width 0.2")), [20]);
}

#[test]
fn a_study_gives_its_own_spreads() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let found = bench.line("--study d/study plan mean --from ring-a --half-width 0.05 --format json").ends(0).json();
    assert_eq!((&found["spread"]["people"], &found["spread"]["nights"]), (&2.into(), &6.into()));
    assert!(found["spread"]["within"].as_f64().unwrap() > 0.0, "{found}");
    assert!(found["cautions"][1].as_str().unwrap().starts_with("How far people lie apart is hardly known from 2"));
    let two = "--study d/study plan difference --from ring-a --against watch-a --detect 0.05";
    let said = words(&bench.line(two).ends(0));
    assert!(said.contains("In this study it is 0."), "{said}");
    let said = bench.line("--study d/study plan difference --from ring-a --detect 0.05").ends(2).stderr;
    assert!(said.contains("name the other with --against"), "{said}");
}

#[test]
fn what_cannot_be_planned_says_why() {
    let bench = Bench::new();
    let said = |line: &str| bench.line(&format!("plan {line}")).ends(2).stderr.replace('\n', " ");
    assert!(
        said("mean --half-width 0 --between 0.1")
            .contains("a half-width of 0 cannot be planned: a value that must be above zero")
    );
    assert!(said("mean --half-width 0.1 --between=-1").contains("a standard deviation is a number from 0 up"));
    assert!(said("mean --half-width 0.1").contains("--between <SD>"));
    assert!(said("limits --people 2").contains("three are the least"));
    assert!(said("icc --expected 1.2 --width 0.1").contains("this correlation cannot be planned"));
}
