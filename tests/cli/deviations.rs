use super::intervals::{People, near, unwrapped};
use crate::common::Bench;
use serde_json::Value;

/// A night of 60 epochs: so much wake, then sleep with so much deep sleep at its end.
fn night(wake: usize, deep: usize) -> String {
    format!("{}{}{}", "W".repeat(wake), "2".repeat(60 - wake - deep), "3".repeat(deep))
}

fn measure<'a>(found: &'a Value, name: &str) -> &'a Value {
    let all = found["inference"]["deviations"][0]["measures"].as_array().unwrap();
    all.iter().find(|m| m["measure"] == name).unwrap_or_else(|| panic!("no {name} in {all:?}"))
}

#[test]
fn four_people_have_a_bias_and_limits_about_it() {
    let bench = Bench::new();
    let people = People::new(&bench, 4, &["ring-a"]);
    // Total sleep, device minus reference: 1, 2, 3 and 4 minutes.
    for person in 1..=4 {
        people.says(person, "--scorer S1", &night(20, 10 + person));
        people.says(person, "--device ring-a", &night(20 - 2 * person, 10));
    }
    let found = people.json("");
    let sleep = measure(&found, "total_sleep");
    assert_eq!((&sleep["nights"], &sleep["people"], &sleep["whose"]), (&4.into(), &4.into(), &"one_night_each".into()));
    // Mean 2.5, s = sqrt(5/3) = 1.29099; Student's t with 3 degrees of freedom 3.18245: 2.5 -+ 2.05426.
    near(&sleep["bias"], 2.5);
    near(&sleep["bias_interval"][0], 0.44574);
    near(&sleep["bias_interval"][1], 4.55426);
    // Bland and Altman 1999: 2.5 -+ 1.96 x 1.29099.
    near(&sleep["limits"]["lower"], -0.03035);
    near(&sleep["limits"]["upper"], 5.03035);
    assert_eq!(sleep["limits"]["by"], "exact");
    near(&sleep["mae"], 2.5);
    near(&sleep["rmse"], 2.73861);
    assert_eq!((&sleep["icc"], &sleep["undefined"]["icc"]), (&Value::Null, &"few_people".into()));
    // Deep: -0.5, -1, -1.5 and -2 minutes; no night has REM, so a latency of it is no measure of theirs.
    near(&measure(&found, "minutes.N3")["bias"], -1.25);
    let all = found["inference"]["deviations"][0]["measures"].as_array().unwrap();
    assert!(all.iter().all(|m| m["measure"] != "rem_latency"));
    let said = unwrapped(&people.text(""));
    for words in [
        "TST 4 +2.5 (0 to +5) 0.0 (",
        "4 people, needs 10",
        "With fewer than 20 people the limits themselves are hardly known",
    ] {
        assert!(said.contains(words), "{words}\n{said}");
    }
    let wide = people.text("").lines().map(|l| l.chars().count()).max();
    assert!(wide <= Some(80), "{wide:?}");
}

#[test]
fn one_night_gives_its_difference_to_programs_and_no_table_to_people() {
    let bench = Bench::new();
    let people = People::new(&bench, 1, &["ring-a"]);
    people.says(1, "--scorer S1", &night(20, 10));
    people.says(1, "--device ring-a", &night(16, 10));
    let found = people.json("");
    let sleep = measure(&found, "total_sleep");
    near(&sleep["bias"], 2.0);
    assert_eq!((&sleep["limits"], &sleep["bias_interval"]), (&Value::Null, &Value::Null));
    assert_eq!(sleep["undefined"]["limits"], "few_nights");
    assert!(!people.text("").contains("whole-night measures over all nights"));
}
