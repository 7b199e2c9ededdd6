//! What the checks find, as `check` prints it, and how one finding is accepted.

use crate::common::{Bench, Run};
use crate::import::{import, ring, study};

/// Pieces of ring-a over a night from lengths in minutes, from 22:00 on; `late` shifts all of them by whole minutes.
fn night(lengths: &[i64], late: i64) -> String {
    let at = |minutes: i64| {
        let (day, clock) = (3 + minutes / 1440, minutes % 1440);
        format!("2026-04-{day:02}T{:02}:{:02}:00+02:00", clock / 60, clock % 60)
    };
    let depths = ["awake", "shallow", "deep", "shallow", "dream"];
    let mut from = 22 * 60 + late;
    let mut pieces = Vec::new();
    for (i, length) in lengths.iter().enumerate() {
        pieces.push((at(from), at(from + length), depths[i % depths.len()]));
        from += length;
    }
    let pieces: Vec<_> = pieces.iter().map(|(a, b, d)| (a.as_str(), b.as_str(), *d)).collect();
    ring(&pieces)
}

const LENGTHS: [i64; 20] = [7, 19, 12, 31, 9, 23, 14, 27, 8, 17, 21, 11, 29, 13, 25, 10, 15, 30, 18, 21];

/// The same night as scored: one code for each epoch of 30 s.
fn scored(lengths: &[i64]) -> String {
    let codes = ["W", "N2", "N3", "N2", "R"];
    let epochs = lengths.iter().enumerate().flat_map(|(i, n)| vec![codes[i % 5]; usize::try_from(n * 2).unwrap()]);
    epochs.map(|c| format!("{c}\n")).collect()
}

fn import_scored(bench: &Bench, scorer: &str, text: String) {
    bench.write(&format!("{scorer}.txt"), text);
    let words = format!("{scorer}.txt --scorer {scorer} --night 2026-04-03 --start 22:00 --definition code-per-line");
    import(bench, &words).ends(0);
}

fn add(bench: &Bench, lines: &str) {
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}\n{lines}"));
}

/// What `check` finds, one line each.
fn found(bench: &Bench) -> String {
    let run = bench.line("--study s check --format concise");
    assert!(run.code < 2, "{}", run.stderr);
    run.stdout
}

fn decide(bench: &Bench, words: &[&str]) -> Run {
    bench.run(&[&["--study", "s", "--author", "me"], words].concat())
}

fn bench() -> Bench {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench
}

#[test]
fn a_clock_that_is_off_is_estimated_and_what_was_seen_counts_for_more() {
    let bench = bench();
    bench.write("ring.json", night(&LENGTHS, -3));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    import_scored(&bench, "S1", scored(&LENGTHS));
    let line = "warning[clock-offset] P01/2026-04-03/ring-a-1: the clock of ring-a-1 seems 3 min behind that of scorer S1 (95 % interval";
    assert!(found(&bench).contains(line), "{}", found(&bench));
    decide(&bench, &["clock", "add", "2026-04-03", "ring-a", "--shown", "22:00:00", "--true", "22:03:30"]).ends(0);
    let said = found(&bench);
    assert!(said.contains("it was seen 3.5 min behind (decision 3), which counts for more"), "{said}");
    decide(&bench, &["clock", "set", "2026-04-03", "ring-a", "--shift", "3min", "--reason", "the phone"]).ends(0);
    assert!(!found(&bench).contains("clock-offset"), "{}", found(&bench));
    assert!(found(&bench).contains("warning[lights-unknown] P01/2026-04-03: lights off and lights on are not known"));
}

#[test]
fn a_zone_read_wrongly_is_told_apart_from_a_clock() {
    let bench = bench();
    bench.write("ring.json", night(&LENGTHS, 60));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    import_scored(&bench, "S1", scored(&LENGTHS));
    let said = found(&bench);
    assert!(said.contains("warning[clock-hours-off] P01/2026-04-03/ring-a-1: "), "{said}");
    assert!(said.contains("when its times are moved 1 h earlier: kappa 1.00"), "{said}");
}

#[test]
fn a_copy_is_told_until_it_is_taken_back() {
    let bench = bench();
    let more = "[[participant]]\ncode = \"P02\"\n[[night]]\nparticipant = \"P02\"\nlabel = \"2026-04-03\"\n\
                [[unit]]\nname = \"ring-a-2\"\ndevice = \"ring-a\"\n";
    add(&bench, more);
    bench.write("one.json", night(&LENGTHS, 0));
    // The same night under another account, and a minute later: no hash of a file tells it.
    bench.write("two.json", night(&LENGTHS, 1).replace("\"P01\"", "\"P02\""));
    import(&bench, "one.json --unit ring-a-1 --participant P01").ends(0);
    import(&bench, "two.json --unit ring-a-2 --participant P02").ends(0);
    let said = found(&bench);
    let line = "warning[recording-repeated] P02/2026-04-03/ring-a-2: ring-a-2 has the same stages for the same lengths as P01/2026-04-03/ring-a-1, which begins at 2026-04-03 22:00";
    assert!(said.contains(line), "{said}");
    assert_eq!(said.matches("recording-repeated").count(), 1, "the later one is told, once: {said}");
    // The store that grew decision by decision is the one that is made at once.
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    // With the first one gone there is nothing to be a copy of, though its night was not touched.
    decide(&bench, &["withdraw", "1", "--reason", "the wrong file"]).ends(0);
    let open = bench.run(&[
        "--study",
        "s",
        "query",
        "SELECT count(*) AS n FROM open_finding WHERE code = 'recording-repeated'",
        "--format",
        "csv",
    ]);
    assert_eq!(open.ends(0).stdout, "n\n0\n");
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
}

#[test]
fn other_software_than_on_the_night_before_is_told() {
    let bench = bench();
    let wearing = |night: &str, firmware: &str| {
        format!(
            "[[wearing]]\nunit = \"ring-a-1\"\nparticipant = \"P01\"\nnight = \"{night}\"\nfirmware = \"{firmware}\"\n"
        )
    };
    let nights = ["2026-04-04", "2026-04-05"].map(|l| format!("[[night]]\nparticipant = \"P01\"\nlabel = \"{l}\"\n"));
    // Declared in no order: the nights count by their time.
    let worn = [wearing("2026-04-05", "2.2"), wearing("2026-04-03", "2.1"), wearing("2026-04-04", "2.1")];
    add(&bench, &format!("{}{}", nights.concat(), worn.concat()));
    bench
        .write("ring.json", night(&LENGTHS, 0).replace("2026-04-04", "2026-04-06").replace("2026-04-03", "2026-04-05"));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    let said = found(&bench);
    let line = "warning[software-changed] P01/2026-04-05/ring-a-1: ring-a-1 has firmware 2.2; on 2026-04-04 ring-a-1 of P01 had 2.1";
    assert!(said.contains(line), "{said}");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", text.replace("\"2.2\"", "\"2.1\""));
    assert!(!found(&bench).contains("software-changed"));
}

#[test]
fn nights_that_cannot_well_be_so_are_told() {
    let bench = bench();
    let one = |pieces: &[(&str, &str, &str)]| {
        bench.write("ring.json", ring(pieces));
        import(&bench, "ring.json --unit ring-a-1").ends(0);
    };
    one(&[
        ("2026-04-03T22:00:00+02:00", "2026-04-04T02:30:00+02:00", "deep"),
        ("2026-04-04T02:30:00+02:00", "2026-04-04T05:30:00+02:00", "shallow"),
    ]);
    let said = found(&bench);
    for line in [
        "info[mostly-deep-sleep] P01/2026-04-03/ring-a-1: ring-a-1 has 270 min of N3 in 450 min of sleep, 60 %",
        "info[no-rem-sleep] P01/2026-04-03/ring-a-1: ring-a-1 has 450 min of sleep and no REM",
        "info[no-wake] P01/2026-04-03/ring-a-1: ring-a-1 has 450 min of sleep and no wake",
    ] {
        assert!(said.contains(line), "{said}");
    }
    // The reference sleeps on for two hours.
    import_scored(&bench, "S1", "N2\n".repeat(19 * 60));
    let line = "warning[recording-cut-short] P01/2026-04-03/ring-a-1: ring-a-1 ends at 05:30, 120 min before the sleep that scorer S1 scored";
    assert!(found(&bench).contains(line), "{}", found(&bench));
}

#[test]
fn scorers_that_disagree_beyond_the_published_range_are_told() {
    let bench = bench();
    add(&bench, "[[scorer]]\ncode = \"S2\"\nscored_by = \"human\"\ndefinition = \"edf-stages\"\n");
    import_scored(&bench, "S1", scored(&LENGTHS));
    import_scored(&bench, "S2", scored(&LENGTHS).replace("N2", "N1").replace("N3", "N2"));
    let said = found(&bench);
    assert!(
        said.contains("warning[scorers-disagree] P01/2026-04-03/S2: scorer S1 and scorer S2 agree with kappa"),
        "{said}"
    );
}

#[test]
fn one_finding_is_accepted_by_its_place_and_what_matches_nothing_any_more_is_told() {
    let bench = bench();
    let pieces = [
        ("2026-04-03T22:00:00+02:00", "2026-04-03T23:10:00+02:00", "awake"),
        ("2026-04-03T23:00:00+02:00", "2026-04-04T01:00:00+02:00", "shallow"),
        ("2026-04-04T00:50:00+02:00", "2026-04-04T05:00:00+02:00", "deep"),
    ];
    bench.write("ring.json", ring(&pieces));
    import(&bench, "ring.json --unit ring-a-1").ends(1);
    let said = found(&bench);
    assert_eq!(said.matches("error[spans-overlap]").count(), 2, "{said}");
    let place = "$.sleeps[0].pieces[1].depth";
    assert!(said.contains(&format!("ring.json {place}: ")), "{said}");
    let accept = |at: &str| decide(&bench, &["accept", "spans-overlap", "2026-04-03", "--at", at, "--reason", "seen"]);
    let refused = accept("$.sleeps[0].pieces[9].depth").ends(2).stderr;
    assert!(refused.contains("no open `spans-overlap` at `$.sleeps[0].pieces[9].depth`"), "{refused}");
    assert!(refused.contains(&format!("spans-overlap of P01/2026-04-03/ring-a-1 at `{place}`")), "{refused}");
    assert!(accept(place).ends(0).stderr.contains("accepted 1 finding"));
    let check = bench.line("--study s check --format concise").ends(1);
    assert!(check.stderr.contains("2 errors (1 open, 1 accepted)"), "{}", check.stderr);
    let history = bench.line("--study s show 2026-04-03 --history").ends(1).stdout.replace('\n', " ");
    assert!(history.contains("ring-a-1 at $.sleeps[0].pieces[1].depth: seen"), "{history}");
    // The second definition of the same file leaves no overlap: the acceptance covers nothing any more.
    let exclude = ["exclude", "2026-04-03", "--source", "ring-a", "--from", "06:00", "--until", "07:00"];
    decide(&bench, &[&exclude[..], &["--looked", "before", "--reason", "fell off"]].concat()).ends(0);
    let line = "warning[exclusion-idle] P01/2026-04-03: decision 3 leaves out ring-a-1 from 06:00 to 07:00, and ring-a-1 says nothing there";
    assert!(found(&bench).contains(line), "{}", found(&bench));
    decide(&bench, &["withdraw", "1", "--reason", "the wrong file"]).ends(0);
    let said = found(&bench);
    let line = "info[acceptance-idle] P01/2026-04-03: decision 2 accepts `spans-overlap` of P01/2026-04-03/ring-a-1 at";
    assert!(said.contains(line), "{said}");
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
}

#[test]
fn a_finding_that_stands_for_many_is_not_accepted_by_its_place() {
    let bench = bench();
    let minute = |m: i64| format!("2026-04-04T{:02}:{:02}:00+02:00", m / 60, m % 60);
    let pieces: Vec<(String, String)> = (0..20).map(|i| (minute(i * 10), minute(i * 10 + 12))).collect();
    let words = |i: usize| if i.is_multiple_of(2) { "deep" } else { "awake" };
    let pieces: Vec<_> = pieces.iter().enumerate().map(|(i, (a, b))| (a.as_str(), b.as_str(), words(i))).collect();
    bench.write("ring.json", ring(&pieces));
    import(&bench, "ring.json --unit ring-a-1").ends(1);
    let json = bench.line("--study s check --format json").ends(1).json();
    let many = json["findings"].as_array().unwrap().iter().find(|f| f["count"].as_u64() > Some(1)).unwrap().clone();
    let place = many["locator"].as_str().unwrap();
    let accept = ["accept", "spans-overlap", "2026-04-03", "--reason", "seen"];
    let refused = decide(&bench, &[&accept[..], &["--at", place]].concat()).ends(2).stderr;
    assert!(refused.contains("of its kind, and the places of the others are not listed"), "{refused}");
    decide(&bench, &accept).ends(0);
    bench.line("--study s check").ends(0);
}
