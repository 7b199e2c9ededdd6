use crate::common::Bench;
use crate::intervals::{People, unwrapped};

/// Wakes of 2 min at 22:20, 30 min at 23:22 and 1 min at 00:52, each its first epoch and its number of epochs.
const WAKES: [(usize, usize); 3] = [(40, 4), (164, 60), (344, 2)];
const LENGTH: usize = 400;

/// A night of light sleep, awake where told.
fn night(wakes: &[(usize, usize)]) -> String {
    let mut letters = vec!["2"; LENGTH];
    wakes.iter().for_each(|(at, n)| letters[*at..*at + *n].fill("W"));
    letters.concat()
}

#[track_caller]
fn says(text: &str, wanted: &[&str]) {
    let text = unwrapped(text);
    for words in wanted {
        assert!(text.contains(words), "{words}\n{text}");
    }
}

#[test]
fn a_long_wake_in_the_night_is_found_by_one_device_and_missed_by_another() {
    let bench = Bench::new();
    let people = People::new(&bench, 1, &["ring-a", "mat-a", "lamp-a"]);
    people.says(1, "--scorer S1", &night(&WAKES));
    // One minute late into the long wake, and one wake of its own; the short ones are missed.
    people.says(1, "--device ring-a", &night(&[(10, 6), (166, 58)]));
    people.says(1, "--device mat-a", &night(&[(40, 4), (164, 8), (344, 2)]));
    people.says(1, "--device lamp-a", &"W".repeat(LENGTH));
    let text = people.text("");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    // 334 epochs of sleep are 2.78 hours, in which ring-a and lamp-a make up one wake each. The wake of lamp-a, which never
    // sleeps, finds all three, 20, 82 and 172 min early.
    says(
        &text,
        &[
            "device found 0.5-2 2-5 5+ min true made up late (off)",
            "lamp-a 3 of 3 1 of 1 1 of 1 1 of 1 0 of 1 0.4 -91.3 (91.3)",
            "mat-a 2 of 3 1 of 1 1 of 1 0 of 1 3 of 3 0.0 +0.0 (0.0)",
            "ring-a 1 of 3 0 of 1 0 of 1 1 of 1 1 of 2 0.4 +1.0 (1.0)",
            // The one wake of lamp-a is so long that it is no partner of any.
            "one to one: lamp-a 0 (of 3 and its own 1), mat-a 2 (of 3 and its own 3), ring-a 1 (of 3 and its own 2)",
            "awake 23:22-23:52 (30 min): found by lamp-a (30 of 30 min, starts 82 min early) and ring-a (29 of 30 min, starts 1 \
             min late); missed by mat-a (4 of 30 min)",
            "Read found beside true: a device that says wake all night finds every wake",
        ],
    );
    let page = people.page();
    for words in [
        "Wakes as events",
        "The long wakes, one by one",
        "23:22-23:52 (30 min)",
        "29 of 30 min, starts 1 min late",
        "Read found beside true",
    ] {
        assert!(page.contains(words), "the report says `{words}`");
    }
}

#[test]
fn the_json_has_every_wake_with_what_each_device_made_of_it() {
    let bench = Bench::new();
    let people = People::new(&bench, 2, &["ring-a"]);
    for person in [1, 2] {
        people.says(person, "--scorer S1", &night(&WAKES));
    }
    people.says(1, "--device ring-a", &night(&[(166, 58), (200, 1)]));
    // Says nothing around the short wake at 22:20, and finds the other two.
    let gap = format!("{}?{}", &night(&WAKES)[..42], &night(&WAKES)[43..]);
    people.says(2, "--device ring-a", &gap);
    let wakes = &people.json("")["inference"]["wakes"];
    let seen = |night: usize, wake: usize| {
        let of = &wakes["nights"][night]["wakes"][wake]["devices"][0];
        (of["verdict"].as_str().unwrap().to_owned(), of["awake_minutes"].clone(), of["onset_error_minutes"].clone())
    };
    assert_eq!(seen(0, 1), ("found".into(), 29.0.into(), 1.0.into()));
    assert_eq!(seen(0, 2), ("missed".into(), 0.0.into(), serde_json::Value::Null));
    assert_eq!(seen(1, 0).0, "not_judged");
    assert_eq!(wakes["nights"][0]["wakes"][1]["minutes"], 30.0);
    let device = &wakes["devices"][0];
    let all = &device["pooled"]["all"];
    assert_eq!((&all["reference"], &all["found"]), (&5.into(), &3.into()));
    assert_eq!((&all["device"], &all["device_true"]), (&3.into(), &3.into()));
    // The wake at 22:20 touches the gap on both sides.
    assert_eq!(device["pooled"]["left_out"], 2);
    // One of three found by the first, two of two by the second: (1/3 + 1) / 2.
    assert!((device["recall"]["mean"].as_f64().unwrap() - 2.0 / 3.0).abs() < 1e-12);
    says(&people.text(""), &["ring-a 2 people 66.7 % 33 / 100 % 100.0 %"]);
}

fn letters(runs: &[(&str, usize)]) -> String {
    runs.iter().map(|(letter, n)| letter.repeat(*n)).collect()
}

#[test]
fn a_device_that_always_says_light_stands_beside_what_comes_for_free() {
    let bench = Bench::new();
    let people = People::new(&bench, 2, &["lamp-a"]);
    people.says(1, "--scorer S1", &letters(&[("3", 100), ("2", 100)]));
    people.says(2, "--scorer S1", &letters(&[("3", 100), ("2", 80), ("R", 20)]));
    for person in [1, 2] {
        people.says(person, "--device lamp-a", &"2".repeat(200));
    }
    let found = &people.json("")["inference"]["baselines"];
    let first = &found["nights"][0]["beside"];
    assert_eq!(
        (&first["always"], &first["always_accuracy"], &first["skill_over_always"]),
        (&"N2".into(), &0.5.into(), &0.0.into())
    );
    // A random night of one stage is that stage: kappa 0 each time, and the device gets no farther.
    assert_eq!(
        (&first["random_kappa"], &first["random_kappa_sd"], &first["random_reached"]),
        (&0.0.into(), &0.0.into(), &1.0.into())
    );
    // From the night of the second: right but for the 20 epochs of REM sleep there. (0.9 - 0.45) / (1 - 0.45) = 0.8182.
    assert_eq!(first["prior_accuracy"], 0.9);
    assert!((first["prior_kappa"].as_f64().unwrap() - 9.0 / 11.0).abs() < 1e-12);
    let device = &found["devices"][0];
    assert!((device["beside"]["always_accuracy"].as_f64().unwrap() - 0.45).abs() < 1e-12);
    // 50 and 40 % less 90 %.
    assert!((device["beyond_prior"]["mean"].as_f64().unwrap() + 0.45).abs() < 1e-12);
    let text = people.text("");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    says(
        &text,
        &[
            "device agree always lots time skill kappa random time",
            "lamp-a 50.0 % 50.0 % 50.0 % 90.0 % 0.00 0.00 0.00 \u{b1}0.00 0.82",
            "lamp-a 45.0 % 45.0 % 45.0 % 90.0 % 0.00 0.00 0.00 \u{b1}0.00 0.82",
            "lamp-a 100.0 % (always asleep 100.0 %)",
            "No night has two people who scored it, so this study has no ceiling of its own.",
            "(Lee et al. 2022, J Clin Sleep Med 18:193)",
        ],
    );
    let page = people.page();
    for words in ["Beside what comes for free", "always N2", "kappa 0.82", "reached by 100.0 %"] {
        assert!(page.contains(words), "the report says `{words}`");
    }
}

#[test]
fn two_people_who_scored_a_night_are_its_ceiling_and_one_sleeper_has_no_time_of_night() {
    let bench = Bench::new();
    let people = People::new(&bench, 1, &["ring-a"]);
    let toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{toml}[[scorer]]\ncode = \"S2\"\nscored_by = \"human\"\n"));
    people.says(1, "--scorer S1", &letters(&[("2", 100), ("3", 100)]));
    people.says(1, "--scorer S2", &letters(&[("2", 120), ("3", 80)]));
    people.says(1, "--device ring-a", &letters(&[("2", 150), ("3", 50)]));
    // 0.9 agree; 0.5 * 0.6 + 0.5 * 0.4 = 0.5 by chance.
    let wanted = [
        "Time of night: unavailable, for it is learned on the nights of other people",
        "S1 and S2 agree on 90.0 %, kappa 0.80 (1 night): the ceiling",
        "ring-a 75.0 % 50.0 % 50.0 % - 0.50 0.50",
    ];
    says(&people.text("--scorer S1"), &wanted);
    let found = people.json("--scorer S1");
    let beside = &found["inference"]["baselines"]["nights"][0]["beside"];
    assert!(beside["prior_accuracy"].is_null());
    assert_eq!(beside["undefined"]["prior_accuracy"], "n_too_small");
}
