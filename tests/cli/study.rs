use crate::common::Bench;

#[test]
fn a_new_study_is_found_from_below_and_by_name() {
    let bench = Bench::new();
    bench.line("new my --zone Australia/Lord_Howe").ends(0);
    for name in ["study.toml", "study.db", "originals"] {
        assert!(bench.path("my").join(name).exists(), "{name}");
    }
    let below = bench.path("my/originals");
    let run = bench.command(&["nights"]).current_dir(below).output().unwrap();
    assert!(run.status.success());
    bench.line("--study my nights").ends(0);
    let lost = bench.line("nights").ends(2).stderr;
    assert!(lost.contains("no study.toml in"), "{lost}");
    assert!(lost.contains("counterpane new DIR"), "{lost}");
}

#[test]
fn a_new_study_needs_a_zone_that_exists_and_an_empty_place() {
    let bench = Bench::new();
    bench.line("new my").ends(2);
    let said = bench.line("new my --zone europe/berlin").ends(2).stderr;
    assert!(said.contains("did you mean `Europe/Berlin`?"), "{said}");
    assert!(!bench.path("my").exists());
    bench.line("new my --zone Europe/Berlin").ends(0);
    let said = bench.line("new my --zone Europe/Berlin").ends(2).stderr;
    assert!(said.contains("holds a study already"), "{said}");
}

#[test]
fn a_fact_of_a_device_that_cannot_be_is_pointed_at_with_its_line_and_value() {
    let bench = Bench::new();
    bench.line("new my --zone Europe/Berlin").ends(0);
    let text = std::fs::read_to_string(bench.path("my/study.toml")).unwrap();
    let said = |fact: &str| {
        bench.write("my/study.toml", format!("{text}\n[[device]]\nname = \"ring-a\"\n{fact}\n"));
        bench.line("--study my nights").ends(2).stderr
    };
    let line = format!("line {}", text.lines().count() + 4);
    for (fact, told) in [
        ("obtained = \"found\"", "unknown variant `found`, expected one of `bought`, `lent`, `given`"),
        ("minutes = -1.5", "`minutes` is -1.5; it is the minutes spent per night, 0 to 1440"),
        ("steps = 1000", "`steps` is 1000; it is the steps taken for one night, 0 to 999"),
        ("lost = \"\"", "`lost` must say something in one line"),
        ("route = 4", "expected a string"),
    ] {
        let said = said(fact);
        let unwrapped = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(unwrapped.contains(told) && unwrapped.contains(&line), "{said}");
    }
    bench.write("my/study.toml", format!("{text}\n[[device]]\nname = \"ring-a\"\nobtained = \"lent\"\nminutes = 3\n"));
    bench.line("--study my nights").ends(0);
}

#[test]
fn a_typo_in_study_toml_is_pointed_at() {
    let bench = Bench::new();
    bench.line("new my --zone Europe/Berlin").ends(0);
    let text = std::fs::read_to_string(bench.path("my/study.toml")).unwrap();
    bench.write("my/study.toml", format!("{text}\n[[particpant]]\ncode = \"P01\"\n"));
    let said = bench.line("--study my nights").ends(2).stderr;
    assert!(said.contains("[[particpant]]"), "{said}");
    assert!(said.contains("unknown field `particpant`, expected one of"), "{said}");
    assert!(said.contains("study.toml"), "{said}");
}

#[test]
fn a_changed_study_toml_is_followed() {
    let bench = Bench::new();
    bench.line("new my --zone Europe/Berlin").ends(0);
    let text = std::fs::read_to_string(bench.path("my/study.toml")).unwrap();
    let night = "\n[[participant]]\ncode = \"P01\"\n[[night]]\nparticipant = \"P01\"\nlabel = \"2026-03-28\"\n";
    bench.write("my/study.toml", format!("{text}{night}"));
    let json = bench.line("--study my nights --format json").ends(0).json();
    assert_eq!(json["total"], 1);
    assert_eq!(json["nights"][0]["night"], "2026-03-28");
    let hours = "SELECT (until_ms - from_ms) / 3600000 AS hours FROM night";
    let csv = bench.run(&["--study", "my", "query", hours, "--format", "csv"]).ends(0).stdout;
    assert_eq!(csv, "hours\n23\n", "the night of the spring change is an hour short");
}

#[test]
fn the_last_page_of_nights_names_no_next_one() {
    let bench = Bench::new();
    bench.line("new my --zone Europe/Berlin").ends(0);
    let text = std::fs::read_to_string(bench.path("my/study.toml")).unwrap();
    let night = |day: u32| format!("[[night]]\nparticipant = \"P01\"\nlabel = \"2026-03-{day}\"\n");
    bench.write("my/study.toml", format!("{text}\n[[participant]]\ncode = \"P01\"\n{}{}", night(10), night(11)));
    assert!(bench.line("--study my nights --most 1").ends(0).stderr.contains("more with --skip 1"));
    let last = bench.line("--study my nights --most 1 --skip 1").ends(0);
    assert!(last.stdout.contains("2026-03-11") && last.stderr.is_empty(), "{}", last.stderr);
}

#[test]
fn help_names_every_command_and_a_wrong_one_ends_with_2() {
    let bench = Bench::new();
    let help = bench.line("--help").ends(0).stdout;
    for command in
        ["accept", "agree", "check", "compare", "demo", "explain", "import", "new", "nights", "query", "report", "show"]
    {
        assert!(help.contains(&format!("\n  {command} ")), "{command}: {help}");
    }
    assert!(help.contains("Not a medical device"), "{help}");
    bench.line("frobnicate").ends(2);
    bench.line("--version").ends(0);
}
