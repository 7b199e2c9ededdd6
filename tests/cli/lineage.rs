use crate::common::{Bench, Run};
use crate::import::{import, ring, study};

/// A study with a ring's night and a reference of three hours from 22:00 on.
fn bench() -> Bench {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write(
        "ring.json",
        ring(&[
            ("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:15+02:00", "awake"),
            ("2026-04-03T22:20:15+02:00", "2026-04-03T23:00:00+02:00", "deep"),
            ("2026-04-03T23:00:00+02:00", "2026-04-04T01:00:00+02:00", "shallow"),
        ]),
    );
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    let codes = [("W", 50), ("N3", 60), ("N2", 250)].iter().map(|(c, n)| format!("{c}\n").repeat(*n));
    bench.write("S1.txt", codes.collect::<String>());
    import(&bench, "S1.txt --scorer S1 --night 2026-04-03 --start 22:00 --definition code-per-line").ends(0);
    bench
}

fn lineage(bench: &Bench, words: &str) -> Run {
    bench.line(&format!("--study s lineage 2026-04-03 {words}"))
}

#[test]
fn a_cell_of_the_matrix_leads_to_the_lines_of_both_files() {
    let bench = bench();
    let text = lineage(&bench, "ring-a N3 --reference W").ends(0).stdout;
    // 22:20:15 to 22:25 on epochs from 22:00 on: half of the first belongs to what comes first, which is wake.
    assert!(text.starts_with("P01/2026-04-03: ring-a-1 said N3 where S1 said W in 9 epochs (4.5 min)\n"), "{text}");
    assert!(text.contains("9 of them count in the matrix of `compare` (scheme four, window scored"), "{text}");
    assert!(text.contains("22:20:30-22:25:00  epochs 42 to 50: S1 W, ring-a-1 N3\n"), "{text}");
    assert!(text.contains("  ring-a-1: 22:20:15-23:00:00 `deep`, $.sleeps[0].pieces[1].depth\n"), "{text}");
    assert!(text.contains("\"to\":\"2026-04-03T23:00:00+02:00\""), "{text}");
    assert!(text.contains("`W`, line 42:1\n  | W\n"), "{text}");
    assert!(text.contains("decision    1, ") && text.contains("decision    2, "), "{text}");
    let matrix = bench.line("--study s compare --format json").ends(0).json();
    // Rows are the reference: W in the first, N3 in the third column of four classes.
    assert_eq!(matrix["nights"][0]["devices"][0]["agreement"]["matrix"][0][2], 9, "{matrix}");
}

#[test]
fn every_cell_of_the_matrix_is_found_again() {
    let bench = bench();
    let matrix = bench.line("--study s compare --format json").ends(0).json();
    let matrix = &matrix["nights"][0]["devices"][0]["agreement"]["matrix"];
    for (r, reference) in ["W", "Light", "N3", "R"].iter().enumerate() {
        for (d, device) in ["W", "Light", "N3", "R"].iter().enumerate() {
            let words = format!("ring-a {device} --reference {reference} --format json");
            let found = lineage(&bench, &words).ends(0).json();
            assert_eq!(found["counted"], matrix[r][d], "{reference} beside {device}");
        }
    }
}

#[test]
fn a_minute_and_an_epoch_are_found() {
    let bench = bench();
    let text = lineage(&bench, "ring-a-1 --at 22:20").ends(0).stdout;
    assert!(text.starts_with("P01/2026-04-03: ring-a-1, 2 epochs (1 min)\n"), "{text}");
    assert!(text.contains("epoch 41: S1 W, ring-a-1 W\n") && text.contains("epoch 42: S1 W, ring-a-1 N3\n"), "{text}");
    let json = lineage(&bench, "ring-a --epoch 41 --format json").ends(0).json();
    let spans: Vec<&str> =
        json["stretches"][0]["device_spans"].as_array().unwrap().iter().map(|s| s["label"].as_str().unwrap()).collect();
    assert_eq!(spans, ["awake", "deep"], "an epoch on a change names both sides");
    let decides = |i: usize| json["stretches"][0]["device_spans"][i]["decides"].as_bool();
    assert_eq!((decides(0), decides(1)), (Some(true), Some(false)));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("`deep`, $.sleeps[0].pieces[1].depth (did not decide)"), "{text}");
    assert_eq!(json["stretches"][0]["start"], "2026-04-03T22:20:00+02:00");
    assert!(lineage(&bench, "ring-a --epoch 9999").ends(2).stderr.contains("numbered from 1 to"));
    assert!(lineage(&bench, "ring-a --at 25:00").ends(2).stderr.contains("no time of day"));
}

#[test]
fn what_was_decided_since_is_told_with_its_number() {
    let bench = bench();
    let decide = |words: &[&str]| bench.run(&[&["--study", "s", "--author", "me"][..], words].concat()).ends(0);
    let stretch = ["--from", "22:22", "--until", "22:24", "--looked", "after", "--reason", "fell off"];
    decide(&[&["exclude", "2026-04-03", "--source", "ring-a"][..], &stretch].concat());
    let text = lineage(&bench, "ring-a N3 --reference W").ends(0).stdout;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("5 of them count in the matrix"), "{text}");
    assert!(text.contains("left out 2026-04-03 22:22 to 22:24, decision 3: fell off"), "{text}");
    assert!(text.contains("epochs 45 to 48: S1 W, ring-a-1 N3 (not in the matrix, left out by decision 3)"), "{text}");
    decide(&["clock", "set", "2026-04-03", "ring-a-1", "--shift=5min", "--reason", "it was late"]);
    let json = lineage(&bench, "ring-a N3 --reference W --format json").ends(0).json();
    assert_eq!(json["device"]["since"][1]["what"], "clock corrected", "{json}");
    assert_eq!(json["epochs"], 0, "five minutes later the ring sleeps deeply where the reference does: {json}");
}

#[test]
fn every_span_of_every_format_is_shown_with_its_line() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let nights = bench.line("--study d/study nights --format json").ends(0).json();
    let devices = nights["nights"][0]["devices"].as_array().unwrap();
    assert!(devices.len() >= 8, "{nights}");
    for device in devices.iter().map(|d| d.as_str().unwrap()).chain(["S1"]) {
        let words = ["--study", "d/study", "lineage", "P01/2026-04-03", device, "--all", "--format", "json"];
        let answer = bench.run(&words).ends(0).json();
        let spans = answer["stretches"].as_array().unwrap().iter().flat_map(|s| s["device_spans"].as_array().unwrap());
        let (mut n, mut with_word) = (0, 0);
        for span in spans {
            let line =
                span["line"].as_str().unwrap_or_else(|| panic!("{device}: nothing is shown at {}", span["locator"]));
            n += 1;
            with_word += usize::from(line.contains(span["label"].as_str().unwrap()));
        }
        // A code of a long list may stand beyond what is shown of it.
        assert!(n > 20 && with_word * 10 > n * 9, "{device}: {n} spans, {with_word} with their word");
    }
}

#[test]
fn a_wrong_word_says_what_there_is() {
    let bench = bench();
    let said = lineage(&bench, "ring-a deep").ends(2).stderr;
    assert!(said.contains("`deep` is no stage") && said.contains("N3"), "{said}");
    let said = lineage(&bench, "ring-x N3").ends(2).stderr;
    assert!(said.contains("P01/2026-04-03/ring-a-1"), "{said}");
}

#[test]
fn lines_of_a_changed_original_are_not_shown() {
    let bench = bench();
    let sha = bench.run(&[
        "--study",
        "s",
        "query",
        "SELECT original FROM recording WHERE unit = 'ring-a-1'",
        "--format",
        "csv",
    ]);
    let sha = sha.ends(0).stdout.lines().nth(1).unwrap().to_owned();
    let path = bench.path("s/originals").join(&sha[..2]).join(&sha);
    std::fs::remove_file(&path).unwrap();
    std::fs::write(&path, "{}").unwrap();
    let text = lineage(&bench, "ring-a N3 --reference W").ends(0).stdout;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("its lines cannot be shown") && text.contains("was changed on disk"), "{text}");
    assert!(!text.contains("\"to\""), "{text}");
}
