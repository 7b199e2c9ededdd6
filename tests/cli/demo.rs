use crate::common::Bench;
use std::collections::BTreeMap;

#[test]
fn the_demo_goes_from_raw_files_to_its_report() {
    let bench = Bench::new();
    let run = bench.line("demo d").ends(0);
    assert!(run.stderr.contains("Everything in this demo is invented"), "{}", run.stderr);
    assert!(run.stdout.contains("error[unmapped-label]: `Drowsy`"), "{}", run.stdout);
    assert!(run.stderr.contains("nothing was computed: 1 open error"), "{}", run.stderr);
    assert!(run.stderr.contains("report.html"), "{}", run.stderr);
    let html = std::fs::read_to_string(bench.path("d/report.html")).unwrap();
    for words in
        ["ring-a", "watch-a", "invented", "Not a medical device", "within this night, approximate", "2026-04-04"]
    {
        assert!(html.contains(words), "the report speaks of {words}");
    }
    // One exclusion, one note, and one clock with what either reading of it gives.
    for words in [
        "before looking<small>demo",
        "on the charger, as P01 said in the morning",
        "<small>with it ",
        "No number differs for band-a",
        "patch-a: its clock is corrected by +3:00 min (decision ",
        "on its own clock: n ",
        "clock +3:00 min; in wake",
        "02:06:00 UTC+11:00",
        ">left out<",
        "read by <code>typed-table</code>: typed from a screen by hand",
        "In every wearing: firmware 1.0.",
    ] {
        assert!(html.contains(words), "the report says `{words}`");
    }
    let dump = std::fs::metadata(bench.path("d/raw/ring-c/P01.xml")).unwrap().len();
    assert!(dump > 20_000_000, "a phone's dump is big: {dump} bytes");
    // A command that is quoted, and a finding in one line for whatever searches it, may be longer.
    let whole = |l: &str| ["$ ", "error[", "warning[", "info["].iter().any(|w| l.starts_with(w));
    let lines = |text: &str| text.lines().filter(|l| l.chars().count() > 80 && !whole(l)).count();
    assert_eq!(lines(&run.stdout), 0, "a line is wider than the terminal:\n{}", run.stdout);
}

#[test]
fn the_demo_is_the_same_again_and_never_overwrites_something_else() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let raw = |name: &str| std::fs::read(bench.path(&format!("d/raw/{name}"))).unwrap();
    let all = || {
        ["ring-a/P01.json", "psg/P02_2026-04-05.edf", "band-b/P02.zip", "patch-a/P01.xlsx", "ring-c/P02.xml"].map(raw)
    };
    let before = all();
    bench.line("demo d --dump-mb 1").ends(0);
    assert!(all() == before, "a file differs");
    bench.write("mine/letter.txt", "dear");
    let said = bench.line("demo mine").ends(2).stderr;
    assert!(said.contains("is not empty, and not a demo alone"), "{said}");
    assert!(bench.path("mine/letter.txt").exists());
    // A study of somebody in the same layout, and a demo with own work beside it, are left alone too.
    bench.write("own/raw/README.txt", "my notes");
    bench.write("own/study/study.toml", "version = 1");
    bench.line("demo own").ends(2);
    bench.write("d/thesis.txt", "mine");
    bench.line("demo d --dump-mb 1").ends(2);
    assert!(bench.path("own/raw/README.txt").exists() && bench.path("d/thesis.txt").exists());
}

#[test]
fn the_report_is_the_same_for_the_same_study_but_for_its_date() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let report = |name: &str| {
        bench.line(&format!("--study d/study report --invented -o {name}")).ends(0);
        std::fs::read_to_string(bench.path(name)).unwrap()
    };
    let dated = |html: String| {
        let at = html.find("2026").or_else(|| html.find("20")).unwrap_or(0);
        assert!(at > 0);
        // The date of making is the only text of this form that ends in Z.
        let mut out = String::new();
        for word in html.split_inclusive(|c: char| c.is_whitespace() || matches!(c, '<' | '>' | '"' | ',')) {
            let bare = word.trim_end_matches(|c: char| !c.is_ascii_alphanumeric());
            if bare.len() == 20 && bare.ends_with('Z') && bare.as_bytes()[10] == b'T' {
                out.push_str("DATE")
            } else {
                out.push_str(word)
            }
        }
        out
    };
    assert_eq!(dated(report("a.html")), dated(report("b.html")));
}

/// Minutes that a device is off in the demo, by device, from the comparison's own JSON.
#[test]
fn devices_of_the_demo_differ_as_they_are_meant_to() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let json = bench.line("--study d/study compare --format json").ends(0).json();
    let kappa: BTreeMap<String, f64> = json["devices"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|d| d["pooled"].is_object())
        .map(|d| (d["name"].as_str().unwrap().to_owned(), d["pooled"]["kappa"].as_f64().unwrap()))
        .collect();
    assert!(
        kappa["ring-a"] > kappa["watch-a"] && kappa["watch-a"] > kappa["band-a"] && kappa["band-a"] > kappa["ring-b"],
        "{kappa:?}"
    );
    assert!(
        kappa["ring-c"] > kappa["watch-a"] && kappa["watch-a"] > kappa["patch-a"] && kappa["band-a"] > kappa["band-b"],
        "{kappa:?}"
    );
    let night = &json["nights"][0];
    let patch = night["devices"].as_array().unwrap().iter().find(|d| d["name"] == "patch-a").unwrap();
    let [own, corrected] = [&patch["as_exported"], patch].map(|d| d["agreement"]["kappa"].as_f64().unwrap());
    assert!(corrected > own + 0.2, "three minutes matter: {own} on its own clock, {corrected} on the true one");
    assert!(!kappa.contains_key("mat-a"), "claims never enter a matrix");
    assert_eq!(json["nights"].as_array().unwrap().len(), 6);
}

#[test]
fn faults_of_a_dump_a_workbook_and_an_archive_are_where_they_were_put() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let check = bench.line("--study d/study check --format concise").ends(0).stdout.replace('\n', " ");
    assert!(check.contains("ring-c-1 says nothing for 60 min between its first and its last row"), "{check}");
    let ask = |sql: &str| bench.run(&["--study", "d/study", "query", sql, "--format", "csv"]).ends(0).stdout;
    let nights = |device: &str| {
        ask(&format!("SELECT count(*) AS n FROM night_summary WHERE source = '{device}' AND participant = 'P02'"))
    };
    assert_eq!([nights("band-b"), nights("ring-c"), nights("patch-a")], ["n\n2\n", "n\n3\n", "n\n3\n"]);
    let absent = "SELECT count(*) AS n FROM night_summary WHERE source = 'band-b' AND night = '2026-04-04'";
    assert_eq!(ask(absent), "n\n1\n", "only P01 has that night");
    // Of the two tellers of the dump only the ring is read.
    let said = bench.line("--study d/study import d/raw/ring-c/P01.xml --unit ring-c-1 --dry-run").ends(0);
    let said = format!("{}{}", said.stdout, said.stderr).replace('\n', " ");
    assert!(said.contains("@teller"), "{said}");
}

#[test]
fn the_night_over_the_half_hour_change_is_shown_right() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let text = bench.line("--study d/study show P01/2026-04-04").ends(0).stdout;
    assert!(text.contains("the clock changes from UTC+11:00 to UTC+10:30"), "{text}");
    let sql = "SELECT count(DISTINCT utc_offset) AS offsets, count(*) = count(DISTINCT start_ms) AS once FROM epoch_local WHERE recording = 'P01/2026-04-04/ring-a-1'";
    let csv = bench.run(&["--study", "d/study", "query", sql, "--format", "csv"]).ends(0).stdout;
    assert_eq!(csv, "offsets,once\n2,1\n");
    // The half hour that came twice has 60 epochs at each offset.
    let sql = "SELECT utc_offset, count(*) AS n FROM epoch_local WHERE recording = 'P01/2026-04-04/ring-a-1' AND local_start >= '2026-04-05 01:30:00' AND local_start < '2026-04-05 02:00:00' GROUP BY utc_offset ORDER BY utc_offset";
    let csv = bench.run(&["--study", "d/study", "query", sql, "--format", "csv"]).ends(0).stdout;
    assert_eq!(csv, "utc_offset,n\n+10:30,60\n+11:00,60\n");
}

#[test]
fn findings_are_printed_in_three_shapes_and_explained() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let concise = bench.line("--study d/study check --format concise").ends(0);
    assert!(
        concise.stdout.contains("warning[gap-inside] P02/2026-04-03/watch-a-2: P02_2026-04-03.csv line 25:19: "),
        "{}",
        concise.stdout
    );
    assert!(concise.stderr.contains("1 error (0 open, 1 accepted)"), "{}", concise.stderr);
    let full = bench.line("--study d/study check P01/2026-04-05").ends(0).stdout;
    assert!(full.contains("accepted: six minutes"), "{full}");
    assert!(full.contains(" --> P01.json, $.sleeps[2]"), "{full}");
    let page = bench.line("explain spans-overlap").ends(0).stdout;
    assert!(page.contains("Once accepted: "), "{page}");
    assert!(bench.line("explain").ends(0).stdout.lines().count() > 15);
    let said = bench.line("explain spans-overlaps").ends(2).stderr;
    assert!(said.contains("there is no code `spans-overlaps`"), "{said}");
}

#[test]
fn an_error_is_accepted_only_where_it_is_and_with_a_reason() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let refuse = |words: &[&str], why: &str| {
        let said = bench.run(&[&["--study", "d/study", "accept"], words].concat()).ends(2).stderr;
        assert!(said.contains(why), "{said}");
    };
    refuse(&["spans-overlap", "P02/2026-04-04", "--reason", "x"], "no open `spans-overlap` is there to accept");
    refuse(&["gap-inside", "P02/2026-04-03", "--reason", "x"], "holds nothing back");
    refuse(&["no-zone", "P02/2026-04-03", "--reason", "x"], "cannot be accepted");
    refuse(&["spans-overlap", "P01/2026-04-05", "--reason", " "], "give the reason in words");
    refuse(&["spans-overlap", "2026-04-05", "--reason", "x"], "several people have a night");
    refuse(&["spans-overlap", "P09/2026-04-05", "--reason", "x"], "there is no night `P09/2026-04-05`");
}

#[test]
fn a_rebuilt_store_says_the_same() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let said = bench.line("--study d/study rebuild").ends(0).stderr;
    assert!(said.contains("its contents are the same as before"), "{said}");
    std::fs::remove_file(bench.path("d/study/study.db")).unwrap();
    bench.line("--study d/study compare").ends(0);
    std::fs::write(bench.path("d/study/study.db"), "not a database at all").unwrap();
    bench.line("--study d/study nights").ends(2);
    let said = bench.line("--study d/study rebuild").ends(0).stderr;
    assert!(said.contains("could not be read"), "{said}");
    bench.line("--study d/study nights").ends(0);
}

#[test]
fn definitions_are_listed_and_shown() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let list = bench.line("--study d/study definition list").ends(0).stdout;
    assert!(list.lines().any(|l| l.starts_with("watch-a") && l.contains("study")), "{list}");
    assert!(list.lines().any(|l| l.starts_with("edf-stages") && l.contains("shipped")), "{list}");
    assert!(bench.line("definition show edf-stages").ends(0).stdout.contains("[stages]"));
    let said = bench.line("definition show edf").ends(2).stderr;
    assert!(said.contains("there is no definition `edf`"), "{said}");
}

#[test]
fn a_query_reads_and_never_writes() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let ask = |sql: &str| bench.run(&["--study", "d/study", "query", sql]);
    let text =
        ask("SELECT source, minutes_n3 FROM night_summary WHERE night = '2026-04-04' ORDER BY source").ends(0).stdout;
    assert!(text.starts_with("source "), "{text}");
    for attack in
        ["DELETE FROM span", "ATTACH 'x.db' AS x", "PRAGMA journal_mode = WAL", "SELECT load_extension('x')", "VACUUM"]
    {
        let said = ask(attack).ends(2).stderr;
        assert!(said.contains("`query` only reads"), "{attack}: {said}");
    }
    let said = ask("SELEC 1").ends(2).stderr;
    assert!(said.contains("syntax error"), "{said}");
}

#[test]
fn one_night_of_one_person_ranks_nothing() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let text = bench.line("--study d/study compare P01/2026-04-03 --device ring-a").ends(0).stdout;
    assert!(text.contains("One night of one person ranks nothing"), "{text}");
    assert!(text.contains("95 % intervals within this night, approximate"), "{text}");
    assert!(!text.contains("ring-b"), "only what was asked for: {text}");
    let said = bench.line("--study d/study compare P01/2026-04-03 --device ring-x").ends(2).stderr;
    assert!(said.contains("there is no device or unit `ring-x` in study.toml; it has band-a"), "{said}");
    let said = bench.line("--study d/study report --device ring-x -o r.html").ends(2).stderr;
    assert!(said.contains("there is no device or unit `ring-x`"), "{said}");
}

#[test]
fn what_was_read_off_a_picture_shows_what_the_picture_leaves_open() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let asked = |more: &str| {
        let line =
            format!("--study d/study compare P01/2026-04-03 --device band-a --device ring-a --format json {more}");
        bench.line(&line).ends(0).json()["inference"].clone()
    };
    let found = asked("");
    let readings = found["readings"].as_array().unwrap();
    let keys: Vec<_> = readings.iter().map(|r| r["key"].as_str().unwrap()).collect();
    assert_eq!(keys, ["P01/2026-04-03/band-a-1"], "ring-a gives its times itself");
    assert_eq!((readings[0]["precision_min"].as_f64(), readings[0]["redraws"].as_u64()), (Some(1.0), Some(500)));
    for spread in readings[0]["spreads"].as_array().unwrap() {
        let of = |name: &str| spread[name].as_f64().unwrap();
        assert!(
            of("low") <= of("high") && of("low") - 0.05 <= of("value") && of("value") <= of("high") + 0.05,
            "{spread}"
        );
    }
    let accuracy = &readings[0]["spreads"][0];
    assert!(accuracy["of"] == "accuracy" && accuracy["low"].as_f64() < accuracy["high"].as_f64(), "{accuracy}");
    assert_eq!(found["means_read"][0]["nights_read"], 1);
    assert_eq!(asked("--seed 1"), found, "a seed repeats it");
    assert_ne!(asked("--seed 2")["readings"], found["readings"]);
    let text = bench.line("--study d/study compare P01/2026-04-03 --device band-a").ends(0).stdout.replace('\n', " ");
    assert!(text.contains("band-a (unit band-a-1): read to 1 min. Moved within that: agreement "), "{text}");
    let page = std::fs::read_to_string(bench.path("d/report.html")).unwrap();
    assert!(
        page.contains("<h2 id=\"reading-h\">Read off a picture</h2>")
            && page.contains("zone of the night, read to 1 min")
    );
}

#[test]
fn the_three_lines_of_a_clock_stand_beside_each_other_and_only_the_first_counts() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let found = bench.line("--study d/study compare --format json").ends(0).json();
    let clocks = &found["inference"]["clocks"];
    let nights = clocks["nights"].as_array().unwrap();
    assert!(nights.len() > 40, "{}", nights.len());
    for night in nights {
        let accuracy = |line: &str| night[line]["accuracy"].as_f64();
        let unshifted = accuracy("unshifted").unwrap();
        assert!(accuracy("in_sample").is_none_or(|best| best >= unshifted), "{night}");
        assert!(
            accuracy("elsewhere").is_none_or(|other| accuracy("in_sample").is_none_or(|best| best >= other)),
            "{night}"
        );
    }
    // The demo's README says that patch-a runs 3 min behind; one night of it is corrected.
    let of = |device: &str| nights.iter().filter(|n| n["key"].as_str().unwrap().contains(device)).collect::<Vec<_>>();
    let late: Vec<i64> = of("patch-a").iter().map(|n| n["in_sample"]["offset_s"].as_i64().unwrap()).collect();
    assert_eq!(late.iter().filter(|s| (-210..=-150).contains(*s)).count(), 5, "{late:?}");
    assert_eq!(of("patch-a").iter().filter(|n| n["corrected"] == true).count(), 1);
    assert!(of("ring-a").iter().all(|n| n["in_sample"]["offset_s"] == 0 && n["drift"].is_null()));
    let gains = |device: &str| of(device).iter().map(|n| n["chance"]["gain"].as_f64().unwrap()).fold(0.0, f64::max);
    assert!(gains("patch-a") > 0.1 && gains("ring-a") < 0.01);
    let text = bench.line("--study d/study compare --device patch-a").ends(0).stdout;
    assert!(
        text.contains("patch-a  6 of 6") && text.replace('\n', " ").contains("the last is optimistic and exploratory"),
        "{text}"
    );
}
