use crate::common::Bench;
use serde_json::Value;

/// A study of several people, one night each, every night scored by S1 and given by some devices, a letter for each epoch.
pub(super) struct People<'a> {
    bench: &'a Bench,
}

impl<'a> People<'a> {
    /// Declares that many people and those devices, of which each person has a piece of their own.
    pub(super) fn new(bench: &'a Bench, people: usize, devices: &[&str]) -> People<'a> {
        let mut toml = "version = 1\nname = \"Intervals\"\nzone = \"Europe/Berlin\"\n[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\n".to_owned();
        for device in devices {
            toml += &format!("[[device]]\nname = \"{device}\"\n");
        }
        for person in 1..=people {
            toml += &format!(
                "[[participant]]\ncode = \"P{person:02}\"\n[[night]]\nparticipant = \"P{person:02}\"\nlabel = \"2026-04-03\"\n"
            );
            for device in devices {
                toml += &format!(
                    "[[unit]]\nname = \"{device}-{person}\"\ndevice = \"{device}\"\nparticipant = \"P{person:02}\"\n"
                );
            }
        }
        bench.write("s/study.toml", toml);
        People { bench }
    }

    /// Brings in what somebody says of the night of a person; `whose` is an option of `import`.
    pub(super) fn says(&self, person: usize, whose: &str, letters: &str) {
        let word = |c: char| match c {
            '1' | '2' | '3' => format!("N{c}\n"),
            c => format!("{c}\n"),
        };
        let file = format!("{person}-{}.txt", whose.replace("--", "").replace(' ', "-"));
        self.bench.write(&file, letters.chars().map(word).collect::<String>());
        let night = format!("--participant P{person:02} --night 2026-04-03 --start 22:00");
        let line = format!("--study s import {file} {whose} {night} --definition code-per-line");
        self.bench.line(&line).ends(0);
    }

    pub(super) fn json(&self, words: &str) -> Value {
        self.bench.line(&format!("--study s compare --format json {words}")).ends(0).json()
    }

    pub(super) fn text(&self, words: &str) -> String {
        self.bench.line(&format!("--study s compare {words}")).ends(0).stdout
    }

    pub(super) fn page(&self) -> String {
        self.bench.line("--study s report -o r.html").ends(0);
        std::fs::read_to_string(self.bench.path("r.html")).unwrap()
    }
}

pub(super) fn unwrapped(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
pub(super) fn near(value: &Value, wanted: f64) {
    let found = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!((found - wanted).abs() < 5e-5, "{found} is not {wanted}");
}

/// Eight bouts each of wake, light and deep sleep, and three of REM sleep.
fn night() -> String {
    let bout = |i: usize| {
        format!(
            "{}{}{}{}",
            "W".repeat(5),
            "2".repeat(15),
            "3".repeat(10),
            if i.is_multiple_of(3) { "RRRRRRRR" } else { "" }
        )
    };
    (0..8).map(bout).collect()
}

#[test]
fn a_night_on_which_all_agrees_is_worth_five_blocks() {
    let bench = Bench::new();
    let people = People::new(&bench, 1, &["ring-a"]);
    people.says(1, "--scorer S1", &night());
    people.says(1, "--device ring-a", &night());
    let within = &people.json("")["inference"]["within_nights"][0]["agreement"];
    // Nothing varies, so a block is a fifth of the night. Wilson 1927 for 5 of 5: 5 / (5 + 1.959964^2) = 0.5655.
    near(&within["accuracy"]["low"], 0.5655);
    near(&within["accuracy"]["high"], 1.0);
    assert_eq!(within["kappa"]["none"], "at_the_end");
    // Of the 264 epochs 40 are wake: 5 * 40 / 264 = 0.7576, no less than 1 of 1: 1 / (1 + 3.8415) = 0.2065.
    near(&within["per_class"][0]["sensitivity"]["low"], 0.2065);
    assert_eq!((&within["per_class"][4]["class"], &within["per_class"][4]["bouts"]), (&"R".into(), &3.into()));
    assert_eq!(within["per_class"][4]["sensitivity"]["why"], "too few bouts for an interval (3)");
    let said = people.text("");
    assert!(said.contains("\nring-a  57-100 %  nothing varies  too few bouts (3)"), "{said}");
    assert!(!said.contains("not computed yet"), "{said}");
}

#[test]
fn one_night_says_what_it_pins_down_and_what_it_does_not() {
    let bench = Bench::new();
    let people = People::new(&bench, 1, &["ring-a"]);
    people.says(1, "--scorer S1", &night());
    // Late by two epochs: each of the 26 changes of stage costs two epochs of 264, but for the end of the night.
    people.says(1, "--device ring-a", &format!("WW{}", &night()[..262]));
    let found = people.json("");
    let accuracy = found["nights"][0]["devices"][0]["agreement"]["accuracy"].as_f64().unwrap();
    let limits = &found["inference"]["within_nights"][0]["agreement"]["accuracy"];
    assert!(limits["low"].as_f64().unwrap() < accuracy && accuracy < limits["high"].as_f64().unwrap(), "{limits}");
    assert_eq!(people.json("--seed 1"), found, "the same seed gives the same intervals");
    assert_ne!(people.json("--seed 2")["inference"], found["inference"]);
    let said = unwrapped(&people.text(""));
    for words in [
        "95 % intervals within this night, approximate",
        "It says how well that night pins the number down. It says nothing about other nights or other people.",
        "Limits of agreement, ICC, CCC, rankings and p-values need several people and are not computed.",
    ] {
        assert!(said.contains(words), "{words}\n{said}");
    }
    let html = people.page();
    for words in [
        "<small>within this night, approximate</small>",
        "too few bouts for an interval (3)",
        " %, approximate). This says how well this night pins the number down. It says nothing about other nights or other people.",
        "Limits of agreement, ICC, CCC, rankings and p-values need several people and are not computed.",
    ] {
        assert!(html.contains(words), "the report says `{words}`");
    }
}

/// Ten epochs, half of them wake and half light, of which the device has some wrong.
fn wrong(n: usize) -> (String, String) {
    ("WWWWW22222".into(), format!("{}{}{}", "W".repeat(5), "W".repeat(n), "2".repeat(5 - n)))
}

#[test]
fn a_few_people_are_spread_by_student_and_each_of_them_is_shown() {
    let bench = Bench::new();
    let people = People::new(&bench, 3, &["ring-a"]);
    for (person, n) in [(1, 4), (2, 3), (3, 2)] {
        let (reference, device) = wrong(n);
        people.says(person, "--scorer S1", &reference);
        people.says(person, "--device ring-a", &device);
    }
    // 0.6, 0.7 and 0.8: mean 0.7, s = 0.1, t with 2 degrees of freedom 4.30265: 0.7 -+ 4.30265 * 0.1 / sqrt(3).
    let of = &people.json("")["inference"]["people"][0];
    let accuracy = &of["stages"]["accuracy"];
    near(&accuracy["mean"], 0.7);
    near(&accuracy["interval"]["low"], 0.45159);
    near(&accuracy["interval"]["high"], 0.94841);
    assert_eq!(
        (&accuracy["by"], &accuracy["across"], accuracy["each"].as_array().unwrap().len()),
        (&"t".into(), &"people".into(), 3)
    );
    // Half is wake in the reference: kappa is 2 accuracy - 1, here 0.2, 0.4 and 0.6: 0.4 -+ 0.49682.
    near(&of["stages"]["kappa"]["interval"]["low"], -0.09682);
    near(&of["stages"]["kappa"]["interval"]["high"], 0.89682);
    // Nobody differs in wake: all of it was found.
    assert_eq!(of["stages"]["per_class"][0]["sensitivity"]["interval"]["none"], "all_alike");
    assert_eq!(of["pooled"]["accuracy"]["none"], "few_people");
    let said = people.text("");
    assert!(said.contains("\nring-a  3 people  45-95 %  \u{2212}0.10 to 0.90        45-95 %"), "{said}");
    assert!(said.contains("\nring-a  60.0 %  0.20  70.0 %  0.40  80.0 %  0.60"), "{said}");
    assert!(unwrapped(&said).contains("With fewer than 5 people an interval of their mean is only a hint"), "{said}");
    assert!(!said.contains("not computed yet"), "{said}");
    let html = people.page();
    for words in [
        "With only 3 participants the spread is hardly known, and an interval no more than a hint: look at each person.",
        "<small>P01 60 %, P02 70 %, P03 80 %</small>",
        "45-95 %<small>Student&#39;s t</small>",
        "see the mean over people",
        "mean over 3 participants",
    ] {
        assert!(html.contains(words), "the report says `{words}`");
    }
    assert!(!html.contains("not computed yet"), "every number has its interval or the reason");
}

#[test]
fn from_twenty_people_on_people_are_drawn_anew() {
    let bench = Bench::new();
    let people = People::new(&bench, 20, &["ring-a"]);
    for person in 1..=20 {
        let (reference, device) = wrong(person % 5);
        people.says(person, "--scorer S1", &reference);
        people.says(person, "--device ring-a", &device);
    }
    let of = &people.json("")["inference"]["people"][0];
    let accuracy = &of["stages"]["accuracy"];
    // Four people each with 0, 1, 2, 3 and 4 wrong of ten: mean 0.8. The mean of 20 drawn from 0.6 ... 1.0, whose standard
    // deviation is sqrt(0.02), has sqrt(0.02 / 20) = 0.03162: about 0.8 -+ 1.96 * 0.03162.
    near(&accuracy["mean"], 0.8);
    assert_eq!(accuracy["by"], "cluster_bootstrap");
    for (end, wanted) in [("low", 0.738), ("high", 0.862)] {
        let found = accuracy["interval"][end].as_f64().unwrap();
        assert!((found - wanted).abs() < 0.008, "{end} {found}");
        // All nights are of one length: the pool is the mean over people, drawn alike.
        near(&of["pooled"]["accuracy"][end], found);
    }
    let said = unwrapped(&people.text(""));
    assert!(said.contains("From 20 people on, people are drawn anew, each with all nights"), "{said}");
    assert!(!said.contains("only a hint"), "{said}");
}

/// People of whom the first device has nothing wrong, and the second so many of ten epochs.
fn two_devices(bench: &Bench, second: &[usize]) {
    let people = People::new(bench, second.len(), &["ring-a", "ring-b"]);
    for (i, n) in second.iter().enumerate() {
        let ((reference, good), (_, bad)) = (wrong(0), wrong(*n));
        people.says(i + 1, "--scorer S1", &reference);
        people.says(i + 1, "--device ring-a", &good);
        people.says(i + 1, "--device ring-b", &bad);
    }
}

#[test]
fn six_people_can_tell_two_devices_apart() {
    let bench = Bench::new();
    two_devices(&bench, &[1, 2, 3, 1, 2, 3]);
    let people = People { bench: &bench };
    let pairs = &people.json("")["inference"]["pairs"];
    let difference = &pairs["pairs"][0]["differences"][0];
    assert_eq!((&difference["measure"], &pairs["named"]), (&"kappa".into(), &false.into()));
    // Kappa is 1 and 1 - 0.2 wrong: differences 0.2, 0.4 and 0.6, twice each. Mean 0.4, s = sqrt(0.16 / 5) = 0.178885, t with
    // 5 degrees of freedom 2.570582: 0.4 -+ 2.570582 * 0.178885 / sqrt(6) = 0.4 -+ 0.187729.
    near(&difference["difference"]["mean"], 0.4);
    near(&difference["difference"]["interval"]["low"], 0.212271);
    near(&difference["difference"]["interval"]["high"], 0.587729);
    // All signs alike: 2 of 64 patterns, and there is one pair.
    near(&difference["p"], 0.03125);
    near(&difference["adjusted_p"], 0.03125);
    assert_eq!(pairs["pairs"][0]["better"], "ring-a");
    assert_eq!(pairs["ranks"][0]["devices"][1]["rank_interval"], serde_json::json!([2, 2]));
    near(&pairs["ranks"][0]["devices"][0]["shares"][0], 1.0);
    let said = people.text("");
    assert!(said.contains("\nring-a  ring-b       6       +0.40  0.21 to 0.59  0.031     0.031"), "{said}");
    let said = unwrapped(&said);
    assert!(said.contains("Told apart (adjusted p below 0.05): ring-a does better than ring-b."), "{said}");
    assert!(said.contains("not its probability of being the best"), "{said}");
    let html = people.page();
    for words in ["1 of 1 pair told apart", "95 %: 0.21 to 0.59", "ring-a does better than ring-b.", "Ranks left open"]
    {
        assert!(html.contains(words), "the report says `{words}`");
    }
}

#[test]
fn five_people_tell_nothing_apart_however_far_the_devices_are() {
    let bench = Bench::new();
    two_devices(&bench, &[5, 5, 4, 5, 5]);
    let people = People { bench: &bench };
    let pairs = &people.json("")["inference"]["pairs"];
    near(&pairs["smallest_p"], 0.0625);
    assert!(pairs["pairs"][0]["better"].is_null());
    let said = unwrapped(&people.text(""));
    let none = "With 5 people no p below 0.05 is possible (the smallest of a sign-flip test is 2/2^5 = 0.0625), so no two \
                devices are told apart, and none is ranked.";
    assert!(said.contains(none) && !said.contains("ranks left open"), "{said}");
    let html = people.page();
    assert!(html.contains(none) && !html.contains("Ranks left open"));
    // One person alone: nothing is tested at all.
    let said = unwrapped(&people.text("P01/2026-04-03"));
    assert!(said.contains("All nights are of one person: no two devices are tested against each other"), "{said}");
    assert!(!said.contains("device against device"), "{said}");
}

#[test]
fn scorers_of_one_night_have_their_intervals_too() {
    let bench = Bench::new();
    let people = People::new(&bench, 1, &["ring-a"]);
    let toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{toml}[[scorer]]\ncode = \"S2\"\nscored_by = \"human\"\n"));
    people.says(1, "--scorer S1", &night());
    people.says(1, "--scorer S2", &night());
    let found = people.json("--scorers");
    // All agrees: Wilson 1927 for five blocks, 5 / (5 + 1.959964^2) = 0.5655.
    let within = &found["inference"]["scorers"]["nights"][0][0];
    near(&within["accuracy"]["low"], 0.5655);
    assert_eq!(within["kappa"]["none"], "at_the_end");
    assert_eq!(found["inference"]["scorers"]["pairs"][0]["kappa"]["interval"]["none"], "one_night");
    let said = people.text("--scorers");
    assert!(said.contains("\nP01/2026-04-03  S1 and S2  57-100 %  nothing varies"), "{said}");
    assert!(!said.contains("not computed yet"), "{said}");
}
