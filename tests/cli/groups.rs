use crate::common::Bench;
use crate::protocol::unwrapped;

/// Two people, two nights each: the ring gets new firmware between them. The later nights are better by one epoch of ten, and by two.
fn updated(bench: &Bench) {
    bench.line("new s --zone Europe/Berlin").ends(0);
    let mut text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    text.push_str("\n[[device]]\nname = \"ring-a\"\n[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\n");
    for (n, group) in [("1", "young"), ("2", "old")] {
        text.push_str(&format!("[[participant]]\ncode = \"P0{n}\"\ngroup = \"{group}\"\n[[unit]]\nname = \"ring-a-{n}\"\ndevice = \"ring-a\"\nparticipant = \"P0{n}\"\n"));
        for (night, firmware) in [("2026-04-03", "1.9"), ("2026-04-04", "1.10")] {
            text.push_str(&format!("[[night]]\nparticipant = \"P0{n}\"\nlabel = \"{night}\"\n[[wearing]]\nunit = \"ring-a-{n}\"\nparticipant = \"P0{n}\"\nnight = \"{night}\"\nfirmware = \"{firmware}\"\n"));
        }
    }
    bench.write("s/study.toml", text);
    for (n, night, letters) in [
        ("1", "2026-04-03", "WLLL2233RR"),
        ("1", "2026-04-04", "WWLL2233RR"),
        ("2", "2026-04-03", "WLLL22LLRR"),
        ("2", "2026-04-04", "WWLL223LRR"),
    ] {
        for (whose, letters) in [("--scorer S1".to_owned(), "WW222233RR"), (format!("--unit ring-a-{n}"), letters)] {
            let word = |c: char| {
                if "RW".contains(c) { format!("{c}\n") } else { format!("N{}\n", if c == 'L' { '2' } else { c }) }
            };
            let file = format!("{n}-{night}-{}.txt", letters.len() + whose.len());
            bench.write(&file, letters.chars().map(word).collect::<String>());
            let line = format!(
                "--study s import {file} {whose} --participant P0{n} --night {night} --start 22:30 --definition code-per-line"
            );
            bench.line(&line).ends(0);
        }
    }
}

#[test]
fn a_device_before_and_after_an_update_is_told_apart_by_the_people_who_have_both() {
    let bench = Bench::new();
    updated(&bench);
    let answer = bench.line("--study s compare --by firmware --format json").ends(0).json();
    let ring = &answer["groups"]["devices"][0];
    let names: Vec<_> = ring["groups"].as_array().unwrap().iter().map(|g| g["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["1.9", "1.10"], "in the order of their first nights");
    assert_eq!((&ring["groups"][0]["nights"], &ring["groups"][0]["participants"]), (&2.into(), &2.into()));
    let accuracy = |of: &serde_json::Value| {
        of["figures"].as_array().unwrap().iter().find(|f| f["measure"] == "accuracy").unwrap()["value"]
            .as_f64()
            .unwrap()
    };
    assert_eq!((accuracy(&ring["groups"][0]), accuracy(&ring["groups"][1])), (0.8, 0.95));
    let difference = &ring["differences"][0];
    assert_eq!(difference["in_both"], 2);
    assert!((accuracy(difference) - 0.15).abs() < 1e-12, "{difference}");
    let said = unwrapped(&bench.line("--study s compare --by firmware").ends(0).stdout);
    assert!(said.contains("ring-a: 1.10 minus 1.9, 2 participants with nights in both: Cohen's kappa:"), "{said}");
    assert!(said.contains("share of epochs that agree: +15.00 points (\u{2212}48.53 to +78.53 points)"), "{said}");
    bench.line("--study s report -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(html.contains("ring-a by version of the firmware") && html.contains("1.10 minus 1.9"));
}

#[test]
fn groups_of_different_people_have_their_figures_and_no_difference() {
    let bench = Bench::new();
    updated(&bench);
    let said = unwrapped(&bench.line("--study s compare --by group").ends(0).stdout);
    let why = "0 participants with nights in both: no difference is computed, because nobody has nights in both, so the people differ too.";
    assert!(said.contains(why), "{said}");
    let said = unwrapped(&bench.line("--study s compare --by app").ends(0).stdout);
    assert!(said.contains("not stated") && said.contains("there is nothing to set against each other"), "{said}");
    let wrong = bench.line("--study s compare --by hand").ends(2).stderr;
    assert!(unwrapped(&wrong).contains("`hand` is not a way to group nights; known are app, firmware"), "{wrong}");
}
