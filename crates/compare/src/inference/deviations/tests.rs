//! Nights short enough to be worked by hand: one letter is half a minute.

use super::*;
use crate::testing::{night, psg, ring};
use crate::{NightComparison, Protocol, Window, compare, compare_night};
use counterpane_model::Stage::{self, Light, N3, R, W};
use counterpane_model::{Decided, Night};

/// A night of a person: `P01 WW22 WLLL`.
fn one(line: &str) -> NightComparison {
    let words: Vec<&str> = line.split_whitespace().collect();
    let [who, reference, device] = words[..] else { panic!("`{line}` is no night") };
    let (participant, label) = who.split_once('/').unwrap_or((who, "2026-04-04"));
    let own = Night { participant: participant.into(), label: label.into(), ..night() };
    let mut sides = [psg(reference), ring(&[W, Light, N3, R], device)];
    sides.iter_mut().for_each(|r| (r.participant, r.night) = (participant.into(), label.into()));
    let asked = Protocol { scheme: None, window: Window::Scored };
    compare_night(&own, &sides[0], &[&sides[1]], &Decided::default(), &asked).unwrap()
}

fn of(lines: &[String], measure: NightMeasure) -> Deviation {
    let nights = lines.iter().map(|line| one(line)).collect();
    let all = deviations(&compare(nights, Protocol { scheme: None, window: Window::Scored }));
    assert_eq!(all.len(), 1);
    all[0].measures.iter().find(|d| d.of == measure).cloned().unwrap_or_else(|| panic!("no {measure:?}"))
}

/// Nights of which the reference sleeps so many epochs of 40, and the device so many more.
fn sleeping(nights: &[(&str, usize, i64)]) -> Vec<String> {
    let side = |letter: &str, n: usize| format!("{}{}", letter.repeat(n), "W".repeat(40 - n));
    let line = |(who, n, more): &(&str, usize, i64)| {
        format!("{who} {} {}", side("2", *n), side("L", n.checked_add_signed(*more as isize).unwrap()))
    };
    nights.iter().map(line).collect()
}

#[test]
fn one_night_shows_its_difference_and_nothing_else() {
    let sleep = of(&sleeping(&[("P01", 20, 4)]), NightMeasure::TotalSleep);
    assert_eq!((sleep.bias, sleep.nights.len(), sleep.whose), (Ok(2.0), 1, Nights::OnePerson));
    assert_eq!(sleep.bias_interval, Err(NotSaid::Nights { has: 1, wants: 2 }));
    assert_eq!(sleep.limits, Err(NotSaid::Nights { has: 1, wants: 3 }));
    assert_eq!(sleep.ccc, Err(NotSaid::OnePerson));
    assert_eq!((sleep.mae, sleep.rmse), (Ok(2.0), Ok(2.0)));
}

#[test]
fn two_people_have_a_bias_and_no_limits() {
    let sleep = of(&sleeping(&[("P01", 20, 4), ("P02", 20, -2)]), NightMeasure::TotalSleep);
    assert_eq!((sleep.bias, sleep.whose), (Ok(0.5), Nights::OneEach));
    assert!(sleep.bias_interval.is_ok());
    assert_eq!(sleep.limits, Err(NotSaid::People { has: 2, wants: 3 }));
    assert_eq!(sleep.proportional, Err(NotSaid::People { has: 2, wants: 3 }));
    assert_eq!((sleep.mae, sleep.rmse), (Ok(1.5), Ok(2.5_f64.sqrt())));
}

#[test]
fn three_people_have_limits_about_the_bias_with_exact_intervals() {
    // 1, 2 and 3 minutes: mean 2, s = 1, limits 2 -+ 1.96.
    let sleep = of(&sleeping(&[("P01", 20, 2), ("P02", 22, 4), ("P03", 24, 6)]), NightMeasure::TotalSleep);
    let limits = sleep.limits.unwrap();
    assert_eq!((sleep.bias, limits.by), (Ok(2.0), LimitsBy::Exact));
    assert!((limits.lower.value - 0.04).abs() < 1e-12 && (limits.upper.value - 3.96).abs() < 1e-12);
    assert!(limits.upper.interval.low < limits.upper.value && limits.upper.value < limits.upper.interval.high);
    assert_eq!(sleep.icc, Err(NotSaid::People { has: 3, wants: WANT_FOR_COEFFICIENTS }));
}

#[test]
fn several_nights_weigh_a_person_once_and_widen_the_limits() {
    // Differences 0, 1 | 2, 3 | 1, 1 minutes: means 0.5, 2.5, 1; their mean 4/3, that of the nights 8/6.
    let nights = sleeping(&[
        ("P01/a", 20, 0),
        ("P01/b", 20, 2),
        ("P02/a", 20, 4),
        ("P02/b", 20, 6),
        ("P03/a", 20, 2),
        ("P03/b", 20, 2),
    ]);
    let sleep = of(&nights, NightMeasure::TotalSleep);
    assert_eq!((sleep.whose, sleep.people, sleep.nights.len()), (Nights::SeveralEach, 3, 6));
    assert!((sleep.bias.unwrap() - 4.0 / 3.0).abs() < 1e-12);
    // MSW = (0.5 + 0.5 + 0) / 3 = 1/3; MSB = 2 (25/36 + 49/36 + 4/36) / 2 = 13/6; lambda = 2; between = 11/12; sd^2 = 5/4.
    let limits = sleep.limits.unwrap();
    assert!((limits.sd - 1.25_f64.sqrt()).abs() < 1e-12 && limits.by == LimitsBy::Mover);
}

#[test]
fn one_person_with_several_nights_is_told_of_within_this_person_only() {
    let nights = sleeping(&[("P01/a", 20, 2), ("P01/b", 22, 4), ("P01/c", 24, 6)]);
    let sleep = of(&nights, NightMeasure::TotalSleep);
    assert_eq!((sleep.whose, sleep.limits.is_ok(), sleep.icc), (Nights::OnePerson, true, Err(NotSaid::OnePerson)));
}

#[test]
fn a_night_on_which_a_measure_is_undefined_is_counted_and_skipped() {
    let nights = ["P01 W22RR WLLRR", "P02 W2222 WLLRR", "P03 W22RR WLLLL"].map(str::to_owned);
    let rem = of(&nights, NightMeasure::RemLatency);
    assert_eq!((rem.nights.len(), rem.skipped_undefined), (1, 2));
    let minutes = of(&nights, NightMeasure::Minutes(R));
    assert_eq!((minutes.nights.len(), minutes.bias), (3, Ok(0.0)));
}

#[test]
fn a_gap_right_before_the_first_sleep_leaves_its_latency_in_doubt_and_one_before_wake_does_not() {
    let nights = ["P01 WW222W ...LLW", "P02 WW222W .WWLLW", "P03 WW222W WWWLLW"].map(str::to_owned);
    let onset = of(&nights, NightMeasure::SleepLatency);
    assert_eq!((onset.nights.len(), onset.skipped_unsure, onset.bias), (2, 1, Ok(0.5)));
    // Minutes count over what both scored, and the gaps are told.
    let sleep = of(&nights, NightMeasure::TotalSleep);
    assert_eq!((sleep.bias, sleep.with_gaps), (Ok((0.0 - 0.5 - 0.5) / 3.0), 2));
    let long = [format!("P01 {}2W {}WLW", "W".repeat(12), ".".repeat(11)), nights[2].clone()];
    assert_eq!(of(&long, NightMeasure::SleepLatency).skipped_unsure, 1, "5.5 min say nothing before the first sleep");
}

#[test]
fn a_measure_that_no_night_has_is_there_with_the_nights_that_were_skipped() {
    let rem = of(&["P01 W222 WLLL".to_owned()], NightMeasure::RemLatency);
    assert_eq!((rem.nights.len(), rem.skipped_undefined, rem.bias.is_err()), (0, 1, true));
}

#[test]
fn minutes_of_a_stage_that_the_device_has_no_word_for_are_no_measure_of_it() {
    let all = deviations(&compare(vec![one("P01 W123R WLL3R")], Protocol { scheme: None, window: Window::Scored }));
    let told: Vec<NightMeasure> = all[0].measures.iter().map(|d| d.of).collect();
    assert!(told.contains(&NightMeasure::Minutes(Light)) && !told.contains(&NightMeasure::Minutes(Stage::N2)));
}

#[test]
fn ten_people_have_coefficients_and_a_spread_that_grows_is_told_as_ratios() {
    // At each mean of both sides one device is as much above as another is below: 1 minute, or 8 to 10.
    let sizes = [(6, 2), (8, 2), (10, 2), (24, 16), (26, 18), (28, 20)];
    let people: Vec<String> = (1..=12).map(|i| format!("P{i:02}")).collect();
    let both = sizes.iter().flat_map(|(size, more)| [(size - more / 2, *more), (size + more / 2, -*more)]);
    let nights: Vec<(&str, usize, i64)> =
        people.iter().zip(both).map(|(who, (n, more))| (who.as_str(), usize::try_from(n).unwrap(), more)).collect();
    let sleep = of(&sleeping(&nights), NightMeasure::TotalSleep);
    assert!(sleep.spread.as_ref().is_ok_and(Slope::grows), "{:?}", sleep.spread);
    let ratios = sleep.ratio_limits.unwrap();
    assert!(ratios.lower.value < 1.0 && 1.0 < ratios.upper.value);
    assert_eq!(sleep.at_sizes.len(), 3);
    assert!(sleep.ccc.is_ok() && sleep.icc.is_ok());
    // Deep sleep of 0 minutes has no ratio.
    assert_eq!(of(&sleeping(&nights), NightMeasure::Minutes(N3)).ratio_limits, None);
}
