use super::intervals::{People, near, unwrapped};
use crate::common::Bench;
use serde_json::Value;

/// A night of 60 epochs: so much wake, then sleep with so much deep sleep at its end.
fn night(wake: usize, deep: usize) -> String {
    format!("{}{}{}", "W".repeat(wake), "2".repeat(60 - wake - deep), "3".repeat(deep))
}

/// Four people whose device tells 1, 2, 3 and 4 minutes more of sleep, and less of deep sleep by half of that.
fn four_people(bench: &Bench) -> People<'_> {
    let people = People::new(bench, 4, &["ring-a"]);
    for person in 1..=4 {
        people.says(person, "--scorer S1", &night(20, 10 + person));
        people.says(person, "--device ring-a", &night(20 - 2 * person, 10));
    }
    people
}

fn measure<'a>(found: &'a Value, name: &str) -> &'a Value {
    let all = found["inference"]["deviations"][0]["measures"].as_array().unwrap();
    all.iter().find(|m| m["measure"] == name).unwrap_or_else(|| panic!("no {name} in {all:?}"))
}

#[test]
fn four_people_have_a_bias_and_limits_about_it() {
    let bench = Bench::new();
    let people = four_people(&bench);
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
    // Deep: -0.5, -1, -1.5 and -2 minutes; no night has REM, so none has a latency of it.
    near(&measure(&found, "minutes.N3")["bias"], -1.25);
    let rem = measure(&found, "rem_latency");
    assert_eq!((&rem["nights"], &rem["skipped_undefined"], &rem["bias"]), (&0.into(), &4.into(), &Value::Null));
    let said = unwrapped(&people.text(""));
    for words in [
        "TST 4 +2.5 (0 to +5) 0.0 (",
        "CCC and ICC(2,1): 4 people, needs 10.",
        "With fewer than 20 people the limits themselves are hardly known",
    ] {
        assert!(said.contains(words), "{words}\n{said}");
    }
    let wide = people.text("").lines().map(|l| l.chars().count()).max();
    assert!(wide <= Some(80), "{wide:?}");
}

#[test]
fn the_report_has_a_table_for_each_device_and_a_figure_for_each_measure() {
    let bench = Bench::new();
    let people = four_people(&bench);
    let page = people.page();
    let section =
        page.split("<section class=\"patch\" id=\"measures\"").nth(1).unwrap().split("</section>").next().unwrap();
    let words: Vec<&str> = [
        "TST: bias +2.5 min, limits 0 to +5 min",
        "<th scope=\"row\">Total sleep (TST)<small>4 nights of 4 people</small></th>",
        "<small>+0.4 to +4.6</small>",
        "Total sleep (TST): ring-a minus reference",
        "P03, 2026-04-03 +3 min at 22",
    ]
    .into_iter()
    .filter(|words| !section.contains(words))
    .collect();
    assert_eq!(words, [""; 0], "{section}");
    // Ten measures: no night has REM sleep, so it has no latency.
    assert_eq!(section.matches("<svg ").count(), 10);
    assert!(page.contains("<a href=\"#measures\">"));
}

#[test]
fn nights_of_one_person_are_told_of_within_this_person_only() {
    let bench = Bench::new();
    let toml = "version = 1\nname = \"Own\"\nzone = \"Europe/Berlin\"\n[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\n\
        [[device]]\nname = \"ring-a\"\n[[participant]]\ncode = \"P01\"\n[[unit]]\nname = \"ring-a-1\"\ndevice = \"ring-a\"\nparticipant = \"P01\"\n";
    let nights: String =
        (3..6).map(|day| format!("[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-0{day}\"\n")).collect();
    bench.write("s/study.toml", format!("{toml}{nights}"));
    for day in 3..6 {
        // Total sleep: 3, 4 and 5 minutes more; the last night of the device begins with its first sleep.
        let device = night(20 - 2 * day, 10);
        let device = if day == 5 { format!("??????????{}", &device[10..]) } else { device };
        for (whose, letters) in [("--scorer S1", night(20, 10)), ("--device ring-a", device)] {
            let word = |c: char| if c.is_ascii_digit() { format!("N{c}\n") } else { format!("{c}\n") };
            bench.write("night.txt", letters.chars().map(word).collect::<String>());
            let line = format!(
                "--study s import night.txt {whose} --participant P01 --night 2026-04-0{day} --start 22:00 --definition code-per-line"
            );
            bench.line(&line).ends(0);
        }
    }
    let found = bench.line("--study s compare --format json").ends(0).json();
    let sleep = measure(&found, "total_sleep");
    assert_eq!((&sleep["whose"], &sleep["people"], &sleep["nights"]), (&"one_person".into(), &1.into(), &3.into()));
    near(&sleep["bias"], 4.0);
    assert_eq!((&sleep["undefined"]["ccc"], &sleep["with_gaps"]), (&"one_person".into(), &1.into()));
    let onset = measure(&found, "sleep_latency");
    assert_eq!((&onset["nights"], &onset["skipped_unsure"]), (&2.into(), &1.into()));
    let said = unwrapped(&bench.line("--study s compare").ends(0).stdout);
    for words in [
        "Where all nights are of one person, bias and limits hold within this person only.",
        "CCC and ICC(2,1): needs several people.",
        "Sleep onset latency (SOL): 2 nights of 1 person; 1 night skipped: a gap leaves it in doubt.",
        "On 1 night more than 5 % of the window was not scored by both sides; what both scored counts.",
    ] {
        assert!(said.contains(words), "{words}\n{said}");
    }
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
