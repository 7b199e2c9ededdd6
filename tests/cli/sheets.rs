use crate::common::Bench;
use crate::import::study;

/// A night whose clocks go back, and a filled sheet of it.
pub(crate) fn filled(bench: &Bench) -> String {
    study(bench, "Europe/Berlin");
    bench.line("--study s sheet new 2026-04-03 ring-a-1 --reader AB -o blank.tsv").ends(0);
    let blank = std::fs::read_to_string(bench.path("blank.tsv")).unwrap();
    let blank = blank.replace("head\tprecision\t", "head\tprecision\t1");
    format!(
        "{blank}change\t22:10\twake\nchange\t22.30\tlight\nchange\t2350\tdeep\nchange\t12:40 am\trem\nchange\t6:05\tend\n"
    )
}

#[test]
fn a_filled_sheet_says_of_itself_whose_it_is() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    assert!(sheet.contains("\nhead\tunit\tring-a-1\n") && sheet.contains("\nhead\tzone\tEurope/Berlin\n"), "{sheet}");
    bench.write("one.tsv", &sheet);
    let said = bench.line("--study s import one.tsv").ends(0);
    assert!(said.stderr.contains("`typed-changes`") || said.stdout.contains("`typed-changes`"), "{}", said.stdout);
    let spans = "SELECT count(*) FROM span";
    assert_eq!(
        bench.run(&["--study", "s", "query", spans, "--format", "csv"]).ends(0).stdout.lines().last(),
        Some("4")
    );
    bench.line("--study s rebuild").ends(0);
    bench.line("--study s verify").ends(0);
}

#[test]
fn a_sheet_of_another_night_unit_or_zone_is_refused() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    bench.write("one.tsv", &sheet);
    let said = bench.line("--study s import one.tsv --night 2026-04-09").ends(2).stderr;
    assert!(said.contains("the sheet is of the night `2026-04-03`, not `2026-04-09`"), "{said}");
    bench.write("zone.tsv", sheet.replace("Europe/Berlin", "Europe/Athens"));
    let said = bench.line("--study s import zone.tsv").ends(2).stderr.replace('\n', " ");
    assert!(said.contains("its times are of Europe/Athens"), "{said}");
    bench.write("twice.tsv", sheet.replace("head\tpass\t1", "head\tpass\t1\nhead\tpass\t2"));
    let said = bench.line("--study s import twice.tsv").ends(2).stderr;
    assert!(said.contains("`pass` stands there twice"), "{said}");
}

#[test]
fn totals_that_do_not_fit_name_the_row_that_could_be_wrong() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    let shown = "shown\tdeep\t0:50\nshown\tlight\t1:20\nshown\twake\t0:20\nshown\trem\t5:25\n";
    let said = |sheet: String| {
        bench.write("one.tsv", sheet.replacen("\nchange\t", &format!("\n{shown}change\t"), 1));
        let stdout = bench.line("--study s import one.tsv --dry-run").ends(0).stdout;
        stdout.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(!said(sheet.clone()).contains("would fit"));
    let hour = said(sheet.replace("22.30\tlight", "23.30\tlight"));
    assert!(hour.contains("warning[claims-differ]: ring-a-1 claims 20 min (in steps of 1 min) of wake"), "{hour}");
    assert!(hour.contains("warning[slip-likely]: ring-a-1 would fit with one change: `light` at line "), "{hour}");
    assert!(hour.contains("standing at 22:30 and not at 23:30 (an hour off)"), "{hour}");
    let stage = said(sheet.replace("2350\tdeep", "2350\trem"));
    assert!(stage.contains("`rem` at line ") && stage.contains("being deep"), "{stage}");
    assert!(stage.contains("warning[stage-unchanged]: `rem` at 00:40 is what the row above began at 23:50"), "{stage}");
    let ten = said(sheet.replace("2350\tdeep", "2340\tdeep"));
    assert!(
        ten.contains("`deep` at line ") && ten.contains("standing at 23:50 and not at 23:40 (ten minutes off)"),
        "{ten}"
    );
    let missing = said(sheet.replace("change\t2350\tdeep\n", ""));
    assert!(
        missing.contains("a row that is missing between line ") && missing.contains("such as 23:50 `deep`"),
        "{missing}"
    );
}

/// What import says of a slip, `check` says too, at the cell and for programs as well.
#[test]
fn a_slip_is_a_finding_like_any_other() {
    let bench = Bench::new();
    let sheet = filled(&bench).replace("22.30\tlight", "23.30\tlight");
    let shown = "shown\tdeep\t0:50\nshown\tlight\t1:20\nshown\twake\t0:20\nshown\trem\t5:25\n";
    bench.write("one.tsv", sheet.replacen("\nchange\t", &format!("\n{shown}change\t"), 1));
    let dry = bench.line("--study s import one.tsv --dry-run --format json").ends(0).json();
    let imported = bench.line("--study s import one.tsv --format json").ends(0).json();
    let checked = bench.line("--study s check --format json").json();
    let slip = |findings: &serde_json::Value| {
        let of = findings.as_array().unwrap().iter().find(|f| f["code"] == "slip-likely").unwrap();
        (of["locator"].as_str().unwrap().to_owned(), of["message"].as_str().unwrap().to_owned())
    };
    let (place, message) = slip(&checked["findings"]);
    let line = sheet.lines().position(|l| l.starts_with("change\t23.30")).unwrap() + 1 + shown.lines().count();
    assert!(place.starts_with(&format!("line {line}:")), "{place}: {message}");
    for other in [&dry, &imported] {
        assert_eq!(slip(&other["files"][0]["findings"]), (place.clone(), message.clone()));
    }
    let differ: Vec<&str> = checked["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|f| f["code"] == "claims-differ")
        .map(|f| f["message"].as_str().unwrap())
        .collect();
    assert_eq!(differ.len(), 2, "wake and light: {differ:?}");
    assert!(differ.iter().all(|m| m.contains(&format!("one slip would explain it: line {line}:"))), "{differ:?}");
}

/// The same totals fit a coarse reading, and a slip of an hour is still none of its precision.
#[test]
fn the_precision_of_a_sheet_says_how_far_totals_may_differ() {
    let bench = Bench::new();
    let sheet = filled(&bench).replace("22.30\tlight", "22.34\tlight");
    let shown = "shown\tlight\t1:20\nshown\twake\t0:20\n";
    let sheet = sheet.replacen("\nchange\t", &format!("\n{shown}change\t"), 1);
    for (precision, differs) in [("0", true), ("1", true), ("2", false), ("5", false)] {
        let head = format!("head\tprecision\t{precision}\n");
        bench.write("one.tsv", sheet.replace("head\tprecision\t1\n", &head));
        let said = bench.line("--study s import one.tsv --dry-run").ends(0).stdout;
        assert_eq!(said.contains("claims-differ"), differs, "{precision}: {said}");
    }
}

#[test]
fn what_cannot_be_meant_is_an_error_at_its_cell() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    for (from, to, code) in [
        ("23.4", "2350", "time-unreadable"),
        ("2350\tdepe", "2350\tdeep", "unmapped-label"),
        ("22:30\tdeep", "2350\tdeep", "length-not-positive"),
        ("22:20\tdeep", "2350\tdeep", "order-backwards"),
        ("", "change\t6:05\tend\n", "end-missing"),
    ] {
        bench.write("bad.tsv", sheet.replace(to, from));
        let said = bench.line("--study s import bad.tsv --dry-run").stdout;
        assert!(said.contains(code) && said.contains("bad.tsv, line "), "{from}: {said}");
    }
}

#[test]
fn a_row_outside_the_stretch_that_the_screen_covers_is_an_error_and_what_no_row_covers_has_no_stage() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    let window = |window: &str| sheet.replace("head\twindow\t", &format!("head\twindow\t{window}"));
    bench.write("one.tsv", window("22:00-6:30"));
    bench.line("--study s import one.tsv --dry-run").ends(0);
    bench.write("one.tsv", window("evening"));
    let said = bench.line("--study s import one.tsv").ends(2).stderr;
    assert!(said.contains("the head says `window` is `evening`; write two times of day"), "{said}");
    bench.write("one.tsv", window("22:15-6:30"));
    let said = bench.line("--study s import one.tsv").ends(1).stdout.replace('\n', " ");
    assert!(said.contains("error[outside-screen]: 1 row lies outside") && said.contains("`wake` at `22:10`"), "{said}");
    let sql = "SELECT min(local_start), max(local_start), count(*) FROM epoch_local WHERE stage <> 'missing'";
    let rows = bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout;
    // The rows speak of 22:10 to 6:05, and nothing else has a stage: 475 min, 950 epochs.
    assert_eq!(rows.lines().last(), Some("2026-04-03 22:10:00,2026-04-04 06:04:30,950"));
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    bench.line("--study s verify --full").ends(0);
    bench
        .run(&["--study", "s", "--author", "me", "accept", "outside-screen", "2026-04-03", "--reason", "seen"])
        .ends(0);
}

#[test]
fn a_blank_sheet_is_not_written_over_and_needs_a_name_that_says_what_it_is() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let new = "--study s sheet new 2026-04-03 ring-a-1";
    bench.line(&format!("{new} -o a.xlsx")).ends(0);
    let said = bench.line(&format!("{new} -o a.xlsx")).ends(2).stderr;
    assert!(said.contains("is there already"), "{said}");
    bench.line(&format!("{new} -o a.xlsx --replace")).ends(0);
    let said = bench.line(&format!("{new} -o a.pdf")).ends(2).stderr;
    assert!(said.contains(".xlsx or .tsv"), "{said}");
    let said = bench.line("--study s sheet new 2026-04-03 S1").ends(2).stderr;
    assert!(said.contains("--scorer S1"), "{said}");
    let said = bench.line("--study s import a.xlsx").ends(2).stderr;
    assert!(said.contains("it holds no rows yet"), "{said}");
}

#[test]
fn a_printed_list_is_typed_as_ranges_of_epochs() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.line("--study s sheet new 2026-04-03 --scorer S1 -o list.tsv").ends(0);
    let blank = std::fs::read_to_string(bench.path("list.tsv")).unwrap();
    let sheet = blank
        .replace("head\tepoch 1\t", "head\tepoch 1\t2026-04-03 22:30:00")
        .replace("head\tlights off\t", "head\tlights off\t22:31");
    bench.write("list.tsv", format!("{sheet}epochs\t1-43\tW\nepochs\t44\tN1\nepochs\t45-100\tS2\n"));
    bench.line("--study s import list.tsv").ends(0);
    let sql = "SELECT count(*) FROM epoch_local";
    assert_eq!(
        bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout.lines().last(),
        Some("100")
    );
}

/// Two readings that differ in a slip of an hour, a lacking row, a stage, and a minute that is within the precision.
pub(crate) fn two_readings(bench: &Bench) {
    let first = filled(bench);
    let second = first
        .replace("head\tpass\t1", "head\tpass\t2")
        .replace("head\treader\tAB", "head\treader\tCD")
        .replace("22:10\twake", "22:11\twake")
        .replace("22.30\tlight", "23:30\tlight")
        .replace("change\t2350\tdeep\n", "")
        .replace("am\trem", "am\tlight");
    bench.write("first.tsv", first);
    bench.write("second.tsv", second);
}

#[test]
fn two_readings_are_settled_with_a_reason_and_no_value_beforehand() {
    let bench = Bench::new();
    two_readings(&bench);
    let compare = "--study s sheet compare first.tsv second.tsv";
    let said = bench.line(compare).ends(1);
    let rows: Vec<Vec<&str>> =
        said.stdout.lines().skip(2).map(|l| l.split("  ").map(str::trim).filter(|w| !w.is_empty()).collect()).collect();
    assert_eq!(
        rows,
        [
            vec!["1", "22.30 light", "23:30 light"],
            vec!["2", "2350 deep", "(no row)"],
            vec!["3", "12:40 am rem", "12:40 am light"]
        ]
    );
    assert!(said.stderr.contains("3 of 5 rows differ (60.0 %)"), "{}", said.stderr);
    // 22:10 to 22:11 and 22:30 to 23:30 by the clocks, 23:50 to 0:40 by a row that one lacks, 0:40 to 6:05 by its stage.
    assert!(said.stderr.contains("436.0 of 475.0 min are told differently (91.8 %)"), "{}", said.stderr);
    bench.line(&format!("{compare} --settle settle.tsv -o settled.tsv")).ends(1);
    let questions = std::fs::read_to_string(bench.path("settle.tsv")).unwrap();
    assert!(questions.contains("\n1\t22.30 light\t23:30 light\t\t\n"), "neither stands there: {questions}");
    // A choice without a reason settles nothing.
    let chosen = questions
        .replace("23:30 light\t\t", "23:30 light\tfirst\t")
        .replace("(no row)\t\t", "(no row)\t23:51 deep\tread again")
        .replace("am light\t\t", "am light\tsecond\tcolour looked at again");
    bench.write("settle.tsv", &chosen);
    let said = bench.line(&format!("{compare} --settle settle.tsv -o settled.tsv")).ends(1).stderr;
    assert!(said.contains("1 difference not settled yet") && !bench.path("settled.tsv").exists(), "{said}");
    bench.write("settle.tsv", chosen.replace("light\tfirst\t", "light\tfirst\tthe axis says so"));
    bench.line(&format!("{compare} --settle settle.tsv -o settled.tsv")).ends(0);
    let settled = std::fs::read_to_string(bench.path("settled.tsv")).unwrap();
    let rows: Vec<&str> = settled.lines().filter(|l| l.starts_with("change")).collect();
    let wanted = ["22:10\twake", "22.30\tlight", "23:51\tdeep", "12:40 am\tlight", "6:05\tend"];
    assert_eq!(rows, wanted.map(|r| format!("change\t{r}")));
    assert!(settled.contains("\nhead\treader\tAB and CD\n") && settled.contains("the axis says so"), "{settled}");
    bench.line("--study s import first.tsv").ends(0);
    let said =
        bench.line("--study s import settled.tsv").ends(0).stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    let counts = "note: the earlier export P01/2026-04-03/ring-a-1 counts; `counterpane prefer P01/2026-04-03/ring-a-1#2 --reason …` lets this one count";
    assert!(said.contains(counts), "{said}");
    bench.line("--study s --author me prefer P01/2026-04-03/ring-a-1#2 --reason settled").ends(0);
    let originals = std::fs::read_dir(bench.path("s/originals")).unwrap().count();
    assert!(originals >= 3, "both readings are kept beside what they led to");
    bench.line("--study s verify").ends(0);
}

#[test]
fn two_readings_are_compared_for_programs_too() {
    let bench = Bench::new();
    two_readings(&bench);
    let said = bench.line("--study s sheet compare first.tsv second.tsv --format json").ends(1).json();
    assert_eq!([&said["rows"], &said["rows_differing"], &said["settled"]], [5, 3, 0]);
    assert_eq!((said["within_minutes"].as_f64(), said["minutes_differing"].as_f64()), (Some(2.0), Some(436.0)));
    assert_eq!([&said["readings"][0]["reader"], &said["readings"][1]["pass"]], ["AB", "2"]);
    assert_eq!(said["differences"][1]["second"], "(no row)");
    assert_eq!(said["differences"][1]["kind"], "change");
}

#[test]
fn two_typings_of_a_printed_list_are_settled_with_what_their_heads_read_off_it() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.line("--study s sheet new 2026-04-03 --scorer S1 --reader AB -o blank.tsv").ends(0);
    let blank = std::fs::read_to_string(bench.path("blank.tsv")).unwrap();
    let list = |pass: &str, lights: &str, rows: &str| {
        let head = blank
            .replace("head\tepoch 1\t", "head\tepoch 1\t2026-04-03 22:30:00")
            .replace("head\tlights off\t", &format!("head\tlights off\t{lights}"))
            .replace("head\tpass\t1", &format!("head\tpass\t{pass}"));
        let rows: String = rows.split(", ").map(|r| format!("epochs\t{}\n", r.replace(' ', "\t"))).collect();
        head + &rows
    };
    bench.write("first.tsv", list("1", "22:31", "1-43 W, 44-60 N1, 61-100 N2"));
    bench.write("second.tsv", list("2", "22:37", "1-43 w, 44-68 N1, 69-100 N2"));
    let compare = "--study s sheet compare first.tsv second.tsv --settle settle.tsv -o settled.tsv";
    let said = bench.line(compare).ends(1);
    assert!(said.stdout.contains("lights off 22:31") && said.stdout.contains("44-68 N1"), "{}", said.stdout);
    assert!(said.stderr.contains("2 of 3 rows differ (66.7 %)"), "{}", said.stderr);
    assert!(said.stderr.contains("4.0 of 50.0 min are told differently (8.0 %)"), "{}", said.stderr);
    let asked = std::fs::read_to_string(bench.path("settle.tsv")).unwrap();
    let wrong = asked.replace("44-68 N1\t\t", "44-68 N1\t23:47 N1\tread again");
    bench.write("settle.tsv", &wrong);
    let refused = bench.line(compare).ends(2).stderr;
    assert!(refused.contains("`23:47 N1` is not first, second, none, or a row such as 1-43 W"), "{refused}");
    bench.write("settle.tsv", asked.replace("\t\t\n", "\tfirst\tthe list says so\n"));
    bench.line(compare).ends(0);
    let settled = std::fs::read_to_string(bench.path("settled.tsv")).unwrap();
    assert!(settled.contains("sheet\tform\tepochs 1\n") && settled.contains("head\tlights off\t22:31\n"), "{settled}");
    assert!(settled.contains("epochs\t44-60\tN1\n") && !settled.contains("precision"), "{settled}");
    bench.line("--study s import settled.tsv").ends(0);
    let refused = bench.line(compare).ends(2).stderr;
    assert!(refused.contains("settled.tsv is there already"), "{refused}");
    bench.line(&format!("{compare} --replace")).ends(0);
}

#[test]
fn settlements_of_other_sheets_and_readings_of_other_nights_are_refused() {
    let bench = Bench::new();
    two_readings(&bench);
    let compare = "--study s sheet compare first.tsv second.tsv";
    bench.write("settle.tsv", "difference\tfirst\tsecond\ttake\treason\n1\t22:00 wake\t22:30 wake\tfirst\tx\n");
    let said = bench.line(&format!("{compare} --settle settle.tsv")).ends(2).stderr;
    assert!(said.contains("line 2 is about a difference that these two sheets do not have"), "{said}");
    let other = std::fs::read_to_string(bench.path("second.tsv")).unwrap().replace("ring-a-1", "ring-b-1");
    bench.write("other.tsv", other);
    let said = bench.line("--study s sheet compare first.tsv other.tsv").ends(2).stderr;
    assert!(said.contains("compare two readings of one picture"), "{said}");
    bench.line("--study s sheet compare first.tsv first.tsv").ends(0);
}

#[test]
fn how_finely_a_sheet_was_read_is_kept_and_shown_apart_from_other_intervals() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    bench.write("one.tsv", &sheet);
    bench.line("--study s import one.tsv").ends(0);
    let kept = |bench: &Bench| {
        let said =
            bench.run(&["--study", "s", "query", "SELECT precision_ms FROM recording WHERE stands", "--format", "csv"]);
        said.ends(0).stdout.lines().last().map(str::to_owned)
    };
    assert_eq!(kept(&bench).as_deref(), Some("60000"));
    let shown = bench.line("--study s show 2026-04-03 --format json").ends(0).json();
    assert_eq!(shown["recordings"][0]["precision_min"], 1.0);
    // Said anew, it is another reading of the same file, and takes the place of the first.
    bench.line("--study s import one.tsv --precision 2.5").ends(0);
    assert_eq!(kept(&bench).as_deref(), Some("150000"));
    bench.line("--study s rebuild").ends(0);
    assert_eq!(kept(&bench).as_deref(), Some("150000"));
    let said = bench.line("--study s import one.tsv --precision 2,5").ends(2).stderr;
    assert!(said.contains("`2,5` is not a number of minutes; write such as 1 or 2.5"), "{said}");
    bench.write("coarse.tsv", sheet.replace("head\tprecision\t1", "head\tprecision\t90"));
    let said = bench.line("--study s import coarse.tsv").ends(2).stderr;
    assert!(said.contains("the precision in its head: `90` is not a number of minutes from 0 to 60"), "{said}");
}
